"""What several readings say together: which findings belong to one calculation, and its result."""

from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from fractions import Fraction
from functools import lru_cache
from typing import NamedTuple

from models.limits.facts import PLAY_DIRECTIONS, Known
from models.limits.rules import Quantity
from models.measures import DIMENSIONS
from models.record import Finding
from models.tire_date import TireDateError, made_in
from models.units import UNITS, convert, dimension_fits, plain, to_base, unit
from pipelines.judging import checks
from pipelines.judging.battery import charge_words, is_12_volt, under_load
from pipelines.judging.checks import Amount

PLAYS = ("play", *PLAY_DIRECTIONS)
# A spoken split is rounded to whole degrees, and so is each of the two temperatures.
_SPLIT_TOLERANCE_K = Fraction(1)


class Computed(NamedTuple):
    """A quantity computed from several findings.

    Attributes:
        component: the part whose limits speak of it.
        measure: the measure whose limits speak of it.
        of: which computed quantity of that measure.
        amount: the result; None when something is missing.
        words: the calculation in words, as a sentence without its full stop.
        problem: why there is no result, or why it cannot be judged.
        held_s: ``pressure_lost`` only: how long the pressure was held (seconds).
        instead: it takes the place of the finding's own value.
        doubt: a sentence for the finding's ``attention``.
    """

    component: str
    measure: str
    of: Quantity
    amount: Amount | None
    words: str
    problem: str | None = None
    held_s: Fraction | None = None
    instead: bool = False
    doubt: str | None = None


Found = Iterator[tuple[Finding, Computed]]


@lru_cache(maxsize=1024)
def _measures(code: str, measure: str) -> bool:
    """Whether the unit is one of the measure's."""
    return code in UNITS and measure in DIMENSIONS and dimension_fits(DIMENSIONS[measure], code)


def amount_of(finding: Finding) -> Amount | None:
    """The reading as an exact amount; None without one, or when its unit does not fit its measure."""
    reading = finding.reading
    if reading is None or not _measures(reading.unit, reading.measure):
        return None
    return Amount(Fraction(reading.value), reading.unit)


def say(amount: Amount) -> str:
    """An amount in words: ``29.79 mm``."""
    return f"{_number(amount)}{'' if amount.unit == 'deg' else ' '}{unit(amount.unit).words}"


def tread(amount: Amount) -> str:
    """A depth of tread in words, in thirty-seconds of an inch where it is some of those: ``6/32 in``."""
    parts = amount.value * 32
    whole = amount.unit == "[in_i]" and parts.denominator == 1
    return f"{parts.numerator}/32 in" if whole else say(amount)


def _number(amount: Amount) -> str:
    """The digits; inches that only a rule's fractions give are written as those: ``142 3/16``."""
    thousandths = amount.value * 1000
    if amount.unit != "[in_i]" or thousandths.denominator == 1 or 64 % amount.value.denominator:
        return plain(amount.value)
    whole, part = divmod(abs(amount.value), 1)
    sign = "-" if amount.value < 0 else ""
    return f"{sign}{whole} {part}" if whole else f"{sign}{part}"


class _Measured(NamedTuple):
    finding: Finding
    amount: Amount

    @property
    def words(self) -> str:
        """The reading and its spot: ``29.79 mm at point 3``."""
        spot = self.finding.position.spot
        told = tread if _measure(self.finding) == "tread_depth" else say
        return told(self.amount) + (f" at {spot.replace('_', ' ')}" if spot else "")


Group = list[_Measured]
Key = tuple[object, ...]


def _rotors(group: Group) -> Found:
    """Several thicknesses of one rotor: the lowest decides, and their spread is the thickness variation."""
    if len(group) < 2:
        return
    low = group[checks.lowest([m.amount for m in group])]
    points = [m for m in group if (m.finding.position.spot or "").startswith("point")]
    variation = checks.spread([m.amount for m in points]) if len(points) > 1 else None
    for one in group:
        text = f"The lowest of {len(group)} readings of this rotor, {low.words}, decides"
        yield one.finding, Computed("brake_rotor", "thickness", "reading", low.amount, text, instead=True)
        if variation is not None and one in points:
            text = f"The thickness varies by {say(variation)} over {len(points)} points"
            yield one.finding, Computed("brake_rotor", "thickness_variation", "reading", variation, text)


def _two_apart(group: Group, of: Quantity, words: str) -> Found:
    if len(group) != 2:
        return
    apart = checks.difference(group[0].amount, group[1].amount)
    for one in group:
        text = f"{words} differ by {say(apart)} ({group[0].words}, {group[1].words})"
        reading = one.finding.reading
        if reading is not None and one.finding.component is not None:
            yield one.finding, Computed(one.finding.component, reading.measure, of, apart, text)


def _faces(group: Group) -> Found:
    """Inner and outer pad of one brake."""
    if {m.finding.position.face for m in group} == {"inner", "outer"}:
        yield from _two_apart(group, "inner_outer_difference", "Inner and outer")


