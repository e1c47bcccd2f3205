"""The small drawn scale: readings against what is allowed.

Only geometry is worked out here, in the units of the drawing (360 wide); the page draws it. Readings that are
held against the same limit share one axis, drawn once for the page, so that they can be compared at a glance
and the page stays light; each adds its own pointer. What lies beyond a limit is hatched, so that nothing
depends on colour. The drawing says nothing that does not stand beside it in words.
"""

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction
from math import ceil, floor, log10
from statistics import median
from typing import NamedTuple

from models.frozen import Frozen
from models.record import Finding, Reading
from models.units import UnitError, convert
from pipelines.review.words import trimmed, unit_words, value_words

WIDTH = 360.0
MARGIN = 14.0
_LABEL = 16.0
"""Half the width of a number under the axis."""
_FAR = 4
"""A reading that lies this many times farther from the limit than most has an axis of its own."""


class Mark(Frozen):
    """A place on the scale.

    Attributes:
        x: in the units of the drawing.
        label: what is written there; empty for nothing.
        anchor: how the label lies to ``x``: start, middle or end.
    """

    x: float
    label: str
    anchor: str = "middle"


class Stretch(Frozen):
    """A part of the scale, in the units of the drawing."""

    x: float
    width: float


class Axis(Frozen):
    """What is drawn once for all readings held against one limit.

    Attributes:
        limits: where the ends of what is allowed stand.
        allowed: the ends of what is allowed, and where to write them.
        beyond: the stretches outside what is allowed.
        ticks: round numbers along the axis, the last with the unit.
    """

    limits: tuple[float, ...]
    allowed: Mark
    beyond: tuple[Stretch, ...]
    ticks: tuple[Mark, ...]


class Pointer(Frozen):
    """Where a reading stands.

    Attributes:
        axis: place of its axis in ``Scales.axes``.
        reading: where the reading stands; its label only when it was not given in the axis' unit.
    """

    axis: int
    reading: Mark


class Scales(Frozen):
    """The drawings of a page: axes, and finding id -> pointer for what has a number and a limit."""

    axes: tuple[Axis, ...]
    pointers: dict[str, Pointer]


class _Bounds(NamedTuple):
    """What is allowed: low and high end with their digits, the unit, and whether it is said in 32nds."""

    low: Decimal | None
    high: Decimal | None
    unit: str
    thirty_seconds: bool

    def ends(self) -> list[Fraction]:
        return [Fraction(end) for end in (self.low, self.high) if end is not None]

    def words(self) -> str:
        """The ends alone: whether one is itself allowed stands in the sentence of the limit."""
        measure = "tread_depth" if self.thirty_seconds else ""
        low, high = (
            None if end is None else value_words(trimmed(end), self.unit, measure)
            for end in (self.low, self.high)
        )
        if low is not None and high is not None:
            return f"limits: {low} and {high}"
        return f"limit: {high if low is None else low}"


class _Reading(NamedTuple):
    finding: str
    value: Fraction
    reading: Reading


def scales(findings: Sequence[Finding]) -> Scales:
    """The scales of some findings; there is none where there is no number or no limit to draw it against."""
    groups: dict[_Bounds, list[_Reading]] = {}
    for finding in findings:
        bounds = _bounds(finding)
        value = _in_bounds_unit(finding.reading, bounds.unit) if finding.reading and bounds else None
        if finding.reading is not None and bounds is not None and value is not None:
            groups.setdefault(bounds, []).append(_Reading(finding.id, value, finding.reading))
    axes: list[Axis] = []
    pointers: dict[str, Pointer] = {}
    for bounds, members in groups.items():
        for together in _comparable(members, bounds.ends()):
            domain = _domain([*(m.value for m in together), *bounds.ends()])
            for member in together:
                pointers[member.finding] = _pointer(member, domain, bounds, len(axes))
            axes.append(_axis(domain, bounds))
    return Scales(axes=tuple(axes), pointers=pointers)


def _bounds(finding: Finding) -> _Bounds | None:
    verdict = finding.verdict
    if finding.reading is None or verdict is None or not verdict.bounds or verdict.bounds_unit is None:
        return None
    low, high = verdict.bounds
    in_32nds = finding.reading.measure == "tread_depth" and verdict.bounds_unit == "[in_i]"
    return None if low is None and high is None else _Bounds(low, high, verdict.bounds_unit, in_32nds)


