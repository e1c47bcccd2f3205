"""Values and the ends of limits on one line, so that comparing them is comparing places on it.

A reading's unit and the limits' units may all differ. Every end is put into the base unit of its dimension
once and the ends are sorted; a value is then looked up among them, and each limit only compares places.
Numbers stay exact: the ends are whole numbers over one common denominator.
"""

from bisect import bisect_left
from collections.abc import Iterable
from fractions import Fraction
from math import lcm
from typing import NamedTuple

from models.limits import Limit
from models.record import VerdictWord
from models.units import to_base, unit
from pipelines.judging.checks import rim_arc

_FAR = 1 << 62


class Ruler:
    """Sorted marks. Mark ``i`` is place ``2 i + 1``; what lies between it and the mark before is ``2 i``.

    Args:
        marks: in the base unit of their dimension.
        difference: the values are differences of temperatures.
    """

    def __init__(self, marks: Iterable[Fraction], *, difference: bool = False) -> None:
        ordered = sorted(set(marks))
        self._common = lcm(*(m.denominator for m in ordered))
        self._marks = [self._whole(m) for m in ordered]
        self._difference = difference
        self._steps: dict[str, tuple[int, int, int]] = {}

    def place(self, value: Fraction, code: str) -> int:
        """Where a value in some unit of the dimension lies.

        Raises:
            UnitError: the unit is not one that records use.
        """
        if code not in self._steps:
            self._steps[code] = self._step(code)
        scale, zero, divisor = self._steps[code]
        top, bottom = value.as_integer_ratio()
        whole, rest = divmod(top * scale + bottom * zero, bottom * divisor)
        index = bisect_left(self._marks, whole)
        if index < len(self._marks) and self._marks[index] == whole:
            return 2 * index + (2 if rest else 1)
        return 2 * index

    def mark(self, value: Fraction) -> int:
        """The place of a mark that was given (base unit)."""
        return 2 * bisect_left(self._marks, self._whole(value)) + 1

    def _whole(self, mark: Fraction) -> int:
        return mark.numerator * (self._common // mark.denominator)

    def _step(self, code: str) -> tuple[int, int, int]:
        """Whole numbers a, b, c: ``top / bottom`` units count as ``(top a + bottom b) / (bottom c)``."""
        size = unit(code)
        factor = size.factor * self._common
        zero = Fraction(0) if self._difference else size.offset * factor
        divisor = lcm(factor.denominator, zero.denominator)
        return int(factor * divisor), int(zero * divisor), divisor


class Ends(NamedTuple):
    """The ends of a limit in the base unit of its dimension; None where there is none."""

    low: Fraction | None
    high: Fraction | None
    near_low: Fraction | None
    near_high: Fraction | None
    low_included: bool
    high_included: bool

    @property
    def marks(self) -> tuple[Fraction, ...]:
        """Those that there are."""
        return tuple(m for m in self[:4] if m is not None)


def ends_of(limit: Limit, wheel_in: Fraction | None, *, difference: bool = False) -> Ends | None:
    """The ends of a limit; None when there is no number to compare with.

    Args:
        limit: one rule.
        wheel_in: diameter of the steering wheel (inches), for limits that are angles of its turn.
        difference: the limit is on a difference of temperatures.
    """
    rim = wheel_in if wheel_in is not None and wheel_in > 0 else None
    if limit.undefined is not None or (limit.rim_angle and rim is None):
        return None

    def base(value: Fraction | None) -> Fraction | None:
        if value is None:
            return None
        if limit.rim_angle and rim is not None:
            return to_base(*rim_arc(value, rim))
        return to_base(value, limit.unit, difference=difference)

    low, high = limit.low, limit.high
    return Ends(
        low=base(None if low is None else low.value),
        high=base(None if high is None else high.value),
        near_low=base(None if low is None else limit.near_low),
        near_high=base(None if high is None else limit.near_high),
        low_included=low is not None and low.included,
        high_included=high is not None and high.included,
    )


class Reach(NamedTuple):
    """What a limit allows, as places on a ruler.

    Attributes:
        least: lowest place that is allowed.
        most: highest place that is allowed.
        near_low: allowed places up to here are near the limit.
        near_high: allowed places from here on are near the limit.
    """

    least: int
    most: int
    near_low: int
    near_high: int

    def word(self, place: int) -> VerdictWord:
        """What the limit says of a value at a place."""
        if place < self.least or place > self.most:
            return "beyond limit"
        return "near limit" if place <= self.near_low or place >= self.near_high else "within limit"


def reach(ends: Ends, ruler: Ruler) -> Reach:
    """What a limit allows, on a ruler that has its ends among its marks."""
    return Reach(
        least=-1 if ends.low is None else ruler.mark(ends.low) + (not ends.low_included),
        most=_FAR if ends.high is None else ruler.mark(ends.high) - (not ends.high_included),
        near_low=-1 if ends.near_low is None else ruler.mark(ends.near_low),
        near_high=_FAR if ends.near_high is None else ruler.mark(ends.near_high),
    )