def _sides(group: Group) -> Found:
    """The same pad or shoe, left and right."""
    unequal = len({m.amount for m in group}) > 1
    if unequal and {m.finding.position.side for m in group} == {"left", "right"}:
        yield from _two_apart(group, "left_right_difference", "Left and right")


def _diagonals(group: Group) -> Found:
    """The two diagonals of a frame."""
    if len(group) == 2 and {m.finding.position.index for m in group} == {1, 2}:
        yield from _two_apart(group, "diagonal_difference", "The two diagonals")
        return
    for one in group:
        problem = "it takes exactly one reading of each of the two diagonals"
        yield one.finding, Computed("frame", "diagonal", "diagonal_difference", None, "", problem)


def _plays(group: Group) -> Found:
    """Two readings of one joint's play."""
    for one in group:
        reading = one.finding.reading
        if reading is None or one.finding.component is None:
            continue
        if len(group) == 2:
            total = checks.sum_of_two(group[0].amount, group[1].amount)
            text = f"The two readings add up to {say(total)}"
            yield one.finding, Computed(one.finding.component, reading.measure, "sum_of_two", total, text)
        else:
            problem = (
                f"it takes two readings of this play, and there {'is 1' if len(group) == 1 else 'are more'}"
            )
            yield (
                one.finding,
                Computed(one.finding.component, reading.measure, "sum_of_two", None, "", problem),
            )


def _holds(group: Group) -> Found:
    """Pressure before and after a hold, and how long it was held."""
    by_measure: dict[str, Group] = defaultdict(list)
    for one in group:
        if one.finding.reading is not None:
            by_measure[one.finding.reading.measure].append(one)
    start, end, held = (by_measure[m] for m in ("pressure", "pressure_after_hold", "hold_time"))
    for one in end:
        component = one.finding.component or ""
        if len(start) != 1 or len(end) != 1:
            problem = "it takes exactly one pressure before and one after the hold"
            yield one.finding, Computed(component, "pressure_after_hold", "pressure_lost", None, "", problem)
            continue
        lost = checks.pressure_lost(start[0].amount, one.amount)
        span = to_base(held[0].amount.value, held[0].amount.unit) if len(held) == 1 else None
        time = f" in {say(held[0].amount)}" if span is not None else ""
        text = f"{say(lost)} was lost{time} ({say(start[0].amount)} to {say(one.amount)})"
        untimed = None if span is not None else "how long the pressure was held is not known; say it"
        loss = Computed(component, "pressure_after_hold", "pressure_lost", lost, text, untimed, held_s=span)
        yield one.finding, loss
        for part in (*start, *held):
            measure = _measure(part.finding)
            yield part.finding, Computed(component, measure, "reading", None, f"In the pressure test {text}")


def _split(group: Group) -> Found:
    """Oil and coolant temperature, and the split when somebody said it."""
    oil, coolant, said = (
        [m for m in group if m.finding.component == part] for part in ("engine_oil", "coolant", "oil_cooler")
    )
    if len(oil) != 1 or len(coolant) != 1:
        return
    split = checks.temperature_split(oil[0].amount, coolant[0].amount)
    text = f"Oil less coolant is {say(split)} ({say(oil[0].amount)}, {say(coolant[0].amount)})"
    if not said:
        for one in (*oil, *coolant):
            yield one.finding, Computed("oil_cooler", "temperature_split", "reading", split, text)
        return
    computed_k = to_base(split.value, split.unit, difference=True)
    for one in said:
        apart = abs(to_base(one.amount.value, one.amount.unit, difference=True) - computed_k)
        doubt = f"{text}, but a split of {say(one.amount)} was said." if apart > _SPLIT_TOLERANCE_K else None
        yield one.finding, Computed("oil_cooler", "temperature_split", "reading", None, text, doubt=doubt)


def _tread(group: Group) -> Found:
    """Depths across one tread."""
    spots = {m.finding.position.spot: m for m in group}
    if len(group) != 3 or set(spots) != {"inside", "middle", "outside"}:
        return
    inside, middle, outside = (spots[s].amount for s in ("inside", "middle", "outside"))
    text = f"Across the tread it is {checks.tread_wear(inside, middle, outside)}"
    for one in group:
        yield one.finding, Computed("tire", "tread_depth", "reading", None, text)


def _axle_treads(group: Group) -> Found:
    """The lowest depths of the tires on both sides of an axle."""
    sides: dict[str | None, Group] = defaultdict(list)
    for one in group:
        sides[one.finding.position.side].append(one)
    if set(sides) != {"left", "right"}:
        return
    low = {s: found[checks.lowest([m.amount for m in found])] for s, found in sides.items()}
    apart = checks.difference(low["left"].amount, low["right"].amount)
    if apart.value == 0:
        return
    both = f"{low['left'].words}, {low['right'].words}"
    text = f"The lowest treads left and right differ by {tread(apart)} ({both})"
    for one in group:
        yield one.finding, Computed("tire", "tread_depth", "reading", None, text)


