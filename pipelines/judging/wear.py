"""Wear over time: a reading against earlier signed records of the same truck."""

from collections.abc import Sequence
from datetime import datetime
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise
from math import ceil, floor, log10
from typing import Literal, NamedTuple

from models.limits.facts import PLAY_DIRECTIONS
from models.record import Finding, Odometer, Reading, Record, Wear, WearPer
from models.units import UNITS, convert, plain, unit

# Which way each measure goes as a part wears. What is not here is no wear: pressures, voltages, temperatures.
WEARS: dict[str, Literal[-1, 1]] = {
    "thickness": -1,
    "tread_depth": -1,
    "inside_diameter": 1,
    "thickness_variation": 1,
    "runout": 1,
    "free_play": 1,
    "play": 1,
    **dict.fromkeys(PLAY_DIRECTIONS, 1),
}
_LEAST_MILES = Fraction(100)
_LEAST_DAYS = Fraction(7)
_DAYS_A_MONTH = Fraction(36525, 1200)


class Point(NamedTuple):
    """One reading of one thing in time.

    Attributes:
        at: when the inspection began.
        miles: the odometer; None when it was not said.
        value: exact, in one unit for all points.
        step: the last place that the reading claims, in the same unit.
    """

    at: datetime
    miles: Fraction | None
    value: Fraction
    step: Fraction


class Pace(NamedTuple):
    """How fast something wears.

    Attributes:
        per: in thousands of miles, or in months.
        rate: from the first point to the last; positive when it wears.
        fastest: the fastest that two neighbouring points allow, their last places counted.
        slowest: the slowest likewise; 0 when they allow no wear at all.
    """

    per: WearPer
    rate: Fraction
    fastest: Fraction
    slowest: Fraction


def pace(points: Sequence[Point], way: Literal[-1, 1]) -> Pace | None:
    """The pace of wear over points in time; None when they lie too near together.

    Over miles where every point has a rising odometer, else over months.

    Args:
        points: two or more, oldest first.
        way: -1 when the value falls as the part wears, 1 when it rises.
    """
    miles = [p.miles for p in points if p.miles is not None]
    rising = len(miles) == len(points) and all(b - a >= _LEAST_MILES for a, b in pairwise(miles))
    days = [Fraction((p.at - points[0].at).total_seconds()) / 86400 for p in points]
    if not rising and any(b - a < _LEAST_DAYS for a, b in pairwise(days)):
        return None
    places = [m / 1000 for m in miles] if rising else [d / _DAYS_A_MONTH for d in days]
    rate = way * (points[-1].value - points[0].value) / (places[-1] - places[0])
    fastest, slowest = [], []
    for (a, x), (b, y) in pairwise(zip(points, places, strict=True)):
        worn, doubt = way * (b.value - a.value), (a.step + b.step) / 2
        fastest.append((worn + doubt) / (y - x))
        slowest.append((worn - doubt) / (y - x))
    per: WearPer = "1000 mi" if rising else "month"
    return Pace(per, rate, max(fastest), max(min(slowest), Fraction(0)))


def to_limit(left: Fraction, found: Pace) -> tuple[Fraction, Fraction | None] | None:
    """How far it is to the limit at the fastest and at the slowest pace; None when nothing wears.

    Args:
        left: what may still wear; positive.
        found: the pace.

    Returns:
        Thousands of miles or months, soonest and latest; the latest is None when no end can be told.
    """
    if found.fastest <= 0 or found.rate <= 0:
        return None
    return left / found.fastest, left / found.slowest if found.slowest > 0 else None


def since_changed(points: Sequence[Point], way: Literal[-1, 1]) -> list[Point]:
    """The points after the last step against the way of wear: a changed part there, or a wrong reading."""
    first = 0
    for place, (a, b) in enumerate(pairwise(points), start=1):
        if way * (b.value - a.value) < 0:
            first = place
    return list(points[first:])


def wear(now: Record, earlier: Sequence[Record]) -> tuple[Wear, ...]:
    """What has worn since earlier inspections.

    For each reading of a measure that wears: the change since the last one; with a distance or time between
    them a rate; with at least two earlier readings also how far it is to the limit, as a range.

    Args:
        now: a judged record.
        earlier: signed records of the same truck, in any order; those from after ``now`` do not count.
    """
    before = sorted(
        (r for r in earlier if r.inspection.started_at < now.inspection.started_at),
        key=lambda r: r.inspection.started_at,
    )
    own: dict[tuple[object, ...], list[Finding]] = {}
    for finding in _standing(now):
        own.setdefault(_key(finding), []).append(finding)
    found = []
    for same in own.values():
        reading = same[0].reading
        if len(same) == 1 and reading is not None and reading.measure in WEARS and reading.unit in UNITS:
            one = _of_finding(same[0], reading, now, before)
            found += [] if one is None else [one]
    return tuple(found)


def _standing(record: Record) -> list[Finding]:
    return [f for f in record.findings if f.component and (f.review is None or f.review.state != "rejected")]


def _key(finding: Finding) -> tuple[object, ...]:
    return finding.component, finding.position, finding.reading.measure if finding.reading else None


