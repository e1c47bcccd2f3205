from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from models.record import Reading
from pipelines.pairing.agreement import Shown, agreement, comparable, slip, spoken_step


def reading(value, unit, words="", measure="thickness"):
    return Reading(measure=measure, value=Decimal(value), unit=unit, as_given=words)


@pytest.mark.parametrize(
    ("value", "unit", "words", "shown", "shown_unit", "result"),
    [
        ("6", "mm", "six millimeters", "6.02", "mm", "same"),
        ("6.0", "mm", "six millimeters", "6.02", "mm", "same"),
        ("6", "mm", "six millimeters", "5.4", "mm", "differs"),
        ("6", "mm", "six millimeters", "6.6", "mm", "differs"),
        ("1", "mm", "one millimeter", "1.4", "mm", "differs"),
        ("0", "[in_i]", "no play", "0.004", "[in_i]", "differs"),
        ("0", "[in_i]", "no play", "0.000", "[in_i]", "same"),
        ("0.25", "mm", "point two five", "0", "mm", "differs"),
        ("0.21875", "[in_i]", "seven thirty seconds", "5.6", "mm", "same"),
        ("0.21875", "[in_i]", "7/32", "6.1", "mm", "differs"),
        ("0.125", "[in_i]", "point one two five", "0.150", "[in_i]", "differs"),
        ("0.03", "[in_i]", "thirty thousandths", "0.030", "[in_i]", "same"),
        ("0.03", "[in_i]", "thirty thousandths", "0.034", "[in_i]", "differs"),
        ("12.45", "V", "", "12.45", "V", "same"),
        ("12.45", "V", "", "12.46", "V", "flicker"),
        ("12.45", "V", "", "12.47", "V", "differs"),
        ("13.5", "[psi]", "thirteen and a half", "13.6", "[psi]", "differs"),
        ("15", "[psi]", "fifteen pounds", "103.4", "kPa", "same"),
        ("212", "[degF]", "", "100", "Cel", "same"),
        ("6.02", "mm", "", "6.02", None, "same"),
        ("6", "[in_i]", "six inches", "6", "mm", "differs"),
        ("5", "mm", "", "-5", "mm", "differs"),
    ],
)
def test_agreement(value, unit, words, shown, shown_unit, result):
    assert agreement(reading(value, unit, words), Shown(Decimal(shown), shown_unit)) == result


@given(st.integers(1, 99_999), st.integers(0, 3), st.integers(0, 3))
def test_a_display_rounded_for_speech_agrees_with_itself(digits, places, spoken_places):
    shown = Decimal(digits).scaleb(-places)
    value = round(shown, min(places, spoken_places))
    if abs(value - shown) * 10 <= max(value, shown):
        assert agreement(reading(str(value), "mm"), Shown(shown, "mm")) == "same"


@given(st.decimals(min_value=0, max_value=100, places=2), st.decimals(min_value=0, max_value=100, places=2))
def test_values_more_than_a_tenth_apart_never_agree(value, shown):
    if abs(value - shown) * 10 > max(value, shown):
        assert agreement(reading(f"{value:f}", "mm"), Shown(shown, "mm")) == "differs"


@pytest.mark.parametrize(
    ("value", "unit", "words", "step"),
    [
        ("4.50", "mm", "four fifty", Fraction(1, 100)),
        ("80", "[psi]", "eighty", Fraction(1)),
        ("8E+1", "[psi]", "eighty", Fraction(1)),
        ("142.1875", "[in_i]", "142 and 3/16", Fraction(1, 16)),
        ("1.75", "[in_i]", "one and three quarters", Fraction(1, 4)),
        ("1.75", "[in_i]", "one point seven five", Fraction(1, 100)),
        ("0.1", "[in_i]", "a hundred thou", Fraction(1, 1000)),
        ("0.06", "[in_i]", "60,000th's", Fraction(1, 1000)),
        ("142.1875", "[in_i]", "142 and 316ths", Fraction(1, 16)),
        ("0.21875", "[in_i]", "730 seconds", Fraction(1, 32)),
    ],
)
def test_the_last_place_said(value, unit, words, step):
    assert spoken_step(reading(value, unit, words)) == step


@pytest.mark.parametrize(
    ("value", "unit", "shown", "shown_unit", "why"),
    [
        ("0.30", "[in_i]", "0.030", "[in_i]", "decimal point"),
        ("5", "mm", "-5", "mm", "sign"),
        ("6", "[in_i]", "6", "mm", "unit is not"),
        ("30.5", "[psi]", "13.5", "[psi]", "13 and 30 sound alike"),
        ("15", "[psi]", "50", "[psi]", "15 and 50 sound alike"),
        ("15", "[psi]", "60", "[psi]", None),
        ("6", "mm", "4.5", "mm", None),
    ],
)
def test_slips(value, unit, shown, shown_unit, why):
    told = slip(reading(value, unit), Shown(Decimal(shown), shown_unit))
    assert told is None if why is None else why in told


@pytest.mark.parametrize(
    ("unit", "shown", "fits"),
    [
        ("mm", "[in_i]", True),
        ("mm", "V", False),
        ("mm", None, True),
        ("mm", "furlong", False),
        ("furlong", "mm", False),
    ],
)
def test_comparable(unit, shown, fits):
    assert comparable(reading("6", unit), shown) is fits