def _charge(group: Group) -> Found:
    """A battery's voltage: its charge at rest by its temperature, or what it holds under load."""
    by_measure: dict[str, Group] = defaultdict(list)
    for one in group:
        by_measure[_measure(one.finding)].append(one)
    warmth = by_measure["temperature"]
    degf = convert(*warmth[0].amount, "[degF]") if len(warmth) == 1 else None
    for one in by_measure["voltage"]:
        if under_load(e.text for e in one.finding.evidence if e.kind == "audio"):
            held = f"Under load it held {say(one.amount)}"
            if is_12_volt(convert(*one.amount, "V")):
                yield one.finding, Computed("battery", "voltage", "under_load", one.amount, held)
            continue
        text = charge_words(convert(*one.amount, "V"), degf)
        if text is not None:
            yield one.finding, Computed("battery", "voltage", "reading", None, text)


def _tire_age(group: Group) -> Found:
    """What the age of a tire rests on: the week of its date code."""
    for one in group:
        reading = one.finding.reading
        code = reading.as_given.rpartition(" ")[2] if reading is not None else ""
        try:
            year, week = made_in(code)
        except TireDateError:
            continue  # a person gave the age
        text = f"Date code {code} is week {week} of {year}; the age is counted from its end to the inspection"
        yield one.finding, Computed("tire", "age", "reading", None, text)


_Rule = tuple[Callable[[Finding], Key | None], Callable[[Group], Found]]


def _measure(finding: Finding) -> str:
    return finding.reading.measure if finding.reading is not None else ""


def _rotor_key(f: Finding) -> Key | None:
    known = f.position.side and f.position.axle
    return (f.position.side, f.position.axle) if f.component == "brake_rotor" and known else None


def _face_key(f: Finding) -> Key | None:
    known = f.position.side and f.position.axle and f.position.face
    return (f.component, f.position.side, f.position.axle) if f.component == "brake_pad" and known else None


def _side_key(f: Finding) -> Key | None:
    fits = f.component in ("brake_pad", "brake_shoe") and f.position.side and f.position.axle
    return (f.component, f.position.axle, f.position.face) if fits else None


def _tread_key(f: Finding) -> Key | None:
    known = f.component == "tire" and f.position.side and f.position.axle
    return (f.position.side, f.position.axle) if known else None


def _axle_key(f: Finding) -> Key | None:
    known = f.component == "tire" and f.position.side and f.position.axle
    return (f.position.axle,) if known else None


# What a limit on one part asks of another reading: (that part, its measure, the unit, the fact).
_SAID_OF = {
    "battery": ("battery", "temperature", "[degF]", "battery_degF"),
    "brake_chamber": ("air_tank", "pressure", "[psi]", "reservoir_psi"),
}


def facts_said(findings: Sequence[Finding]) -> dict[str, Known]:
    """What limits on a part need to know and another reading says, by part; only where it was said once."""
    found: dict[str, Known] = {}
    for component, (of, measure, code, fact) in _SAID_OF.items():
        said = [f for f in findings if f.component == of and _measure(f) == measure]
        amounts = [a for f in said if (a := amount_of(f)) is not None]
        if len(amounts) == 1:
            found[component] = {fact: convert(amounts[0].value, amounts[0].unit, code)}
    return found


_BY_MEASURE: dict[str, tuple[_Rule, ...]] = {
    "thickness": ((_rotor_key, _rotors), (_face_key, _faces), (_side_key, _sides)),
    "diagonal": ((lambda f: () if f.component == "frame" else None, _diagonals),),
    "tread_depth": ((_tread_key, _tread), (_axle_key, _axle_treads)),
    **{m: ((lambda f: (f.component, f.position, _measure(f)), _plays),) for m in PLAYS},
    **{
        m: ((lambda f: (f.component, f.position), _holds),)
        for m in ("pressure", "pressure_after_hold", "hold_time")
    },
    "temperature": (
        (lambda f: () if f.component in ("engine_oil", "coolant") else None, _split),
        (lambda f: () if f.component == "battery" else None, _charge),
    ),
    "age": ((lambda f: (f.id,) if f.component == "tire" else None, _tire_age),),
    "voltage": ((lambda f: () if f.component == "battery" else None, _charge),),
    "temperature_split": ((lambda f: () if f.component == "oil_cooler" else None, _split),),
}


def computed(findings: Sequence[Finding], amounts: Sequence[Amount | None]) -> dict[str, list[Computed]]:
    """Every quantity that can be computed, by the id of each finding it bears on.

    Findings whose place is not known are left out where the place decides what belongs together.

    Args:
        findings: of one inspection.
        amounts: of each finding, from :func:`amount_of`.
    """
    groups: dict[tuple[Callable[[Group], Found], Key], Group] = defaultdict(list)
    for finding, amount in zip(findings, amounts, strict=True):
        if amount is None or finding.component is None:
            continue
        for key_of, check in _BY_MEASURE.get(_measure(finding), ()):
            key = key_of(finding)
            if key is not None:
                groups[check, key].append(_Measured(finding, amount))
    found: dict[str, list[Computed]] = defaultdict(list)
    for (check, _), group in groups.items():
        for finding, result in check(group):
            found[finding.id].append(result)
    return found
