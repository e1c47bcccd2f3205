"""Whether what was said and what a display shows are the same value."""

import re
from decimal import Decimal
from fractions import Fraction
from typing import Literal, NamedTuple

from models.display import DisplayReading
from models.record import Reading
from models.units import UNITS, convert, unit

Agreement = Literal["same", "flicker", "differs"]

# Rounding may not move a value further than this share of it: "one" is no rounding of 1.4.
ROUNDING_SHARE = Fraction(1, 10)
# A last digit that jumps while one looks may differ by one step, if that step is this small a share.
FLICKER_SHARE = Fraction(1, 200)
# A display read with less than this is not sure enough to confirm or to overrule anything.
SURE = 0.9

# Recognisers write "thirty thousandths" as "30,000ths" and "three sixteenths" as "316ths".
_THOUSANDTHS = re.compile(r"\b(thou|thousandths?|mils?)\b|000\s?'?th")
_FRACTION_WORDS = re.compile(
    r"\d\s*/\s*\d|\d(nd|rd|th)s?\b|\b(half|halves|quarters?|eighths?|sixteenths?|seconds?)\b"
)


class Shown(NamedTuple):
    """A number on a display.

    Attributes:
        value: the number.
        unit: UCUM code; None when it could not be seen.
    """

    value: Decimal
    unit: str | None


def is_sure(display: DisplayReading) -> bool:
    """Whether a display's reading may confirm or overrule what was heard."""
    return display.reason is None and display.confidence >= SURE


def comparable(reading: Reading, shown_unit: str | None) -> bool:
    """Whether the two can be values of one quantity; an unseen unit is taken to be the spoken one."""
    if reading.unit not in UNITS:
        return False
    return shown_unit is None or (
        shown_unit in UNITS and unit(shown_unit).dimension == unit(reading.unit).dimension
    )


def _decimal_step(value: Decimal) -> Fraction:
    exponent = value.as_tuple().exponent
    return Fraction(10) ** min(exponent if isinstance(exponent, int) else 0, 0)


def spoken_step(reading: Reading) -> Fraction:
    """The last place that a spoken value claims, in its own unit.

    Decimals claim their last one, inch fractions their denominator ("seven thirty-seconds" claims 1/32), and
    thousandths are thousandths even where the value lost a trailing zero.
    """
    value = Fraction(reading.value)
    words = reading.as_given.casefold()
    step = _decimal_step(reading.value)
    if reading.unit == "[in_i]" and _THOUSANDTHS.search(words):
        return min(step, Fraction(1, 1000))
    if reading.unit == "[in_i]" and _FRACTION_WORDS.search(words) and 64 % value.denominator == 0:
        return Fraction(1, value.denominator)
    return step


def _rounds_to(value: Fraction, target: Fraction, step: Fraction) -> bool:
    """Whether a value rounds to the target at this step; a value half-way rounds to both neighbours."""
    return abs(value - target) <= step / 2


def agreement(reading: Reading, shown: Shown) -> Agreement:
    """How a spoken reading and a display relate; they must be comparable.

    The same: one is a rounding of the other, at the display's last digit or at the last place that was said.
    Flicker: they differ by one step of the display's last digit, and that step is small.
    """
    said_unit = reading.unit
    shown_unit = shown.unit or said_unit
    said, seen = Fraction(reading.value), Fraction(shown.value)
    said_there, seen_here = convert(said, said_unit, shown_unit), convert(seen, shown_unit, said_unit)
    apart, size = abs(said_there - seen), max(abs(said_there), abs(seen))
    if apart == 0:
        return "same"
    step = _decimal_step(shown.value)
    rounds = _rounds_to(said_there, seen, step) or _rounds_to(seen_here, said, spoken_step(reading))
    if rounds and apart <= ROUNDING_SHARE * size:
        return "same"
    return "flicker" if apart <= step and apart <= FLICKER_SHARE * size else "differs"


def _digits(value: Decimal) -> str:
    return "".join(map(str, value.as_tuple().digits)).strip("0")


def slip(reading: Reading, shown: Shown) -> str | None:
    """What kind of mistake would turn one value into the other; None when it is none of the usual ones."""
    said, seen = reading.value, shown.value
    if shown.unit not in (None, reading.unit) and said == seen:
        return "the number is the same, the unit is not"
    if said != seen and _digits(said) and _digits(said) == _digits(seen):
        return "the digits are the same, the decimal point or the sign is not"
    low, high = sorted((int(abs(said)), int(abs(seen))))
    if 13 <= low <= 19 and high == (low - 10) * 10:
        return f"{low} and {high} sound alike"
    return None


def relative_difference(reading: Reading, shown: Shown) -> float:
    """How far apart they are, as a share of the larger one (0 to 2)."""
    said = convert(Fraction(reading.value), reading.unit, shown.unit or reading.unit)
    size = max(abs(said), abs(Fraction(shown.value)))
    return float(abs(said - Fraction(shown.value)) / size) if size else 0.0
