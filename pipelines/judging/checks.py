"""Calculations of the trade, each a pure function of exact numbers."""

from collections.abc import Sequence
from fractions import Fraction
from typing import NamedTuple

from models.limits.rules import PI
from models.units import convert, to_base

_INCH_PER_32ND = Fraction(1, 32)


class Amount(NamedTuple):
    """A number with its unit (UCUM code)."""

    value: Fraction
    unit: str


def lowest(points: Sequence[Amount]) -> int:
    """Index of the lowest of several thicknesses, which is the one that decides about a rotor.

    Source: a rotor is measured at several points round it and judged by the lowest (service procedure for
    disc brakes, in general use).
    """
    return min(range(len(points)), key=lambda i: to_base(points[i].value, points[i].unit))


def spread(points: Sequence[Amount]) -> Amount:
    """Highest less lowest, in the unit of the first: the thickness variation of a rotor.

    Source: definition of thickness variation (disc brake service manuals, 8 points round the rotor).
    """
    unit = points[0].unit
    values = [convert(p.value, p.unit, unit) for p in points]
    return Amount(max(values) - min(values), unit)


def stock_per_side(size: Amount, machine_to: Amount) -> Amount:
    """What a cut may take off each side of a rotor, or off the radius of a drum, in the unit of the limit.

    Args:
        size: the lowest thickness of the rotor, or the diameter of the drum.
        machine_to: its size after the last cut that is allowed.

    Source: geometry; a rotor is cut on both faces, a drum all round.
    """
    return Amount(
        abs(convert(size.value, size.unit, machine_to.unit) - machine_to.value) / 2, machine_to.unit
    )


def difference(one: Amount, other: Amount) -> Amount:
    """How far two lengths are apart, in the unit of the first: pads inner to outer, left to right, diagonals.

    Source: a frame is measured corner to corner and the diagonals are compared (US Army TM 9-2320-280-34).
    """
    return Amount(abs(one.value - convert(other.value, other.unit, one.unit)), one.unit)


def pressure_lost(start: Amount, end: Amount) -> Amount:
    """Pressure at the start less pressure after the hold, in the unit of the end; negative when it rose.

    Source: cooling system pressure test of service manuals: a loss in a stated time, never without a time.
    """
    return Amount(convert(start.value, start.unit, end.unit) - end.value, end.unit)


def temperature_split(oil: Amount, coolant: Amount) -> Amount:
    """Oil less coolant, as a difference of temperatures in the oil's unit: the scale's zero falls out.

    Source: common practice of the trade on diesel engines with an oil cooler.
    """
    return Amount(oil.value - convert(coolant.value, coolant.unit, oil.unit), oil.unit)


def sum_of_two(one: Amount, other: Amount) -> Amount:
    """The total of two play readings of one joint, in the unit of the first.

    Source: a maker of replacement parts judges solid-axle ball joints by the total of two readings.
    """
    return Amount(one.value + convert(other.value, other.unit, one.unit), one.unit)


def rim_arc(angle_deg: Fraction, diameter_in: Fraction) -> Amount:
    """How far the rim of a steering wheel moves when the wheel is turned.

    Args:
        angle_deg: of the turn, in degrees.
        diameter_in: diameter of the wheel in inches.

    Source: arc = pi x diameter x angle / 360; 49 CFR 393.209(b)(2) gives its limit as an angle.
    """
    return Amount(PI * diameter_in * angle_deg / 360, "[in_i]")


def loss_in_time(lost: Fraction, held_s: Fraction, rule_s: Fraction, *, allowed: bool) -> str | None:
    """Why a loss over one time says nothing about a rule for another time; None when it does.

    A leak does not give back what it lost: what is allowed after a longer hold is allowed after a shorter
    one, and what is too much after a shorter hold is too much after a longer one.

    Args:
        lost: the loss, in any unit.
        held_s: how long the pressure was held (seconds).
        rule_s: the time that the rule speaks of (seconds).
        allowed: the loss itself lies within the rule's number.
    """
    if lost < 0:
        return "the pressure rose while it was held"
    if held_s < rule_s and allowed:
        return "it was held for less than the time of the rule"
    if held_s > rule_s and not allowed:
        return "it was held for longer than the time of the rule"
    return None


def tread_wear(inside: Amount, middle: Amount, outside: Amount) -> str:
    """Where a tread is worn most, in words.

    Differences up to 1/32 in count as even: a tread gauge reads in 32nds of an inch.

    Source: definition of even and edge wear.
    """
    depth = [convert(p.value, p.unit, "[in_i]") for p in (inside, middle, outside)]
    if max(depth) - min(depth) <= _INCH_PER_32ND:
        return "even"
    edges = [max(depth) - depth[0] > _INCH_PER_32ND, max(depth) - depth[2] > _INCH_PER_32ND]
    if all(edges) and depth[1] == max(depth):
        return "worn on both edges"
    if edges[0] != edges[1]:
        return "worn on the inside" if edges[0] else "worn on the outside"
    return "worn in the middle" if depth[1] == min(depth) else "uneven"
