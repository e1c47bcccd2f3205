"""What the bytes of a container promise."""

import io
import struct

import pytest

from capture.containers import counts_mp3_frames, fault, is_heic, is_mp4
from tests.capture.material import encoded, png_header, wav_bytes


def rf64(seconds: float) -> bytes:
    """A WAV in the long form, whose sizes stand in a chunk of their own."""
    plain = wav_bytes(seconds)
    data = plain[44:]
    sizes = struct.pack("<4sIQQQI", b"ds64", 28, len(plain) + 28, len(data), len(data) // 2, 0)
    return b"RF64\xff\xff\xff\xffWAVE" + sizes + plain[12:40] + b"\xff\xff\xff\xff" + data


@pytest.mark.parametrize("content", [wav_bytes(0.5), rf64(0.5)], ids=["wav", "rf64"])
def test_a_wav_must_hold_the_bytes_it_promises(content: bytes) -> None:
    assert fault(io.BytesIO(content)) is None
    assert fault(io.BytesIO(content + b"LIST\x04\0\0\0abcd")) is None
    assert fault(io.BytesIO(content[:-2])) == "ends early"
    assert fault(io.BytesIO(content[:30])) == "ends early"


@pytest.mark.parametrize("size", [0, 0x7FFFF000, 0xFFFFFFFF])
def test_a_wav_of_unstated_size_promises_nothing(size: int) -> None:
    content = wav_bytes(0.5)
    assert fault(io.BytesIO(content[:40] + struct.pack("<I", size) + content[44:])) is None


def test_odd_chunks_before_the_sound_are_stepped_over() -> None:
    content = wav_bytes(0.1)
    odd = b"LIST\x03\0\0\0abc\0"
    assert fault(io.BytesIO(content[:12] + odd + content[12:])) is None
    assert fault(io.BytesIO(content[:12] + odd + content[12:-2])) == "ends early"


def test_every_page_of_an_ogg_is_checked() -> None:
    content = encoded("ogg", "libopus", 3.0)
    pages = [i for i in range(len(content)) if content[i : i + 4] == b"OggS"]
    assert len(pages) >= 4
    assert fault(io.BytesIO(content)) is None
    assert fault(io.BytesIO(content[:-1])) == "ends early"
    assert fault(io.BytesIO(content[: pages[-1] + 10])) == "ends early"
    assert fault(io.BytesIO(content[: pages[2]] + content[pages[3] :])) == "is damaged"
    assert fault(io.BytesIO(content[: pages[-1]] + b"junk" * 20)) == "is damaged"
    for page in pages:
        changed = bytearray(content)
        changed[page + 40] ^= 1
        assert fault(io.BytesIO(bytes(changed))) == "is damaged"


def test_an_mp4_must_hold_the_boxes_it_promises() -> None:
    content = encoded("ipod", "aac", 1.0)
    assert fault(io.BytesIO(content)) is None
    assert fault(io.BytesIO(content + b"TAG" + bytes(125))) is None
    assert fault(io.BytesIO(content[:-1])) == "ends early"
    assert fault(io.BytesIO(content[: len(content) // 2])) == "ends early"
    long_form = struct.pack(">I4sQ", 1, b"free", 24) + bytes(8)
    assert fault(io.BytesIO(content + long_form)) is None
    assert fault(io.BytesIO(content + long_form[:-1])) == "ends early"


def test_other_kinds_promise_nothing_here() -> None:
    for content in (b"", b"RIF", b"#!AMR\n", png_header(1, 1)):
        assert fault(io.BytesIO(content)) is None


def test_an_mp3_with_a_frame_count_is_known() -> None:
    counted = encoded("mp3", "libmp3lame", 1.0)
    assert counts_mp3_frames(io.BytesIO(counted))
    tag = b"ID3\x04\0\0" + bytes([0, 0, 16, 0]) + bytes(2048)
    assert counts_mp3_frames(io.BytesIO(tag + counted))
    uncounted = counted.replace(b"Info", b"\0\0\0\0").replace(b"Xing", b"\0\0\0\0")
    assert not counts_mp3_frames(io.BytesIO(uncounted))


def test_brands() -> None:
    assert is_heic(b"\0\0\0\x18ftypheic")
    assert not is_heic(b"\0\0\0\x18ftypM4A ")
    assert is_mp4(b"\0\0\0\x18ftypM4A ")
    assert not is_mp4(b"RIFF\0\0\0\0WAVE")
