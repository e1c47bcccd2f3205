from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from models.places import Position
from models.record import Finding
from pipelines.review.choices import choices
from pipelines.review.forms import exact_number, filled_from, read_finding
from tests.pipelines.review.sample import findings

BASE = findings("a" * 64, "b" * 64)[0]
GOOD = filled_from(BASE) | {"value": "5.5", "reason": "misheard"}


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("6", "6"),
        (" 6.50 ", "6.50"),
        ("-12.5", "-12.5"),
        ("0.030", "0.030"),
        ("7/32", "0.21875"),
        ("142 3/16", "142.1875"),
    ],
)
def test_numbers_keep_their_digits(text: str, value: str) -> None:
    number = exact_number(text)
    assert number is not None
    assert f"{number:f}" == value


@pytest.mark.parametrize(
    "text",
    ["", "6,5", "6.5 mm", "1e3", "NaN", "Infinity", "0x1", "1/3", "1/0", "--1", ".5", "5.", "1" * 20, "٣"],
)
def test_what_is_not_an_exact_number_is_not_guessed(text: str) -> None:
    assert exact_number(text) is None


@given(st.decimals(min_value=-99999, max_value=99999, places=4))
def test_every_decimal_comes_back_as_typed(value: Decimal) -> None:
    assert exact_number(f"{value:f}") == value


@given(st.integers(0, 999), st.integers(0, 63), st.sampled_from([2, 4, 8, 16, 32, 64]))
def test_every_inch_fraction_is_exact(whole: int, part: int, of: int) -> None:
    assert exact_number(f"{whole} {part}/{of}") == whole + Decimal(part) / Decimal(of)
    number = exact_number(f"{part}/{of}")
    assert number is not None
    assert Fraction(number) == Fraction(part, of)


def test_a_good_form_gives_the_finding() -> None:
    filled = read_finding(GOOD, BASE)
    assert filled.mistakes == ()
    assert filled.finding is not None and filled.finding.reading is not None
    assert filled.finding.id == BASE.id
    assert filled.finding.reading.value == Decimal("5.5")
    assert filled.finding.reading.as_given == "5.5 mm, entered by the reviewer"
    assert filled.finding.verdict is None
    assert filled.finding.evidence == BASE.evidence
    assert filled.finding.attention == BASE.attention


@pytest.mark.parametrize(
    ("change", "field", "sentence"),
    [
        ({"component": ""}, "component", "Choose the part"),
        ({"component": "flux_capacitor"}, "component", "from the list"),
        ({"side": "driver"}, "side", "from the list"),
        ({"index": "3"}, "index", "from the list"),
        ({"measure": ""}, "measure", "Say what was measured"),
        ({"measure": "width"}, "measure", "from the list"),
        ({"value": "six"}, "value", "as a number with a point"),
        ({"value": ""}, "value", "as a number with a point"),
        ({"unit": "kPa"}, "unit", "fits thickness: "),
        ({"unit": ""}, "unit", "fits thickness"),
        ({"unit": "furlong"}, "unit", "from the list"),
        ({"conditions": "worn dented"}, "conditions", "from the list"),
        ({"action": "scrap"}, "action", "from the list"),
        ({"reason": " "}, "reason", "Say why"),
        ({"reason": "x" * 501}, "reason", "under 500"),
        ({"value": "6.0"}, "value", "Nothing is different"),
        ({"measure": "", "value": "", "unit": ""}, "value", "must say something"),
    ],
)
def test_each_mistake_is_named_at_its_field(change: dict[str, str], field: str, sentence: str) -> None:
    filled = read_finding(GOOD | change, BASE)
    assert filled.finding is None
    assert [m.field for m in filled.mistakes] == [field]
    assert sentence in filled.mistakes[0].sentence


def test_moving_a_reading_keeps_how_it_was_said() -> None:
    filled = read_finding(filled_from(BASE) | {"side": "right", "reason": "other side"}, BASE)
    assert filled.finding is not None
    assert filled.finding.position == Position(side="right", axle="front", face="outer")
    assert filled.finding.reading == BASE.reading
    assert filled.finding.verdict is None


def test_only_a_condition_keeps_the_verdict() -> None:
    filled = read_finding(filled_from(BASE) | {"conditions": "worn glazed", "reason": "seen"}, BASE)
    assert filled.finding is not None
    assert filled.finding.conditions == ("worn", "glazed")
    assert filled.finding.verdict == BASE.verdict


def test_more_digits_are_a_different_value() -> None:
    filled = read_finding(filled_from(BASE) | {"value": "6.00", "reason": "as shown"}, BASE)
    assert filled.finding is not None and filled.finding.reading is not None
    assert f"{filled.finding.reading.value:f}" == "6.00"


def test_forms_start_with_what_stands_there() -> None:
    assert filled_from(None) == {}
    for finding in findings("a" * 64, "b" * 64):
        fields = filled_from(finding)
        assert {"component", "conditions", "action"} <= fields.keys()
        again = read_finding(fields | {"component": finding.component or "battery", "reason": "r"}, None)
        assert again.finding is not None
        assert again.finding.position == finding.position
        assert again.finding.conditions == finding.conditions


def test_choices_cover_every_measure_with_units() -> None:
    table = choices()
    assert set(table.units) == set(table.measures)
    assert all(table.units.values())
    assert table.words("[psi]") == "psi"
    assert table.words("tie_rod_end") == "tie rod end"
    assert Finding(id="x", component=table.components[0], confidence=1).component in table.components
