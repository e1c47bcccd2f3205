"""Places on a ruler say the same as exact comparing in the unit of the limit, at each end and beside it."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from models.limits import Limit, load_limits
from models.limits.rules import PI
from models.units import UNITS, UnitError, convert
from pipelines.judging.ruler import Ruler, ends_of, reach

WHEEL = Fraction(17)
SHIPPED = load_limits().rules


def by_ruler(limit: Limit, others: list[Limit], value: Fraction, code: str) -> str:
    """What the limit says when its ends lie on one ruler with those of others."""
    ends = [e for rule in (limit, *others) if (e := ends_of(rule, WHEEL)) is not None]
    ruler = Ruler(mark for one in ends for mark in one.marks)
    return reach(ends[0], ruler).word(ruler.place(value, code))


def exact(limit: Limit, value: Fraction) -> str:
    """What the limit says of a value in its own unit, by the words of its file."""
    low, high = limit.low, limit.high
    if low is not None and (value < low.value or (value == low.value and not low.included)):
        return "beyond limit"
    if high is not None and (value > high.value or (value == high.value and not high.included)):
        return "beyond limit"
    close_below = low is not None and limit.near_low is not None and value <= limit.near_low
    close_above = high is not None and limit.near_high is not None and value >= limit.near_high
    return "near limit" if close_below or close_above else "within limit"


def kin(limit: Limit) -> list[Limit]:
    """Limits whose ends can lie on the same ruler."""
    found = [r for r in SHIPPED if (r.component, r.measure) == (limit.component, limit.measure)]
    return [r for r in found if ends_of(r, WHEEL) is not None]


@pytest.mark.parametrize("limit", [r for r in SHIPPED if r.undefined is None], ids=lambda r: r.id)
def test_each_shipped_limit_at_its_ends_and_beside_them(limit: Limit) -> None:
    numbers = [b.value for b in (limit.low, limit.high) if b is not None]
    numbers += [n for n in (limit.near_low, limit.near_high) if n is not None]
    hair = Fraction(1, 10**12)
    for number in [n + step for n in numbers for step in (-hair, 0, hair)]:
        if limit.rim_angle:
            # arc = pi x diameter x angle / 360 (49 CFR 393.209(b)(2) gives the angle)
            assert by_ruler(limit, kin(limit), PI * WHEEL * number / 360, "[in_i]") == exact(limit, number)
            continue
        for code in (c for c, u in UNITS.items() if u.dimension == UNITS[limit.unit].dimension):
            value = convert(number, limit.unit, code)
            assert by_ruler(limit, kin(limit), value, code) == exact(limit, number)


def test_limits_that_give_no_number_have_no_ends() -> None:
    undefined = next(r for r in SHIPPED if r.undefined is not None)
    angle = next(r for r in SHIPPED if r.rim_angle)
    assert ends_of(undefined, WHEEL) is None
    assert ends_of(angle, None) is None
    assert ends_of(angle, Fraction(0)) is None
    assert ends_of(angle, WHEEL) is not None


def test_a_difference_of_temperatures_has_no_zero_to_move() -> None:
    split = next(r for r in SHIPPED if r.id == "practice-oil-coolant-split")
    ends = ends_of(split, None, difference=True)
    assert ends is not None and ends.high == Fraction(70, 9)  # 14 degF are 7.78 K
    ruler = Ruler(ends.marks, difference=True)
    word = reach(ends, ruler).word
    assert word(ruler.place(Fraction(70, 9), "Cel")) == "near limit"
    assert word(ruler.place(Fraction(701, 90), "Cel")) == "beyond limit"


def test_a_unit_that_records_do_not_use_is_refused() -> None:
    with pytest.raises(UnitError):
        Ruler([Fraction(1)]).place(Fraction(1), "furlong")


@given(
    marks=st.lists(st.fractions(-50, 50, max_denominator=64), max_size=6),
    value=st.fractions(-60, 60, max_denominator=640),
    code=st.sampled_from(["mm", "[in_i]", "[mil_i]", "um"]),
)
def test_places_keep_the_order_of_numbers(marks: list[Fraction], value: Fraction, code: str) -> None:
    ruler = Ruler(marks)
    base, place = convert(value, code, "mm"), ruler.place(value, code)
    for mark in marks:
        assert (place < ruler.mark(mark)) == (base < mark)
        assert (place > ruler.mark(mark)) == (base > mark)
