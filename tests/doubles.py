"""Recognisers that do what the real ones do on their worst days, and material for them."""

import re
import threading
import wave
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
from PIL import Image

from models.display import DisplayReading
from models.limits import load_limits
from models.settings import Settings
from models.transcript import Decoder, Style, Word
from models.vocabulary import load_vocabulary
from pipelines.speech.activity import FRAME, RATE, Samples
from pipelines.speech.listener import PROMPTS, Heard, HeardWindow, Listener
from pipelines.workshop import Pixels, ReadCodes, ReadDisplay, ReadPrint, Workshop

STYLES: tuple[Style, ...] = ("words", "digits")


def heard(text: str, style: Style = "words", *, score: float = -0.2, aligned: bool = True) -> Heard:
    """One hypothesis; its words follow each other at four a second."""
    found = list(re.finditer(r"\S+", text))
    words = tuple(
        Word(start=m.start(), end=m.end(), start_s=k * 0.25, end_s=(k + 1) * 0.25, probability=0.9)
        for k, m in enumerate(found)
    )
    return Heard(text=text, style=style, score=score, tokens=len(found) + 1, words=words if aligned else ())


@dataclass
class Scripted:
    """Says a given text in each window in which something is loud; counts how often it is asked."""

    texts: Sequence[str] = ()
    no_speech: float = 0.0
    score: float = -0.2
    windows: list[int] = field(default_factory=list)
    detected: list[int] = field(default_factory=list)

    @property
    def decoder(self) -> Decoder:
        return Decoder(model="scripted", library="none", settings="none")

    def detect(self, samples: Samples) -> np.ndarray:
        """Whatever is loud counts as speech."""
        self.detected.append(len(samples))
        assert len(samples) % FRAME == 0
        return np.asarray(np.abs(samples.reshape(-1, FRAME)).max(axis=1) > 0.05, np.float32)

    def hear(self, samples: Samples) -> HeardWindow:
        text = self.texts[min(len(self.windows), len(self.texts) - 1)] if self.texts else ""
        self.windows.append(len(samples))
        return HeardWindow(
            no_speech=self.no_speech,
            hypotheses=tuple(heard(text, style, score=self.score) for style in STYLES),
        )


def echoing() -> Scripted:
    """Gives back its own word list, as on noise."""
    return Scripted([PROMPTS["words"]])


def repeating() -> Scripted:
    """Repeats one phrase fifty times, as on noise."""
    return Scripted(["left front pad six millimeters " * 50])


def inventing() -> Scripted:
    """Makes up a sentence for noise, and is not sure of it."""
    return Scripted(["Left front outer pad, six millimeters."], no_speech=0.93, score=-1.6)


@dataclass
class Failing(Scripted):
    """Raises when it is asked to hear."""

    error: BaseException = field(default_factory=lambda: MemoryError())

    def hear(self, samples: Samples) -> HeardWindow:
        self.windows.append(len(samples))
        raise self.error


@dataclass
class Hanging(Scripted):
    """Does not answer the first time it is asked, until it is let go; answers afterwards."""

    let_go: threading.Event = field(default_factory=threading.Event)
    times: int = 1

    def hear(self, samples: Samples) -> HeardWindow:
        if self.times > 0:
            self.times -= 1
            self.let_go.wait(20)
        return super().hear(samples)


def sound(seconds: float, speech: Sequence[tuple[float, float]]) -> Samples:
    """Faint noise with something loud in the given stretches of seconds."""
    samples = np.random.default_rng(5).normal(0, 0.002, round(seconds * RATE)).astype(np.float32)
    steps = np.arange(samples.size) / RATE
    for start, end in speech:
        loud = (steps >= start) & (steps < end)
        samples[loud] += 0.3 * np.sin(2 * np.pi * 220 * steps[loud]).astype(np.float32)
    return samples


def write_note(path: Path, seconds: float = 3.0, *, speech: bool = True, salt: int = 0) -> Path:
    """An audio file; with another salt the same length has another content."""
    samples = sound(seconds, [(0.5, seconds - 0.5)] if speech else [])
    if salt:
        samples[:salt] = 0.01
    path.parent.mkdir(parents=True, exist_ok=True)
    with wave.open(str(path), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(RATE)
        file.writeframes((samples * 32767).astype("<i2").tobytes())
    return path


def write_photo(path: Path, shade: int = 120) -> Path:
    """A plain photo; another shade is another content."""
    path.parent.mkdir(parents=True, exist_ok=True)
    Image.new("RGB", (64, 48), (shade, shade, shade)).save(path)
    return path


@dataclass
class Display:
    """Reads the same from every photo, or gives the same reason; counts how often it is asked."""

    make: Callable[[str], DisplayReading] = lambda capture: DisplayReading(
        capture=capture, reason="no display was found in it: take it again closer"
    )
    asked: list[str] = field(default_factory=list)

    def __call__(self, pixels: Pixels, capture: str) -> DisplayReading:
        self.asked.append(capture)
        return self.make(capture)


def workshop(
    home: Path,
    listener: Listener,
    read_display: ReadDisplay | None = None,
    deadline_s: float = 20.0,
    read_print: ReadPrint | None = None,
    read_codes: ReadCodes | None = None,
) -> Workshop:
    """The tools with doubles for the recognisers."""
    return Workshop(
        settings=Settings(home=home),
        vocabulary=load_vocabulary(),
        limits=load_limits(),
        listener=listener,
        read_display=read_display or Display(),
        deadline_s=deadline_s,
        read_print=read_print,
        read_codes=read_codes,
    )


class Shelf:
    """Keeps what stages make, in memory."""

    def __init__(self) -> None:
        self.kept: dict[tuple[str, str, str], str] = {}

    def artefact(self, owner: str, stage: str, version: str) -> str | None:
        return self.kept.get((owner, stage, version))

    def put_artefact(self, owner: str, stage: str, version: str, payload: str) -> None:
        self.kept.setdefault((owner, stage, version), payload)
