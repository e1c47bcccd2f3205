"""Unit conversion against UCUM 2.2 definitions and against independent libraries."""

from decimal import Decimal
from fractions import Fraction

import pint
import pytest
import ucumvert

from models.units import UNITS, UnitError, convert, unit

EXACT = [
    # UCUM 2.2: [in_i] = 2.54 cm; [mil_i] = 0.001 [in_i]
    ("1", "[in_i]", "mm", "25.4"),
    ("1", "[mil_i]", "mm", "0.0254"),
    ("0.03125", "[in_i]", "mm", "0.79375"),
    ("0.0005", "[in_i]", "mm", "0.0127"),
    ("0.005", "[in_i]", "mm", "0.127"),
    ("0.030", "[in_i]", "mm", "0.762"),
    ("0.060", "[in_i]", "mm", "1.524"),
    ("0.090", "[in_i]", "mm", "2.286"),
    ("0.125", "[in_i]", "mm", "3.175"),
    ("0.1875", "[in_i]", "mm", "4.7625"),
    # UCUM 2.2: [lb_av] = 7000 gr of 64.79891 mg, [g] = 9.80665 m/s2
    ("1", "[ft_i].[lbf_av]", "N.m", "1.3558179483314004"),
    ("1", "[in_i].[lbf_av]", "N.m", "0.1129848290276167"),
    # the two zero points of the temperature scales
    ("212", "[degF]", "Cel", "100"),
    ("401", "[degF]", "Cel", "205"),
    ("284", "[degF]", "Cel", "140"),
    ("-40", "[degF]", "Cel", "-40"),
    ("260", "Cel", "[degF]", "500"),
    # FMVSS 116 boiling points, whose published pairs are whole numbers in both scales
    ("205", "Cel", "[degF]", "401"),
    ("140", "Cel", "[degF]", "284"),
    ("230", "Cel", "[degF]", "446"),
    ("155", "Cel", "[degF]", "311"),
    ("180", "Cel", "[degF]", "356"),
    # metric forms of limits in inches
    ("0.046875", "[in_i]", "mm", "1.190625"),
    ("0.0625", "[in_i]", "mm", "1.5875"),
    ("0.25", "[in_i]", "mm", "6.35"),
    ("0.375", "[in_i]", "mm", "9.525"),
    ("0.5", "[in_i]", "mm", "12.7"),
    ("0.3125", "[in_i]", "mm", "7.9375"),
    ("2", "[in_i]", "mm", "50.8"),
    ("2.25", "[in_i]", "mm", "57.15"),
    ("2.5", "[in_i]", "mm", "63.5"),
    ("2.75", "[in_i]", "mm", "69.85"),
    ("0.001", "[in_i]", "mm", "0.0254"),
]

ROUNDED = [
    ("15", "[psi]", "kPa", "103.4214"),
    ("16", "[psi]", "kPa", "110.3161"),
    ("18", "[psi]", "kPa", "124.1056"),
    ("20", "[psi]", "kPa", "137.8951"),
    ("80", "[psi]", "kPa", "551.5806"),
    ("90", "[psi]", "kPa", "620.5282"),
    ("195", "[degF]", "Cel", "90.5556"),
    ("100", "[ft_i].[lbf_av]", "N.m", "135.5818"),
]


@pytest.mark.parametrize(("value", "source", "target", "expected"), EXACT)
def test_exact_vectors(value, source, target, expected):
    assert convert(Decimal(value), source, target) == Fraction(Decimal(expected))


@pytest.mark.parametrize(("value", "source", "target", "expected"), ROUNDED)
def test_rounded_vectors(value, source, target, expected):
    assert abs(convert(Decimal(value), source, target) - Fraction(Decimal(expected))) <= Fraction(1, 20_000)


def test_one_psi_to_all_published_digits():
    # UCUM 2.2: [psi] = [lbf_av]/[in_i]2 = 6894.757293168361336722673... Pa
    assert int(convert(Decimal(1), "[psi]", "kPa") * 10**24) == 6894757293168361336722673


def test_one_pound_of_force_to_all_published_digits():
    # UCUM 2.2: [lbf_av] = [lb_av].[g] = 4.4482216152605 N; a foot is 0.3048 m, an inch 0.0254 m
    newton = Fraction(Decimal("4.4482216152605"))
    assert convert(Decimal(1), "[ft_i].[lbf_av]", "N.m") / Fraction(Decimal("0.3048")) == newton
    assert convert(Decimal(1), "[in_i].[lbf_av]", "N.m") / Fraction(Decimal("0.0254")) == newton
    # [psi] = [lbf_av]/[in_i]2, here in kilopascals
    assert convert(Decimal(1), "[psi]", "kPa") == newton / Fraction(Decimal("0.0254")) ** 2 / 1000


