"""What print and bar codes in photos say, and what the draft makes of it."""

from datetime import UTC, datetime
from decimal import Decimal
from pathlib import Path

import numpy as np
import pytest
import zxingcpp

from capture.apart import Helper
from models.capture import Capture
from models.display import DisplayReading
from models.labels import SeenText, TextSource
from models.notes import SpokenNotes
from models.record import Odometer, Record
from pipelines.draw_up import Material, draw_up
from pipelines.labels import Said, certain_vin, notices
from pipelines.recognisers import FarReader, Recogniser
from tests.doubles import Scripted, workshop

VIN = "1M8GDM9AXKP042788"  # its check digit fits
BAD = "1M8GDM9A1KP042788"
ID, NOTE, PHOTO = "0d2b9a56-3a3f-4f5c-9a7c-5c7f0a1b2c3d", "a" * 64, "b" * 64
WHEN = datetime(2026, 11, 20, 9, 30, tzinfo=UTC)


def seen(text: str, source: TextSource = "print") -> SeenText:
    return SeenText(text=text, source=source, confidence=0.95)


def said(unit: str | None = None, vin: str | None = None, odometer: Odometer | None = None) -> Said:
    return Said(unit, vin, odometer, None)


def about(text: str, source: TextSource = "print", known: Said | None = None) -> str:
    return "\n".join(notices("p.jpg", [seen(text, source)], known or said()))


@pytest.mark.parametrize(
    ("text", "source"),
    [
        (VIN, "Code 39"),
        (f"I{VIN}", "Code 39"),
        (VIN, "Data Matrix"),
        (f"VIN: {VIN}", "QR code"),
        (f"VIN {VIN}", "print"),
        ("VIN 1M8GD M9AXK P042788", "print"),
        (f"MFD 03/19 {VIN.lower()} TRUCK", "print"),
    ],
)
def test_a_vin_is_told_with_its_source(text: str, source: TextSource) -> None:
    told = about(text, source)
    assert f"VIN {VIN} in it ({'printed text' if source == 'print' else source})" in told
    assert "its check digit fits" in told
    assert text in told  # and what was read stands beside it, unaltered


def test_a_wrong_check_digit_is_told_and_never_put_right() -> None:
    told = about(BAD, "Code 39")
    assert "its check digit does not fit" in told
    assert "ask for X" in told
    assert VIN not in told


def test_letters_that_no_vin_has_are_told_not_replaced() -> None:
    told = about("VIN 1M8GDM9AXKPO42788")
    assert "holds O" in told
    assert VIN not in told


@pytest.mark.parametrize("text", ["TRANSMISSIONFLUID", "1234", "PART 12345678901234567890"])
def test_what_is_no_vin_is_not_called_one(text: str) -> None:
    assert "VIN" not in about(text)


def test_another_vin_than_the_one_heard_is_a_question() -> None:
    told = about(VIN, "Code 39", said(vin=BAD))
    assert f"of this inspection is {BAD}, but p.jpg shows {VIN}" in told
    assert "of this inspection" not in about(VIN, "Code 39", said(vin=VIN))


@pytest.mark.parametrize(
    ("texts", "vin"),
    [
        ([seen(VIN, "Code 39")], VIN),
        ([seen(VIN, "Code 39"), seen(VIN, "QR code")], VIN),
        ([seen(BAD, "Code 39")], None),
        ([seen(VIN, "print")], None),
        ([seen(VIN, "Code 39"), seen("1FUJA6CK66LW12345", "QR code")], None),
        ([seen("UNIT 417", "Code 128")], None),
        ([], None),
    ],
)
def test_only_one_checked_code_names_the_truck(texts: list[SeenText], vin: str | None) -> None:
    assert certain_vin(texts) == vin


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("ODO 112306 mi", "odometer 112306 mi"),
        ("112,306 mi", "odometer 112306 mi"),
        ("98 412.7 km", "odometer 98412.7 km"),
        ("TRIP A 214.6 MI", "odometer 214.6 mi"),
    ],
)
def test_an_odometer_is_told(text: str, words: str) -> None:
    assert f"{words} in it (printed text)" in about(text)


