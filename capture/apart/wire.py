"""What two processes say to each other: a few words as JSON, and bytes.

JSON and not pickle: a decoder that a bad file has taken over must not be able to send code.
"""

import json
import struct
from collections.abc import Mapping
from typing import Any, BinaryIO, NamedTuple

_HEAD = struct.Struct("<IQ")
_MOST_WORDS = 64 << 20
_MOST_DATA = 4 << 30

Words = Mapping[str, Any]


class Reply(NamedTuple):
    """One message.

    Attributes:
        words: what JSON can hold.
        data: samples or pixels.
    """

    words: Words
    data: bytes | bytearray | memoryview = b""


def send(file: BinaryIO, words: Words, data: bytes | bytearray | memoryview = b"") -> None:
    """Write one message.

    Raises:
        OSError: nobody reads any more.
    """
    head = json.dumps(words).encode()  # plain ASCII, also where a file name holds undecodable bytes
    size = memoryview(data).nbytes
    file.write(_HEAD.pack(len(head), size) + head)
    if size:
        file.write(data)
    file.flush()


def receive(file: BinaryIO) -> Reply:
    """Read one message.

    Raises:
        EOFError: the other side is gone, or what came is no message.
    """
    words_size, size = _HEAD.unpack(_exactly(file, _HEAD.size))
    if words_size > _MOST_WORDS or size > _MOST_DATA:
        raise EOFError
    try:
        words = json.loads(_exactly(file, words_size))
    except ValueError:
        raise EOFError from None
    if not isinstance(words, dict):
        raise EOFError
    return Reply(words, _exactly(file, size))


def _exactly(file: BinaryIO, size: int) -> bytearray:
    data = bytearray(size)
    view, filled = memoryview(data), 0
    while filled < size:
        count = file.readinto(view[filled:])  # type: ignore[attr-defined]
        if not count:
            raise EOFError
        filled += count
    return data
