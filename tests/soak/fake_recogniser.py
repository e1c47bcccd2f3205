"""Recognisers for processes apart that hear and read by the content alone, and fall when they are told to.

A folder says what befalls them: a file ``hang``, ``crash``, ``swell``, ``fail`` or ``killed`` in it is used
up by the next question; without a file ``model.bin`` no model can be loaded.
"""

import hashlib
import os
import signal
import threading
from collections.abc import Iterator, Mapping
from decimal import Decimal
from pathlib import Path

import numpy as np

from capture.apart.serve import Job
from capture.apart.wire import Reply, Words
from models.display import DisplayReading
from tests.doubles import Scripted

Data = bytes | bytearray | memoryview
PARTS = ("Left front outer pad", "Right front outer pad", "Left rear inner pad", "Right rear inner pad")
NUMBERS = ("three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")


def sentence(data: Data) -> str:
    """What is heard: always the same for the same sound."""
    digest = hashlib.sha256(data).digest()
    return f"{PARTS[digest[0] % len(PARTS)]}, {NUMBERS[digest[1] % len(NUMBERS)]} millimeters."


def jobs(kind: str, control: str) -> Mapping[str, Job]:
    folder = Path(control)
    return _speech(folder) if kind == "speech" else _displays(folder)


def _befall(folder: Path) -> None:
    for name in ("hang", "crash", "swell", "fail", "killed"):
        try:
            (folder / name).unlink()
        except FileNotFoundError:
            continue
        _fall(name)


def _fall(name: str) -> None:
    if name == "hang":
        threading.Event().wait(120)
    elif name == "fail":
        raise RuntimeError("the decoder broke")
    elif name == "swell":
        raise MemoryError
    os.kill(os.getpid(), signal.SIGSEGV if name == "crash" else signal.SIGKILL)


def _speech(folder: Path) -> Mapping[str, Job]:
    loaded = False

    def load() -> None:
        nonlocal loaded
        if not loaded and not (folder / "model.bin").exists():
            raise RuntimeError(f"Unable to open file 'model.bin' in model '{folder}'")
        loaded = True

    def detect(words: Words, data: Data) -> Iterator[Reply]:
        yield Reply({}, Scripted().detect(np.frombuffer(data, np.float32)).data.cast("B"))

    def hear(words: Words, data: Data) -> Iterator[Reply]:
        load()
        _befall(folder)
        heard = Scripted([sentence(data)]).hear(np.frombuffer(data, np.float32))
        yield Reply({"heard": heard.model_dump_json(), "process": os.getpid()})

    def decoder(words: Words, data: Data) -> Iterator[Reply]:
        yield Reply({"decoder": Scripted().decoder.model_dump_json()})

    def ready(words: Words, data: Data) -> Iterator[Reply]:
        load()
        yield Reply({})

    return {"detect": detect, "hear": hear, "decoder": decoder, "ready": ready}


def reading(pixels: Data, capture: str) -> DisplayReading:
    """What is read: always the same for the same picture."""
    number = hashlib.sha256(pixels).digest()[0] % 40
    if number < 5:
        return DisplayReading(capture=capture, reason="no display was found in it: take it again closer")
    text = f"{number / 10:.1f}"
    return DisplayReading(
        capture=capture,
        text=text,
        value=Decimal(text),
        unit="mm",
        digit_confidence=(1.0, 1.0),
        confidence=0.99,
    )


def _displays(folder: Path) -> Mapping[str, Job]:
    def display(words: Words, data: Data) -> Iterator[Reply]:
        _befall(folder)
        yield Reply({"reading": reading(data, words["capture"]).model_dump_json()})

    def printed(words: Words, data: Data) -> Iterator[Reply]:
        _befall(folder)
        yield Reply({"lines": [["UNIT PLATE 417", 0.9]]})

    return {"display": display, "print": printed}
