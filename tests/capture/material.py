"""Sound and pictures made on the spot."""

import io
import math
import struct
import wave
import zlib
from datetime import UTC, datetime

import av
import numpy as np

NOW = datetime(2026, 11, 24, 12, 0, tzinfo=UTC)


def tone(seconds: float, rate: int = 16_000, hertz: float = 440.0) -> np.ndarray:
    steps = np.arange(round(seconds * rate)) / rate
    noise = np.random.default_rng(7).normal(0, 0.02, steps.size)
    return (0.4 * np.sin(2 * math.pi * hertz * steps) + noise).astype(np.float32)


def wav_bytes(seconds: float = 0.5, *, rate: int = 16_000, hertz: float = 440.0) -> bytes:
    buffer = io.BytesIO()
    with wave.open(buffer, "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(rate)
        file.writeframes((tone(seconds, rate, hertz) * 32767).astype("<i2").tobytes())
    return buffer.getvalue()


def encoded(container: str, codec: str, seconds: float = 2.0, rate: int = 16_000, **tags: str) -> bytes:
    """Sound through one of FFmpeg's own encoders."""
    buffer = io.BytesIO()
    with av.open(buffer, "w", format=container) as output:
        output.metadata.update(tags)
        stream = output.add_stream(codec, rate=rate, layout="mono")
        frame = av.AudioFrame.from_ndarray(tone(seconds, rate)[None], format="fltp", layout="mono")
        frame.rate = rate
        output.mux(stream.encode(frame))
        output.mux(stream.encode(None))
    return buffer.getvalue()


def amr_bytes(kinds: list[int]) -> bytes:
    """AMR-NB frames (RFC 4867, section 5): 0 is 4.75 kbit/s speech, 8 comfort noise, 15 nothing to send."""
    sizes = {0: 12, 8: 5, 15: 0}
    noise = np.random.default_rng(3)
    return b"#!AMR\n" + b"".join(bytes([kind << 3 | 4]) + noise.bytes(sizes[kind]) for kind in kinds)


def in_3gp(amr: bytes) -> bytes:
    """The same frames in a 3GP file, as phones write them."""
    buffer = io.BytesIO()
    with av.open(io.BytesIO(amr)) as source, av.open(buffer, "w", format="3gp") as target:
        stream = target.add_stream_from_template(source.streams.audio[0])
        for packet in source.demux(audio=0):
            if packet.size:
                packet.stream = stream
                target.mux(packet)
    return buffer.getvalue()


def png_header(width: int, height: int) -> bytes:
    """A PNG that claims a size and holds nothing."""

    def chunk(name: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))

    size = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", size) + chunk(b"IDAT", zlib.compress(b"")) + chunk(b"IEND", b"")
    )