@pytest.mark.parametrize("text", ["65 mi", "120 km/h", "3000 MILES PER QUART", "112306"])
def test_speeds_and_bare_numbers_are_no_odometer(text: str) -> None:
    assert "odometer" not in about(text)


def test_the_odometer_is_held_against_what_was_said() -> None:
    same = said(odometer=Odometer(value=Decimal(112306), unit="[mi_i]"))
    other = said(odometer=Odometer(value=Decimal(112360), unit="[mi_i]"))
    assert "as it was said" in about("112306 mi", known=same)
    assert "heard as 112360 mi, but p.jpg shows 112306 mi" in about("112306 mi", known=other)


@pytest.mark.parametrize(
    ("text", "source"),
    [("UNIT 417", "QR code"), ("UNIT NO. 417", "print"), ("WO 8812 UNIT: 417", "Code 128")],
)
def test_a_tag_names_the_unit(text: str, source: TextSource) -> None:
    assert "p.jpg: unit 417 in it" in about(text, source)
    assert "unit 417 in it" in about(text, source, said(unit="417"))
    assert "names unit 417" in about(text, source, said(unit="418"))
    assert "of unit 418" in about(text, source, said(unit="418"))


def drafted(
    tmp_path: Path, display: DisplayReading, texts: tuple[SeenText, ...], vin: str | None = None
) -> Record:
    capture = Capture(
        sha256=PHOTO,
        kind="photo",
        original_name="p.jpg",
        captured_at=WHEN,
        time_source="exif",
        size=1,
        zone_known=True,
    )
    note = capture.model_copy(update={"sha256": NOTE, "kind": "audio", "original_name": "n.wav"})
    material = Material(
        [note, capture], [SpokenNotes(capture=NOTE, vin=vin)], [display], texts={PHOTO: texts}
    )
    return draw_up(ID, "417", material, workshop(tmp_path, Scripted()))


def test_the_draft_takes_a_checked_code_but_not_over_what_was_said(tmp_path: Path) -> None:
    plate = DisplayReading(capture=PHOTO, reason="no display", display_seen=False)
    texts = (seen(VIN, "Code 39"),)
    assert drafted(tmp_path, plate, texts).inspection.vin == VIN
    heard = drafted(tmp_path, plate, texts, BAD)
    assert heard.inspection.vin == BAD
    assert any("check which is right" in n for n in heard.notices)


def test_a_photo_of_a_part_is_kept_as_proof(tmp_path: Path) -> None:
    part = DisplayReading(capture=PHOTO, reason="No lit display was found.", display_seen=False)
    record = drafted(tmp_path, part, ())
    assert any(n.startswith("p.jpg: kept as proof; no display, plate or label") for n in record.notices)
    assert record.findings == ()
    assert [c.sha256 for c in record.captures] == [NOTE, PHOTO]


def test_a_display_that_was_not_read_is_no_mere_proof(tmp_path: Path) -> None:
    dark = DisplayReading(capture=PHOTO, reason="A display is in it, but dark.")
    record = drafted(tmp_path, dark, ())
    assert any(n == "p.jpg: no reading: A display is in it, but dark." for n in record.notices)


def test_codes_are_read_in_a_process_apart() -> None:
    helper = Helper("pipelines.recogniser_jobs", ("displays",))
    try:
        code = np.array(zxingcpp.create_barcode("UNIT 417", zxingcpp.BarcodeFormat.QRCode).to_image(scale=6))
        pixels = np.repeat(code[..., None], 3, axis=2).astype(np.uint8)
        (read,) = FarReader(Recogniser(helper)).read_codes(pixels)
    finally:
        helper.close()
    assert (read.text, read.source, read.confidence) == ("UNIT 417", "QR code", 1.0)
    assert read.box is not None
