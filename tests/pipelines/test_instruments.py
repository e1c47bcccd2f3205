"""Readings that the shop's instruments cannot show become questions in the draft."""

from datetime import UTC, datetime
from decimal import Decimal
from pathlib import Path

import pytest

from models.capture import Capture
from models.display import DisplayReading
from models.notes import SpokenFinding, SpokenNotes
from models.record import Finding, Reading, Record
from pipelines.displays.gauges import load_gauges
from pipelines.draw_up import Material, draw_up
from pipelines.instruments import doubt, questioned
from pipelines.workshop import Workshop
from tests.doubles import Scripted, workshop

GAUGES = load_gauges()
NOTE, PHOTO = "a" * 64, "b" * 64
WHEN = datetime(2026, 11, 20, 9, 30, tzinfo=UTC)


def shown(text: str, code: str | None, confidence: float = 0.98) -> DisplayReading:
    return DisplayReading(
        capture=PHOTO,
        text=text,
        value=Decimal(text),
        unit=code,
        confidence=confidence,
        digit_confidence=(confidence,) * len(text),
        box=(1, 2, 30, 10),
    )


@pytest.mark.parametrize(
    ("text", "code", "measure"),
    [
        ("6.02", "mm", "thickness"),
        ("28.354", "mm", "thickness"),  # a micrometer shows it, though no caliper does
        ("0.062", "[in_i]", "runout"),
        ("12.58", "V", "voltage"),
        ("650", "A", "cold_cranking_current"),
        ("95.5", "N.m", "torque"),  # no instrument is known for it
        ("1458", None, "pressure"),  # without a unit nothing can be told
        ("6.02", "mm", None),
    ],
)
def test_what_an_instrument_can_show_is_not_doubted(text: str, code: str | None, measure: str | None) -> None:
    assert doubt(shown(text, code), GAUGES, measure) is None


@pytest.mark.parametrize(
    ("text", "code", "measure", "words"),
    [
        ("1258", "V", None, "multimeter"),
        ("13.85", "[psi]", "pressure", "pressure gauge"),
        ("290.79", "mm", "tread_depth", "instruments"),
        ("602", "mm", "thickness", "caliper, micrometer"),
        ("602", "mm", None, "602 mm"),
    ],
)
def test_what_none_can_show_is_doubted(text: str, code: str, measure: str | None, words: str) -> None:
    sentence = doubt(shown(text, code), GAUGES, measure)
    assert sentence is not None and words in sentence


def test_a_doubted_reading_is_not_sure_and_keeps_its_reason() -> None:
    before = shown("1258", "V").model_copy(update={"reason": "The display is blurred."})
    good = shown("12.58", "V")
    doubted, untouched = questioned([before, good], GAUGES)
    assert doubted.confidence < 0.9
    assert doubted.reason is not None
    assert "multimeter" in doubted.reason and "blurred" in doubted.reason
    assert doubted.text == "1258"
    assert untouched == good


def drafted(tmp_path: Path, display: DisplayReading, said: Reading | None) -> Record:
    shop = workshop(tmp_path, Scripted())
    shop = Workshop(**{**vars(shop), "gauges": GAUGES})
    captures = [
        Capture(
            sha256=sha,
            kind=kind,
            original_name=name,
            captured_at=WHEN,
            time_source="exif",
            size=1,
            zone_known=True,
            duration_s=4.0 if kind == "audio" else None,
        )
        for sha, kind, name in ((NOTE, "audio", "note.wav"), (PHOTO, "photo", "gauge.jpg"))
    ]
    findings = ()
    if said is not None:
        findings = (
            SpokenFinding(
                component="tire", reading=said, text=said.as_given, start_s=1, end_s=3, confidence=0.9
            ),
        )
    notes = SpokenNotes(capture=NOTE, findings=findings)
    return draw_up(
        "0d2b9a56-3a3f-4f5c-9a7c-5c7f0a1b2c3d", "417", Material(captures, [notes], [display]), shop
    )


def only(record: Record) -> Finding:
    (finding,) = record.findings
    return finding


def test_the_draft_asks_about_it_beside_what_was_said(tmp_path: Path) -> None:
    said = Reading(measure="pressure", value=Decimal("98"), unit="[psi]", as_given="ninety eight psi")
    finding = only(drafted(tmp_path, shown("98.25", "[psi]"), said))
    assert any("98.25 has 2" in sentence for sentence in finding.attention)
    assert not any("98.2 has" in s for s in only(drafted(tmp_path, shown("98.2", "[psi]"), said)).attention)


def test_the_spoken_unit_counts_where_none_was_seen(tmp_path: Path) -> None:
    said = Reading(measure="pressure", value=Decimal("98"), unit="[psi]", as_given="ninety eight psi")
    finding = only(drafted(tmp_path, shown("98.25", None), said))
    assert any("pressure gauge" in sentence for sentence in finding.attention)


def test_the_draft_asks_about_a_photo_without_words_once(tmp_path: Path) -> None:
    finding = only(drafted(tmp_path, shown("1258", "V"), None))
    assert sum("multimeter" in sentence for sentence in finding.attention) == 1
