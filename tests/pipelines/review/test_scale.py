from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from models.record import Finding, Reading, Verdict
from pipelines.review.scale import MARGIN, WIDTH, Scale, scale_of


def _finding(value: str, unit: str, bounds, bounds_unit: str = "mm", measure: str = "thickness") -> Finding:
    ends = tuple(None if end is None else Decimal(end) for end in bounds)
    return Finding(
        id="f",
        component="brake_pad",
        confidence=1.0,
        reading=Reading(measure=measure, value=Decimal(value), unit=unit, as_given=value),
        verdict=Verdict(word="within limit", sentence="s", bounds=ends, bounds_unit=bounds_unit),
    )


def _scale(value: str, unit: str, bounds, bounds_unit: str = "mm", measure: str = "thickness") -> Scale:
    scale = scale_of(_finding(value, unit, bounds, bounds_unit, measure))
    assert scale is not None
    return scale


def test_a_lower_limit_hatches_what_is_below() -> None:
    scale = _scale("6.0", "mm", ("3.2", None))
    (beyond,) = scale.beyond
    (limit,) = scale.limits
    assert beyond.x == MARGIN
    assert beyond.x + beyond.width == pytest.approx(limit, abs=0.2)
    assert limit < scale.reading.x
    assert scale.reading.label == "6.0 mm"
    assert scale.allowed.label == "allowed: at least 3.2 mm"
    assert scale.words == "Scale in mm: the reading is 6.0 mm; allowed is at least 3.2 mm. Within limit."


def test_an_upper_limit_hatches_what_is_above() -> None:
    scale = _scale("0.035", "[in_i]", (None, "0.030"), "[in_i]", "axial_play")
    (beyond,) = scale.beyond
    assert beyond.x == scale.limits[0] < scale.reading.x
    assert beyond.x + beyond.width == pytest.approx(WIDTH - MARGIN, abs=0.2)


def test_other_units_are_drawn_in_the_unit_of_the_limit() -> None:
    scale = _scale("0.125", "[in_i]", ("3.175", None))
    assert scale.reading.x == scale.limits[0]
    assert scale.reading.label == "0.125 in"
    split = _scale("18", "[degF]", (None, "10"), "Cel", "temperature_split")
    assert split.reading.x == split.limits[0]


def test_both_ends_are_named_once() -> None:
    scale = _scale("13.5", "V", ("13.2", "14.8"), "V", "charging_voltage")
    assert len(scale.beyond) == len(scale.limits) == 2
    assert scale.allowed.label == "allowed: 13.2 V to 14.8 V"


@pytest.mark.parametrize(
    "update",
    [{"reading": None}, {"verdict": None}, {"verdict": Verdict(word="not judged", sentence="s")}],
)
def test_nothing_is_drawn_without_a_number_or_a_limit(update: dict[str, object]) -> None:
    assert scale_of(_finding("6", "mm", ("3", None)).model_copy(update=update)) is None


def test_nothing_is_drawn_when_units_do_not_compare() -> None:
    assert scale_of(_finding("6", "kPa", ("3", None))) is None
    assert scale_of(_finding("6", "mm", (None, None))) is None


_numbers = st.decimals(min_value=-1000, max_value=1000, places=3)


@given(_numbers, _numbers, st.booleans())
def test_everything_stays_on_the_drawing_in_order(value: Decimal, end: Decimal, low: bool) -> None:
    bounds = (str(end), None) if low else (None, str(end))
    scale = _scale(str(value), "mm", bounds)
    marks = [scale.reading.x, *scale.limits, scale.allowed.x, *(t.x for t in scale.ticks)]
    assert all(MARGIN - 0.1 <= x <= WIDTH - MARGIN + 0.1 for x in marks)
    assert 2 <= len(scale.ticks) <= 9
    assert all(b.width >= 0 for b in scale.beyond)
    if value != end:
        assert (scale.reading.x > scale.limits[0]) == (value > end)