def _step(reading: Reading) -> Fraction:
    """The last place that a reading claims: its last decimal, or its fraction of an inch."""
    exponent = reading.value.as_tuple().exponent
    decimal = Fraction(10) ** (exponent if isinstance(exponent, int) else 0)
    value = Fraction(reading.value)
    if reading.unit == "[in_i]" and "/" in reading.as_given and 64 % value.denominator == 0:
        return Fraction(1, max(value.denominator, 32))
    return decimal


def _point(record: Record, reading: Reading, code: str) -> Point:
    odometer: Odometer | None = record.inspection.odometer
    miles = convert(Fraction(odometer.value), odometer.unit, "[mi_i]") if odometer is not None else None
    value = convert(Fraction(reading.value), reading.unit, code)
    step = convert(_step(reading), reading.unit, code)
    return Point(record.inspection.started_at, miles, value, step)


def _history(finding: Finding, code: str, before: Sequence[Record]) -> list[Point]:
    """Earlier readings of the same thing since it was last replaced, oldest first."""
    points: list[Point] = []
    for record in before:
        there = [f for f in _standing(record) if _key(f)[:2] == _key(finding)[:2]]
        same = [f.reading for f in there if f.reading is not None and _key(f) == _key(finding)]
        if any(f.action == "replace" for f in there):
            points = []
        elif len(same) == 1 and same[0].unit in UNITS:
            points.append(_point(record, same[0], code))
    return points


def _of_finding(finding: Finding, reading: Reading, now: Record, before: Sequence[Record]) -> Wear | None:
    history = _history(finding, reading.unit, before)
    if not history or finding.component is None:
        return None
    way, here = WEARS[reading.measure], _point(now, reading, reading.unit)
    last = history[-1]
    points = since_changed([*history, here], way)
    found = pace(points, way) if len(points) > 1 else None
    left = _left(finding, reading.unit, here.value, way)
    reach = to_limit(left, found) if found is not None and left and len(points) > 2 else None
    words = [_change_words(here, last, reading.unit)]
    if len(points) == 1:
        words.append("Wear does not do that: the part was changed, or one of the readings is wrong")
    elif found is not None:
        words.append(_pace_words(found, len(points), reading.unit))
        words += [] if reach is None else [_reach_words(reach, found.per)]
    return Wear(
        finding=finding.id,
        component=finding.component,
        position=finding.position,
        measure=reading.measure,
        value=reading.value,
        unit=reading.unit,
        since=last.at,
        change=_decimal(here.value - last.value),
        readings=len(points) - 1,
        rate=None if found is None else _decimal(way * found.rate),
        rate_per=None if found is None else found.per,
        limit_within=None if reach is None else (_outwards(reach[0], down=True), _later(reach[1])),
        sentence=" ".join(f"{w}." for w in words),
    )


def _left(finding: Finding, code: str, value: Fraction, way: Literal[-1, 1]) -> Fraction | None:
    """What may still wear until the limit that governs; None without one, or when it is reached."""
    verdict = finding.verdict
    if verdict is None or verdict.bounds is None or verdict.bounds_unit is None:
        return None
    bound = verdict.bounds[0 if way < 0 else 1]
    if bound is None:
        return None
    left = way * (convert(Fraction(bound), verdict.bounds_unit, code) - value)
    return left if left > 0 else None


def _decimal(value: Fraction) -> Decimal:
    return Decimal(plain(value, 6))


def _outwards(value: Fraction, *, down: bool) -> Decimal:
    """Two digits of a number of thousands of miles or of months, rounded to the outside of its range."""
    step = Fraction(10) ** (floor(log10(value)) - 1) if value > 0 else Fraction(1)
    return Decimal(plain((floor if down else ceil)(value / step) * step, 6))


def _later(value: Fraction | None) -> Decimal | None:
    return None if value is None else _outwards(value, down=False)


def _size(value: Fraction, code: str) -> str:
    words = unit(code).words
    return f"{plain(value)}{'' if words == '°' else ' '}{words}"


def _change_words(here: Point, last: Point, code: str) -> str:
    change = here.value - last.value
    when = f"{last.at:%Y-%m-%d}"
    if change == 0:
        return f"The same as on {when}"
    more = "more" if change > 0 else "less"
    return f"{_size(abs(change), code)} {more} than on {when} ({_size(last.value, code)})"


def _pace_words(found: Pace, readings: int, code: str) -> str:
    per = "1,000 miles" if found.per == "1000 mi" else "a month"
    return f"Over {readings} readings it wears {_size(max(found.rate, Fraction(0)), code)} in {per}"


def _reach_words(reach: tuple[Fraction, Fraction | None], per: WearPer) -> str:
    thousand = 1000 if per == "1000 mi" else 1
    name = "miles" if per == "1000 mi" else "months"
    soonest = f"{_outwards(reach[0], down=True) * thousand:,f}"
    latest = _later(reach[1])
    end = f"between {soonest} and {latest * thousand:,f}" if latest is not None else f"not before {soonest}"
    more = "" if latest is not None else ", and no latest can be told"
    return f"At that pace the limit is reached {end} {name} from now{more}"
