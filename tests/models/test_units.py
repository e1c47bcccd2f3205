from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from models.units import UNITS, UnitError, convert, dimension_fits, plain, to_base, unit

numbers = st.decimals(min_value=-10_000, max_value=10_000, places=4)


@given(numbers, st.sampled_from(sorted(UNITS)), st.sampled_from(sorted(UNITS)))
def test_there_and_back_is_the_same_number(value, source, target):
    if unit(source).dimension != unit(target).dimension:
        with pytest.raises(UnitError, match="do not measure the same kind"):
            convert(value, source, target)
        return
    there = convert(value, source, target)
    assert convert(there, target, source) == Fraction(value)


@given(numbers, numbers)
def test_a_difference_of_temperatures_is_the_difference_of_the_converted_temperatures(a, b):
    apart = convert(a, "[degF]", "Cel") - convert(b, "[degF]", "Cel")
    assert convert(a - b, "[degF]", "Cel", difference=True) == apart


@given(numbers)
def test_order_survives_conversion(value):
    more = value + Decimal("0.0001")
    for code in UNITS:
        assert to_base(value, code) < to_base(more, code)


def test_unknown_unit_names_the_known_ones():
    with pytest.raises(UnitError, match=r"'furlong' is not a unit .*\[in_i\]"):
        unit("furlong")


@pytest.mark.parametrize(
    ("dimension", "code", "fits"),
    [("length", "mm", True), ("length", "[psi]", False), ("temperature_difference", "[degF]", True)],
)
def test_dimension_fits(dimension, code, fits):
    assert dimension_fits(dimension, code) is fits


@pytest.mark.parametrize(
    ("value", "places", "text"),
    [
        (Fraction(1, 3), 4, "0.3333"),
        (Fraction(-1, 8), 4, "-0.125"),
        (Fraction(0), 4, "0"),
        (Fraction(5, 2), 0, "2"),
        (Decimal("30.0"), 4, "30"),
        (Fraction(-1, 10**9), 4, "0"),
        (Decimal("1E+3"), 2, "1000"),
    ],
)
def test_plain(value, places, text):
    assert plain(value, places) == text
