"""Whatever happened to a file's bytes, it is taken in or refused with a sentence; nothing else comes out."""

import io
import random
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from capture.media import UnreadableMedia, probe
from tests.capture.material import amr_bytes, encoded, in_3gp, wav_bytes

TRIES = 12


def picture(kind: str) -> bytes:
    buffer = io.BytesIO()
    noise = np.random.default_rng(5).integers(0, 255, (40, 60, 3)).astype(np.uint8)
    Image.fromarray(noise).save(buffer, kind)
    return buffer.getvalue()


WHOLE: dict[str, Callable[[], bytes]] = {
    "a.wav": lambda: wav_bytes(0.5),
    "a.flac": lambda: encoded("flac", "flac", 0.5),
    "a.m4a": lambda: encoded("ipod", "aac", 0.5),
    "a.ogg": lambda: encoded("ogg", "libopus", 0.5),
    "a.mp3": lambda: encoded("mp3", "libmp3lame", 0.5),
    "a.webm": lambda: encoded("webm", "libopus", 0.5, 48_000),
    "a.aac": lambda: encoded("adts", "aac", 0.5),
    "a.amr": lambda: amr_bytes([0] * 25),
    "a.3gp": lambda: in_3gp(amr_bytes([0] * 25)),
    "a.jpg": lambda: picture("JPEG"),
    "a.png": lambda: picture("PNG"),
    "a.webp": lambda: picture("WEBP"),
    "a.tiff": lambda: picture("TIFF"),
    "a.gif": lambda: picture("GIF"),
    "a.bmp": lambda: picture("BMP"),
}


def damaged(content: bytes, chance: random.Random) -> bytes:
    broken = bytearray(content)
    kind = chance.randrange(3)
    if kind == 0:  # bytes changed, mostly near the front, where the sizes stand
        for _ in range(chance.choice([1, 4, 20])):
            broken[chance.randrange(min(len(broken), chance.choice([64, 600, len(broken)])))] = (
                chance.randrange(256)
            )
    elif kind == 1:
        del broken[chance.randrange(len(broken)) :]
    else:
        start = chance.randrange(len(broken))
        del broken[start : start + chance.randrange(1, 400)]
    return bytes(broken)


@pytest.mark.filterwarnings("ignore::UserWarning", "ignore::RuntimeWarning")
@pytest.mark.parametrize("name", WHOLE)
def test_damage_is_refused_with_a_sentence(tmp_path: Path, name: str) -> None:
    chance, content, path = random.Random(name), WHOLE[name](), tmp_path / name
    path.write_bytes(content)
    assert probe(path, "").original_name == name
    refused = 0
    for _ in range(TRIES):
        path.write_bytes(damaged(content, chance))
        try:
            probe(path, "")
        except UnreadableMedia as error:
            refused += 1
            assert str(error).startswith(name)
            assert str(error).endswith(".")
    assert refused > 0