@pytest.mark.parametrize(
    ("code", "dimension", "size"),
    [
        ("min", "time", "60"),  # UCUM 2.2: min is a minute of time; one of arc is '
        ("h", "time", "3600"),  # [h] is another thing
        ("[mi_i]", "distance", "1.609344"),  # the mile, in kilometers
        ("[mil_i]", "length", "0.0254"),  # a thousandth of an inch, in millimeters
        ("deg", "angle", "1"),
        ("%", "fraction", "1"),
    ],
)
def test_codes_that_are_taken_for_one_another(code, dimension, size):
    assert (unit(code).dimension, unit(code).factor) == (dimension, Fraction(Decimal(size)))


def test_a_code_of_the_same_dimension_in_ucum_is_still_another_quantity():
    # UCUM 2.2 gives N.m and J one dimension; a record knows torque only
    assert unit("N.m").dimension == unit("[ft_i].[lbf_av]").dimension == "torque"
    with pytest.raises(UnitError, match="is not a unit that records use"):
        unit("J")


def test_a_difference_of_15_degf_is_8_33_kelvin_and_not_minus_9_44_celsius():
    assert convert(Decimal(15), "[degF]", "Cel", difference=True) == Fraction(25, 3)
    assert round(float(convert(Decimal(15), "[degF]", "Cel")), 2) == -9.44


def test_a_split_of_14_degf_is_7_78_kelvin():
    assert convert(Decimal(14), "[degF]", "Cel", difference=True) == Fraction(70, 9)


@pytest.mark.parametrize(
    "code",
    [
        "in",
        "[in_us]",
        "[in_br]",
        "[mil_us]",
        "[mi_us]",
        "degF",
        "degC",
        "PSI",
        "psi",
        "KPAL",
        "kpa",
        "[h]",
        "'",
    ],
)
def test_codes_that_look_like_the_unit_and_are_another_are_refused(code):
    # UCUM 2.2: [in_us] and [in_br] differ from [in_i]; [h] is Planck's constant; codes are case-sensitive
    with pytest.raises(UnitError, match="is not a unit that records use"):
        unit(code)


PINT_NAMES = {
    "um": "micrometer",
    "mm": "millimeter",
    "cm": "centimeter",
    "m": "meter",
    "[in_i]": "inch",
    "[mil_i]": "thou",  # pint's own "mil" is an angle
    "[ft_i]": "foot",
    "[mi_i]": "mile",
    "km": "kilometer",
    "[psi]": "psi",
    "kPa": "kilopascal",
    "bar": "bar",
    "s": "second",
    "min": "minute",
    "h": "hour",
    "a": "julian_year",
    "V": "volt",
    "mV": "millivolt",
    "A": "ampere",
    "mA": "milliampere",
    "mOhm": "milliohm",
    "Ohm": "ohm",
    "kOhm": "kiloohm",
    "[ft_i].[lbf_av]": "foot * force_pound",
    "[in_i].[lbf_av]": "inch * force_pound",
    "N.m": "newton * meter",
    "%": "percent",
    "deg": "degree",
    "Cel": "degC",
    "[degF]": "degF",
}


@pytest.fixture(scope="module")
def pint_units():
    return pint.UnitRegistry(non_int_type=Fraction)


@pytest.mark.parametrize("source", sorted(UNITS))
def test_every_unit_agrees_exactly_with_pint(source, pint_units):
    for target in UNITS:
        if unit(source).dimension == unit(target).dimension:
            theirs = pint_units.Quantity(Fraction(137, 8), PINT_NAMES[source]).to(PINT_NAMES[target])
            assert convert(Fraction(137, 8), source, target) == theirs.magnitude


@pytest.fixture(scope="module")
def ucum():
    return ucumvert.PintUcumRegistry()


@pytest.mark.parametrize("code", sorted(set(UNITS) - {"Cel", "[degF]"}))
def test_every_code_is_a_ucum_code_of_the_same_size(code, ucum):
    # ucumvert parses UCUM by its own grammar; float arithmetic, hence the tolerance
    base = next(c for c, u in UNITS.items() if u.dimension == unit(code).dimension and u.factor == 1)
    theirs = ucum.from_ucum(code).to(ucum.from_ucum(base).units).magnitude
    theirs /= ucum.from_ucum(base).magnitude
    assert float(unit(code).factor) == pytest.approx(float(theirs), rel=1e-12)
