"""A small valid file of every kind that is read, to be damaged."""

import io
import struct
from functools import cache

import numpy as np
from PIL import Image

from tests.capture.material import amr_bytes, encoded, in_3gp, wav_bytes


def _picture(kind: str, **options: object) -> bytes:
    pixels = np.random.default_rng(5).integers(0, 255, (40, 56, 3), np.uint8)
    tags = Image.Exif()
    tags[0x0112] = 6
    tags.get_ifd(0x8769).update({0x9003: "2026:11:20 08:15:03", 0x9011: "+01:00"})
    buffer = io.BytesIO()
    Image.fromarray(pixels).save(
        buffer, kind, **({} if kind in ("BMP", "GIF") else {"exif": tags}), **options
    )
    return buffer.getvalue()


@cache
def specimens() -> dict[str, bytes]:
    """Content by name."""
    amr = amr_bytes([0, 0, 8, 15, 0, 0, 0] * 5)
    return {
        "a.wav": wav_bytes(0.4),
        "a.flac": encoded("flac", "flac", 0.4),
        "a.m4a": encoded("ipod", "aac", 0.4, creation_time="2026-11-20T08:15:03Z"),
        "a.ogg": encoded("ogg", "libopus", 0.4, rate=48_000),
        "a.mp3": encoded("mp3", "libmp3lame", 0.4),
        "a.aac": encoded("adts", "aac", 0.4),
        "a.webm": encoded("webm", "libopus", 0.4, rate=48_000),
        "a.amr": amr,
        "a.3gp": in_3gp(amr),
        "a.jpg": _picture("JPEG"),
        "a.png": _picture("PNG"),
        "a.webp": _picture("WEBP"),
        "a.tif": _picture("TIFF", compression="tiff_lzw"),
        "a.bmp": _picture("BMP"),
        "a.gif": _picture("GIF"),
    }


def exif_jpeg(block: bytes) -> bytes:
    """A JPEG whose tag block is whatever bytes."""
    plain = io.BytesIO()
    Image.new("RGB", (20, 16), (90, 120, 30)).save(plain, "JPEG")
    body = b"Exif\0\0" + block[:60_000]
    return b"\xff\xd8\xff\xe1" + struct.pack(">H", len(body) + 2) + body + plain.getvalue()[2:]
