"""Transcripts made of plain sentences, and findings as short lines that are easy to compare."""

import re
from collections.abc import Sequence

from models.notes import SpokenFinding, SpokenNotes
from models.transcript import Decoder, Hypothesis, Transcript, Window, Word
from models.units import UNITS
from models.vocabulary import load_vocabulary
from pipelines.notes.read import read_notes

DECODER = Decoder(model="said", library="none", settings="none")
SECONDS_A_WORD = 0.4

Heard = str | Sequence[tuple[str, float]]


def timed(text: str, from_s: float) -> tuple[Word, ...]:
    """The words of a text, one after another."""
    return tuple(
        Word(
            start=m.start(),
            end=m.end(),
            start_s=from_s + k * SECONDS_A_WORD,
            end_s=from_s + (k + 1) * SECONDS_A_WORD,
        )
        for k, m in enumerate(re.finditer(r"\S+", text))
    )


def transcript(*windows: Heard) -> Transcript:
    """A transcript with one window for each argument: a text, or texts with their weights, heaviest first."""
    made, at = [], 0.0
    for heard in windows:
        rows = [(heard, 1.0)] if isinstance(heard, str) else heard
        length = max((len(text.split()) for text, _ in rows), default=0) * SECONDS_A_WORD + 1.0
        hypotheses = tuple(
            Hypothesis(text=text, style="words", score=-0.2, weight=weight, words=timed(text, at))
            for text, weight in rows
        )
        made.append(Window(start_s=at, end_s=at + length, no_speech=0.0, hypotheses=hypotheses))
        at += length
    return Transcript(capture="c" * 64, duration_s=at, windows=tuple(made), decoder=DECODER)


def notes(*windows: Heard) -> SpokenNotes:
    """What the notes stage makes of the windows, with the shipped vocabulary."""
    return read_notes(transcript(*windows), load_vocabulary())


def line(finding: SpokenFinding) -> str:
    """A finding in one line: ``brake_pad left front outer | thickness 6 mm | uneven_wear | replace``."""
    cells = [f"{finding.component} {finding.position.words()}".strip()]
    if finding.reading is not None:
        words = UNITS[finding.reading.unit].words
        cells.append(f"{finding.reading.measure} {finding.reading.value:f} {words}")
    cells += finding.conditions
    if finding.action:
        cells.append(finding.action)
    return " | ".join(cells)


def lines(*windows: Heard) -> list[str]:
    """The findings of some windows, in the order said."""
    return [line(finding) for finding in notes(*windows).findings]