def _in_bounds_unit(reading: Reading, unit: str) -> Fraction | None:
    try:
        return convert(reading.value, reading.unit, unit, difference=reading.measure == "temperature_split")
    except UnitError:
        return None


def _comparable(members: list[_Reading], ends: list[Fraction]) -> list[list[_Reading]]:
    """Readings that can share an axis; one that lies far off would squeeze the others together."""
    away = [float(min(abs(member.value - end) for end in ends)) for member in members]
    farthest = _FAR * median(away)
    near = [member for member, far in zip(members, away, strict=True) if far <= farthest]
    return [near, *([member] for member, far in zip(members, away, strict=True) if far > farthest)]


def _domain(points: list[Fraction]) -> tuple[Fraction, Fraction]:
    low, high = min(points), max(points)
    span = (high - low) or abs(high) or Fraction(1)
    left, right = low - span * Fraction(3, 10), high + span * Fraction(3, 10)
    if low >= 0 and (left < 0 or low <= 2 * span):
        left = Fraction(0) if low > 0 else -span / 20
    return left, right


def _x(point: Fraction, domain: tuple[Fraction, Fraction]) -> float:
    left, right = domain
    return round(MARGIN + float((point - left) / (right - left)) * (WIDTH - 2 * MARGIN), 1)


def _anchor(x: float) -> str:
    return "start" if x < WIDTH * 0.22 else "end" if x > WIDTH * 0.78 else "middle"


def _pointer(member: _Reading, domain: tuple[Fraction, Fraction], bounds: _Bounds, axis: int) -> Pointer:
    reading = member.reading
    label = "" if reading.unit == bounds.unit else value_words(reading.value, reading.unit, reading.measure)
    x = _x(member.value, domain)
    return Pointer(axis=axis, reading=Mark(x=x, label=label, anchor=_anchor(x)))


def _axis(domain: tuple[Fraction, Fraction], bounds: _Bounds) -> Axis:
    left, right = MARGIN, WIDTH - MARGIN
    low, high = (None if e is None else _x(Fraction(e), domain) for e in (bounds.low, bounds.high))
    beyond = []
    if low is not None:
        beyond.append(Stretch(x=left, width=round(low - left, 1)))
    if high is not None:
        beyond.append(Stretch(x=high, width=round(right - high, 1)))
    limits = tuple(end for end in (low, high) if end is not None)
    middle = round(sum(limits) / len(limits), 1)
    return Axis(
        limits=limits,
        allowed=Mark(x=middle, label=bounds.words(), anchor=_anchor(middle)),
        beyond=tuple(beyond),
        ticks=_beside(_ticks(domain, bounds), limits),
    )


def _beside(ticks: tuple[Mark, ...], limits: tuple[float, ...]) -> tuple[Mark, ...]:
    """The ticks, those without a number where the line of a limit would cross it."""
    near = (any(abs(tick.x - limit) < _LABEL for limit in limits) for tick in ticks)
    return tuple(t.model_copy(update={"label": ""}) if n else t for t, n in zip(ticks, near, strict=True))


def _ticks(domain: tuple[Fraction, Fraction], bounds: _Bounds) -> tuple[Mark, ...]:
    parts = 32 if bounds.thirty_seconds else 1  # numbers that are said in 32nds are drawn in 32nds
    left, right = domain[0] * parts, domain[1] * parts
    rough = float(right - left) / 5
    power = floor(log10(rough))
    step = next(Fraction(m) * Fraction(10) ** power for m in (1, 2, 5, 10) if m * 10.0**power >= rough)
    places = [step * n for n in range(ceil(left / step), floor(right / step) + 1)]
    unit = f"/32 {unit_words(bounds.unit)}" if parts > 1 else f" {unit_words(bounds.unit)}"
    last = len(places) - 1
    return tuple(
        Mark(x=_x(place / parts, domain), label=f"{float(place):.5g}{unit if n == last else ''}")
        for n, place in enumerate(places)
    )
