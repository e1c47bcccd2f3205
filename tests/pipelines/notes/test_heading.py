"""What is said about the inspection itself."""

from decimal import Decimal

import pytest

from tests.pipelines.notes.saying import notes


@pytest.mark.parametrize(
    ("said", "unit"),
    [
        ("Starting inspection, unit four one seven.", "417"),
        ("Starting inspection on unit number B-17.", "B-17"),
        ("Unit 417, the dump truck.", "417"),
        ("Work order five five two.", "552"),
        ("Truck number twelve.", "12"),
        ("Left front outer pad, six millimeters.", None),
    ],
)
def test_the_unit_of_a_spoken_opening(said: str, unit: str | None) -> None:
    assert notes(said).unit == unit


@pytest.mark.parametrize(
    ("said", "value", "unit"),
    [
        ("Odometer one hundred twelve thousand three hundred six.", 112306, "[mi_i]"),
        ("Odometer 112,306.", 112306, "[mi_i]"),
        ("Odometer eighty one thousand six hundred fifty miles.", 81650, "[mi_i]"),
        ("Odometer 180,000 kilometers.", 180000, "km"),
        ("Ninety thousand miles on it.", 90000, "[mi_i]"),
    ],
)
def test_the_odometer(said: str, value: int, unit: str) -> None:
    said_notes = notes(said)
    assert said_notes.odometer is not None
    assert (said_notes.odometer.value, said_notes.odometer.unit) == (Decimal(value), unit)
    assert said_notes.findings == ()


def test_a_vin_is_kept_as_said() -> None:
    said = notes("VIN is 1 F T F W 1 E T 5 D F C 1 0 3 1 2. Left front outer pad, six millimeters.")
    assert said.vin == "1FTFW1ET5DFC10312"
    assert len(said.findings) == 1


@pytest.mark.parametrize(
    ("said", "ended"),
    [("That concludes unit 417.", True), ("End of inspection.", True), ("Left front pads.", False)],
)
def test_the_end(said: str, ended: bool) -> None:
    assert notes(said).ended is ended


def test_a_unit_heard_two_ways_is_asked_about() -> None:
    said = notes([("Unit four one seven.", 0.55), ("Unit four eleven.", 0.45)])
    assert said.unit == "417"
    assert any("417" in sentence for sentence in said.attention)


def test_a_speed_is_no_odometer() -> None:
    assert notes("Driver says it pulls left at 60 miles an hour.").odometer is None


@pytest.mark.parametrize(
    ("said", "value"),
    [
        ("Mileage is one twelve three oh six.", 112306),
        ("Odometer 80 1,650.", 81650),
        ("Odometer eighty-one thousand, six hundred fifty.", 81650),
        ("Odometer 81 thousand, 650.", 81650),
    ],
)
def test_an_odometer_in_pieces_is_whole_or_asked_about(said: str, value: int) -> None:
    found = notes(said)
    asked = any(sentence.startswith(("Odometer", "The odometer")) for sentence in found.attention)
    assert asked or found.odometer is None or found.odometer.value == value


BOTH = "Odometer 80 1,650, customer says it pulls left. Left front outer pad, six millimeters."


def test_an_odometer_doubt_and_a_complaint_in_one_breath_are_both_told() -> None:
    said = notes(BOTH)
    assert any(sentence.startswith("The odometer was said in pieces") for sentence in said.attention)
    assert any(sentence.startswith("Complaint heard") for sentence in said.attention)


def test_a_remark_of_a_few_hypotheses_is_a_slip() -> None:
    said = notes([(BOTH, 0.2), ("Odometer 81,650. Left front outer pad, six millimeters.", 0.8)])
    assert said.attention == ()


def test_a_complaint_worded_in_three_ways_is_told_once() -> None:
    ways = [
        (f"Customer says it {w}. Left front outer pad, six millimeters.", 0.25)
        for w in ("pulls", "pulse", "pools")
    ]
    said = notes([*ways, ("Left front outer pad, six millimeters.", 0.25)])
    assert sum(sentence.startswith("Complaint heard") for sentence in said.attention) == 1
