"""Notes and photos for the pairing tests: one recording from 08:00, photos by seconds after it began."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest

from models.capture import Capture
from models.display import DisplayAlternative, DisplayReading
from models.notes import SpokenFinding, SpokenNotes
from models.places import Position
from models.record import Alternative, Reading
from pipelines.pairing import pair

BEGIN = datetime(2026, 10, 5, 8, 0, tzinfo=UTC)
SOUND = "a" * 64


@pytest.fixture
def said():
    """A spoken finding: value with its digits, unit, when, and other hearings as (value, weight)."""

    def make(
        value,
        unit,
        at,
        *others,
        measure="thickness",
        words=None,
        confidence=0.8,
        component="brake_pad",
        **place,
    ):
        reading = None
        if value is not None:
            reading = Reading(
                measure=measure, value=Decimal(value), unit=unit, as_given=words or f"{value} {unit}"
            )
        return SpokenFinding(
            component=component,
            position=Position(**place),
            reading=reading,
            confidence=confidence,
            alternatives=tuple(Alternative(value=Decimal(v), unit=unit, weight=w) for v, w in others),
            start_s=at,
            end_s=at + 2,
            text=words or f"{component} {value}",
        )

    return make


@pytest.fixture
def shown():
    """A display reading with the second at which its photo was taken."""
    count = iter(range(1000))

    def make(text, unit, at, *others, confidence=0.98, reason=None):
        try:
            value = Decimal(text)
        except (ArithmeticError, TypeError):
            value = None
        display = DisplayReading(
            capture=f"{next(count):064d}",
            text=text,
            value=value,
            unit=unit,
            box=(10, 20, 30, 40),
            confidence=confidence,
            alternatives=tuple(DisplayAlternative(text=t, weight=w) for t, w in others),
            reason=reason,
        )
        return display, at

    return make


@pytest.fixture
def paired():
    """Pairs spoken findings with displays."""

    def run(spoken, photos=(), **notes):
        captures = [_capture(SOUND, "audio", "note.flac", 0)]
        captures += [_capture(d.capture, "photo", f"IMG_{n}.jpg", at) for n, (d, at) in enumerate(photos)]
        return pair(
            captures,
            [SpokenNotes(capture=SOUND, findings=tuple(spoken), **notes)],
            [display for display, _ in photos],
        )

    return run


def _capture(sha256, kind, name, at):
    return Capture(
        sha256=sha256,
        kind=kind,
        original_name=name,
        size=1,
        captured_at=BEGIN + timedelta(seconds=at),
        time_source="exif",
        zone_known=True,
    )
