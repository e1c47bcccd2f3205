from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from models.record import Finding, Reading, Verdict
from pipelines.review.scale import MARGIN, WIDTH, Axis, Pointer, scales


def _finding(
    value: str, unit: str, bounds, bounds_unit: str = "mm", measure: str = "thickness", id: str = "f"
) -> Finding:
    ends = tuple(None if end is None else Decimal(end) for end in bounds)
    return Finding(
        id=id,
        component="brake_pad",
        confidence=1.0,
        reading=Reading(measure=measure, value=Decimal(value), unit=unit, as_given=value),
        verdict=Verdict(word="within limit", sentence="s", bounds=ends, bounds_unit=bounds_unit),
    )


def _scale(
    value: str, unit: str, bounds, bounds_unit: str = "mm", measure: str = "thickness"
) -> tuple[Axis, Pointer]:
    drawn = scales([_finding(value, unit, bounds, bounds_unit, measure)])
    (axis,) = drawn.axes
    return axis, drawn.pointers["f"]


def test_a_lower_limit_hatches_what_is_below() -> None:
    axis, pointer = _scale("6.0", "mm", ("3.2", None))
    (beyond,) = axis.beyond
    (limit,) = axis.limits
    assert beyond.x == MARGIN
    assert beyond.x + beyond.width == pytest.approx(limit, abs=0.2)
    assert limit < pointer.reading.x
    assert pointer.reading.label == ""  # the value stands beside the drawing in the same unit
    assert axis.allowed.label == "limit: 3.2 mm"
    assert axis.ticks[-1].label == "6 mm"


def test_an_upper_limit_hatches_what_is_above() -> None:
    axis, pointer = _scale("0.035", "[in_i]", (None, "0.030"), "[in_i]", "axial_play")
    (beyond,) = axis.beyond
    assert beyond.x == axis.limits[0] < pointer.reading.x
    assert beyond.x + beyond.width == pytest.approx(WIDTH - MARGIN, abs=0.2)


def test_other_units_are_drawn_in_the_unit_of_the_limit() -> None:
    axis, pointer = _scale("0.125", "[in_i]", ("3.175", None))
    assert pointer.reading.x == axis.limits[0]
    assert pointer.reading.label == "0.125 in"
    axis, pointer = _scale("18", "[degF]", (None, "10"), "Cel", "temperature_split")
    assert pointer.reading.x == axis.limits[0]


def test_tread_is_drawn_in_32nds() -> None:
    axis, _ = _scale("0.21875", "[in_i]", ("0.125", None), "[in_i]", "tread_depth")
    assert axis.allowed.label == "limit: 4/32 in"
    assert [tick.label for tick in axis.ticks] == [
        "0",
        "2",
        "",
        "6/32 in",
    ]  # the line of the limit stands at 4


def test_both_ends_are_named_once() -> None:
    axis, _ = _scale("13.5", "V", ("13.2", "14.8"), "V", "charging_voltage")
    assert len(axis.beyond) == len(axis.limits) == 2
    assert axis.allowed.label == "limits: 13.2 V and 14.8 V"


def test_readings_held_against_the_same_limit_share_an_axis() -> None:
    values = {"a": "6.0", "b": "4.50", "c": "9.0", "far": "90"}
    found = [_finding(value, "mm", ("3.2", None), id=id) for id, value in values.items()]
    drawn = scales([*found, _finding("6.0", "mm", ("5", None), id="other")])
    axis = {id: pointer.axis for id, pointer in drawn.pointers.items()}
    assert axis["a"] == axis["b"] == axis["c"]
    assert len({axis["a"], axis["far"], axis["other"]}) == len(drawn.axes) == 3
    x = {id: pointer.reading.x for id, pointer in drawn.pointers.items()}
    assert drawn.axes[axis["a"]].limits[0] < x["b"] < x["a"] < x["c"]


@pytest.mark.parametrize(
    "update",
    [{"reading": None}, {"verdict": None}, {"verdict": Verdict(word="not judged", sentence="s")}],
)
def test_nothing_is_drawn_without_a_number_or_a_limit(update: dict[str, object]) -> None:
    drawn = scales([_finding("6", "mm", ("3", None)).model_copy(update=update)])
    assert (drawn.axes, drawn.pointers) == ((), {})


def test_nothing_is_drawn_when_units_do_not_compare() -> None:
    assert scales([_finding("6", "kPa", ("3", None)), _finding("6", "mm", (None, None))]).axes == ()


_numbers = st.decimals(min_value=-1000, max_value=1000, places=3)


@given(st.lists(_numbers, min_size=1, max_size=5), _numbers, st.booleans())
def test_everything_stays_on_the_drawing_in_order(values: list[Decimal], end: Decimal, low: bool) -> None:
    bounds = (str(end), None) if low else (None, str(end))
    drawn = scales([_finding(str(v), "mm", bounds, id=str(n)) for n, v in enumerate(values)])
    for n, value in enumerate(values):
        pointer = drawn.pointers[str(n)]
        axis = drawn.axes[pointer.axis]
        marks = [pointer.reading.x, *axis.limits, axis.allowed.x, *(t.x for t in axis.ticks)]
        assert all(MARGIN - 0.1 <= x <= WIDTH - MARGIN + 0.1 for x in marks)
        assert 2 <= len(axis.ticks) <= 9
        assert all(b.width >= 0 for b in axis.beyond)
        if value != end:  # a hair may be less than the drawing can show
            assert (pointer.reading.x >= axis.limits[0]) == (value > end) or pointer.reading.x == axis.limits[
                0
            ]
