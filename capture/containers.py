"""What the bytes of a sound file promise, where the decoder would quietly return less.

FFmpeg plays a WAV, Ogg, MP3 or MP4 file that was cut off to its new end without an error. These checks read
the container's own counts: RIFF chunk sizes (Microsoft RIFF/WAVE; RF64: EBU Tech 3306), Ogg pages (RFC 3533),
MP4 boxes (ISO/IEC 14496-12, 4.2) and the frame count in an MP3's first frame.
"""

import struct
import zlib
from typing import BinaryIO, Literal

Fault = Literal["ends early", "is damaged"]

_HEIC_BRANDS = {b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"mif1", b"msf1"}
_OGG_LAST_PAGE = 4
_MP4_BOXES = set(b"ftyp moov mdat moof mfra free skip wide udta uuid sidx styp meta".split())
_MIRRORED = bytes(int(f"{byte:08b}"[::-1], 2) for byte in range(256))
# Recorders that write to a pipe cannot come back to fill the size in; they leave 0 or a huge number.
_UNKNOWN_SIZE = 0x7FFF0000


def is_heic(head: bytes) -> bool:
    """The first bytes are those of an HEIC photo, whatever the file is called."""
    return head[4:8] == b"ftyp" and head[8:12] in _HEIC_BRANDS


def is_mp4(head: bytes) -> bool:
    """The first bytes are those of an MP4, M4A or 3GP file."""
    return head[4:8] == b"ftyp"


def fault(file: BinaryIO) -> Fault | None:
    """What the container itself says is wrong; None for a kind that says nothing."""
    file.seek(0)
    head = file.read(12)
    file.seek(4)
    magic = head[:4]
    if is_mp4(head):
        return _mp4_fault(file)
    if magic in (b"RIFF", b"RF64"):
        return _wav_fault(file, magic == b"RF64")
    if magic == b"OggS":
        return _ogg_fault(file)
    return None


def _size(file: BinaryIO) -> int:
    here = file.tell()
    size = file.seek(0, 2)
    file.seek(here)
    return size


def _mp4_fault(file: BinaryIO) -> Fault | None:
    end, start = _size(file), 0
    file.seek(0)
    while len(header := file.read(16)) >= 8:
        size, name = struct.unpack(">I4s", header[:8])
        if size == 1 and len(header) == 16:
            size = struct.unpack(">Q", header[8:])[0]
        if size < 8 or name not in _MP4_BOXES:
            return None  # to the end of the file, or a foreign tag
        start += size
        if start > end:
            return "ends early"
        file.seek(start)
    return "ends early" if header else None


def _wav_fault(file: BinaryIO, long_form: bool) -> Fault | None:
    end, data64 = _size(file), None
    file.seek(12)
    while len(header := file.read(8)) == 8:
        name, size = struct.unpack("<4sI", header)
        if long_form and name == b"ds64" and len(sizes := file.read(16)) == 16:
            data64 = int(struct.unpack("<QQ", sizes)[1])
            file.seek(size - 16, 1)
            continue
        if name == b"data":
            if data64 is not None:
                size = data64
            elif size == 0 or size >= _UNKNOWN_SIZE:
                return None
            return "ends early" if file.tell() + size > end else None
        file.seek(size + size % 2, 1)
    return "ends early"  # the header is there, the sound never came


def _ogg_fault(file: BinaryIO) -> Fault | None:
    file.seek(0)
    expected: dict[bytes, int] = {}
    open_streams: set[bytes] = set()
    while len(header := file.read(27)) == 27 and header[:4] == b"OggS":
        lacing = file.read(header[26])
        body = file.read(sum(lacing))
        if len(lacing) < header[26] or len(body) < sum(lacing):
            return "ends early"
        serial, number, checksum = struct.unpack("<4sII", header[14:26])
        if number != expected.get(serial, number):
            return "is damaged"  # a page is missing in between
        if checksum != _ogg_checksum(header[:22] + bytes(4) + header[26:] + lacing + body):
            return "is damaged"
        expected[serial] = number + 1
        open_streams.add(serial)
        if header[5] & _OGG_LAST_PAGE:
            open_streams.discard(serial)
    # Whatever follows the last page of every stream is a foreign tag; before that it is damage.
    if not header or not open_streams:
        return None
    return "ends early" if b"OggS".startswith(header[:4]) else "is damaged"


def _ogg_checksum(page: bytes) -> int:
    # Ogg's CRC has zlib's polynomial with the bits of bytes and result in the other order, and no inversion.
    mirrored = zlib.crc32(page.translate(_MIRRORED), 0xFFFFFFFF) ^ 0xFFFFFFFF
    return int.from_bytes(mirrored.to_bytes(4, "little").translate(_MIRRORED), "big")


def counts_mp3_frames(file: BinaryIO) -> bool:
    """The first frame of an MP3 holds a frame count, so that its stated length is exact and not a guess."""
    file.seek(0)
    head = file.read(10)
    if head[:3] == b"ID3" and len(head) == 10:
        size = 0
        for byte in head[6:10]:
            size = size << 7 | byte & 0x7F
        file.seek(10 + size)
    else:
        file.seek(0)
    first = file.read(1024)
    return any(mark in first for mark in (b"Xing", b"Info", b"VBRI"))
