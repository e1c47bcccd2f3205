"""The small drawn scale: a reading against what is allowed.

Only geometry is worked out here, in the units of the drawing (360 wide); the page draws it. What lies beyond
a limit is hatched, so that nothing depends on colour.
"""

from decimal import Decimal
from fractions import Fraction
from functools import lru_cache
from math import ceil, floor, log10

from models.frozen import Frozen
from models.record import Finding, Reading, Verdict
from models.units import UnitError, convert
from pipelines.review.words import trimmed, unit_words, value_words

WIDTH = 360.0
MARGIN = 14.0


class Mark(Frozen):
    """A place on the scale.

    Attributes:
        x: in the units of the drawing.
        label: what is written there.
        anchor: how the label lies to ``x``: start, middle or end.
    """

    x: float
    label: str
    anchor: str = "middle"


class Stretch(Frozen):
    """A part of the scale, in the units of the drawing."""

    x: float
    width: float


class Scale(Frozen):
    """Everything that is drawn.

    Attributes:
        reading: where the reading stands.
        limits: where the ends of what is allowed stand.
        allowed: what is allowed, in a few words, and where to write it.
        beyond: the stretches outside what is allowed.
        ticks: round numbers along the axis.
        words: the drawing in a sentence, for those who do not see it.
    """

    reading: Mark
    limits: tuple[float, ...]
    allowed: Mark
    beyond: tuple[Stretch, ...]
    ticks: tuple[Mark, ...]
    words: str


def _anchor(x: float) -> str:
    return "start" if x < WIDTH * 0.22 else "end" if x > WIDTH * 0.78 else "middle"


def _number(value: Fraction) -> str:
    return f"{float(value):.5g}"


def _domain(points: list[Fraction]) -> tuple[Fraction, Fraction]:
    low, high = min(points), max(points)
    span = (high - low) or abs(high) or Fraction(1)
    left, right = low - span * Fraction(3, 10), high + span * Fraction(3, 10)
    if low >= 0 and (left < 0 or low <= 2 * span):
        left = Fraction(0) if low > 0 else -span / 20
    return left, right


def _ticks(left: Fraction, right: Fraction) -> list[Fraction]:
    rough = float(right - left) / 5
    power = floor(log10(rough))
    step = next(Fraction(m) * Fraction(10) ** power for m in (1, 2, 5, 10) if m * 10.0**power >= rough)
    return [step * n for n in range(ceil(left / step), floor(right / step) + 1)]


def _in_bounds_unit(reading: Reading, unit: str) -> Fraction | None:
    try:
        return convert(reading.value, reading.unit, unit, difference=reading.measure == "temperature_split")
    except UnitError:
        return None


def _allowed(verdict: Verdict, unit: str, measure: str) -> str:
    low, high = verdict.bounds or (None, None)
    if low is not None and high is not None:
        return f"{value_words(trimmed(low), unit, measure)} to {value_words(trimmed(high), unit, measure)}"
    if low is not None:
        return f"at least {value_words(trimmed(low), unit, measure)}"
    return f"at most {value_words(trimmed(high or Decimal(0)), unit, measure)}"


def scale_of(finding: Finding) -> Scale | None:
    """The scale of a finding; None when there is no number or no limit to draw it against."""
    if finding.reading is None or finding.verdict is None:
        return None
    # Numbers that are equal but not written alike (6.0, 6.00) have drawings of their own.
    return _drawn(finding.reading, finding.verdict, f"{finding.reading.value} {finding.verdict.bounds}")


@lru_cache(maxsize=4096)
def _drawn(reading: Reading, verdict: Verdict, digits: str) -> Scale | None:
    """The same drawing is asked for with every page: it is kept."""
    unit = verdict.bounds_unit
    if verdict.bounds is None or unit is None:
        return None
    value = _in_bounds_unit(reading, unit)
    low, high = (None if end is None else Fraction(end) for end in verdict.bounds)
    if value is None or (low is None and high is None):
        return None
    left, right = _domain([point for point in (value, low, high) if point is not None])

    def x(point: Fraction) -> float:
        share = float((point - left) / (right - left))
        return round(MARGIN + share * (WIDTH - 2 * MARGIN), 1)

    beyond = []
    if low is not None:
        beyond.append(Stretch(x=x(left), width=round(x(low) - x(left), 1)))
    if high is not None:
        beyond.append(Stretch(x=x(high), width=round(x(right) - x(high), 1)))
    limits = tuple(x(end) for end in (low, high) if end is not None)
    middle = round(sum(limits) / len(limits), 1)
    given = value_words(reading.value, reading.unit, reading.measure)
    allowed = _allowed(verdict, unit, reading.measure)
    return Scale(
        reading=Mark(x=x(value), label=given, anchor=_anchor(x(value))),
        limits=limits,
        allowed=Mark(x=middle, label=f"allowed: {allowed}", anchor=_anchor(middle)),
        beyond=tuple(beyond),
        ticks=tuple(Mark(x=x(tick), label=_number(tick)) for tick in _ticks(left, right)),
        words=(
            f"Scale in {unit_words(unit)}: the reading is {given}; allowed is {allowed}. "
            f"{verdict.word.capitalize()}."
        ),
    )
