"""Units of measure: UCUM codes and exact conversion.

The codes and definitions are those of the Unified Code for Units of Measure, version 2.2
(``[in_i]`` = 2.54 cm, ``[lb_av]`` = 0.45359237 kg, standard gravity 9.80665 m/s2). Arithmetic is done in
fractions, so that a value never moves across a limit because of how it was written.
"""

from decimal import Decimal
from fractions import Fraction
from functools import lru_cache

from pydantic import ConfigDict

from models.frozen import Frozen

_INCH = Fraction(254, 10)
_POUND_FORCE = Fraction(45359237, 10**8) * Fraction(980665, 10**5)  # newton


class Unit(Frozen):
    """One unit: ``base = (value + offset) * factor`` of its dimension.

    Attributes:
        code: UCUM code.
        dimension: what kind of quantity it measures.
        factor: size in the dimension's base unit (mm, kPa, s, V, A, Ohm, N.m, K, km, deg, %, a).
        offset: added before scaling; only temperature scales have one.
        words: how a person writes it.
    """

    model_config = ConfigDict(arbitrary_types_allowed=True)

    code: str
    dimension: str
    factor: Fraction
    offset: Fraction = Fraction(0)
    words: str


def _units() -> dict[str, Unit]:
    psi = _POUND_FORCE / (Fraction(254, 10**4) ** 2) / 1000
    rows: list[tuple[str, str, Fraction, str]] = [
        ("um", "length", Fraction(1, 1000), "µm"),
        ("mm", "length", Fraction(1), "mm"),
        ("cm", "length", Fraction(10), "cm"),
        ("m", "length", Fraction(1000), "m"),
        ("[in_i]", "length", _INCH, "in"),
        ("[mil_i]", "length", _INCH / 1000, "thousandths of an inch"),
        ("[ft_i]", "length", _INCH * 12, "ft"),
        ("[mi_i]", "distance", Fraction(1609344, 10**6), "mi"),
        ("km", "distance", Fraction(1), "km"),
        ("[psi]", "pressure", psi, "psi"),
        ("kPa", "pressure", Fraction(1), "kPa"),
        ("bar", "pressure", Fraction(100), "bar"),
        ("s", "time", Fraction(1), "s"),
        ("min", "time", Fraction(60), "min"),
        ("h", "time", Fraction(3600), "h"),
        ("a", "age", Fraction(1), "years"),
        ("V", "voltage", Fraction(1), "V"),
        ("mV", "voltage", Fraction(1, 1000), "mV"),
        ("A", "current", Fraction(1), "A"),
        ("mA", "current", Fraction(1, 1000), "mA"),
        ("mOhm", "resistance", Fraction(1, 1000), "mΩ"),
        ("Ohm", "resistance", Fraction(1), "Ω"),
        ("kOhm", "resistance", Fraction(1000), "kΩ"),
        ("[ft_i].[lbf_av]", "torque", _POUND_FORCE * Fraction(3048, 10**4), "lbf·ft"),
        ("[in_i].[lbf_av]", "torque", _POUND_FORCE * Fraction(254, 10**4), "lbf·in"),
        ("N.m", "torque", Fraction(1), "N·m"),
        ("%", "fraction", Fraction(1), "%"),
        ("deg", "angle", Fraction(1), "°"),
    ]
    table = {code: Unit(code=code, dimension=dim, factor=f, words=w) for code, dim, f, w in rows}
    table["Cel"] = Unit(
        code="Cel", dimension="temperature", factor=Fraction(1), offset=Fraction(27315, 100), words="°C"
    )
    table["[degF]"] = Unit(
        code="[degF]", dimension="temperature", factor=Fraction(5, 9), offset=Fraction(45967, 100), words="°F"
    )
    return table


UNITS = _units()


class UnitError(ValueError):
    """A unit is unknown, or two units do not measure the same kind of quantity."""


def unit(code: str) -> Unit:
    """The unit of a UCUM code.

    Raises:
        UnitError: the code is not one that records use.
    """
    try:
        return UNITS[code]
    except KeyError:
        raise UnitError(f"'{code}' is not a unit that records use; known: {', '.join(UNITS)}") from None


def to_base(value: Decimal | Fraction, code: str, *, difference: bool = False) -> Fraction:
    """The exact value in the base unit of its dimension.

    Args:
        value: number in the given unit.
        code: UCUM code.
        difference: the value is a difference of two temperatures, so the scale's zero does not count.
    """
    u = unit(code)
    offset = Fraction(0) if difference else u.offset
    return (Fraction(value) + offset) * u.factor


@lru_cache(maxsize=1024)
def _steps(source: str, target: str) -> tuple[Fraction, Fraction, Fraction]:
    """The ratio of two units of one dimension, what is added before it and what is taken away after it."""
    a, b = unit(source), unit(target)
    if a.dimension != b.dimension:
        raise UnitError(f"{source} and {target} do not measure the same kind of quantity")
    return a.factor / b.factor, a.offset, b.offset


def convert(value: Decimal | Fraction, source: str, target: str, *, difference: bool = False) -> Fraction:
    """The exact value in another unit of the same dimension.

    Raises:
        UnitError: the units measure different kinds of quantity.
    """
    ratio, before, after = _steps(source, target)
    exact = value if isinstance(value, Fraction) else Fraction(value)
    if difference or not (before or after):
        return exact if ratio == 1 else exact * ratio
    return (exact + before) * ratio - after


def dimension_fits(measure_dimension: str, code: str) -> bool:
    """Whether a unit can carry a measure; a temperature difference is written in a temperature's unit."""
    kind = "temperature" if measure_dimension == "temperature_difference" else measure_dimension
    return unit(code).dimension == kind


def plain(value: Decimal | Fraction, places: int = 4) -> str:
    """A number as a person writes it: no exponent, no trailing zeros, halves rounded to even.

    Args:
        value: any exact number.
        places: decimals kept at most.
    """
    top, bottom = value.as_integer_ratio()
    scaled, rest = divmod(top * 10**places, bottom)
    if 2 * rest > bottom or (2 * rest == bottom and scaled % 2):
        scaled += 1
    whole, part = divmod(abs(scaled), 10**places)
    digits = f"{part:0{places}d}".rstrip("0") if places else ""
    sign = "-" if scaled < 0 else ""
    return f"{sign}{whole}.{digits}" if digits else f"{sign}{whole}"
