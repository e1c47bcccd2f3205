"""What of a plan is done, missing, or must be measured again: found from the record alone."""

from collections.abc import Iterable, Sequence
from fractions import Fraction

from models.limits.facts import PLAY_DIRECTIONS
from models.places import AXES, Position
from models.record import Finding, PlanItem, PlanState, Reading, Record, Wear
from models.units import UNITS, to_base, unit

# What makes a number needless, when it was said of the part.
_SETTLED = ("missing", "broken")
_FRONT = {"front", "axle_1"}
_DECIDED = ("confirmed", "corrected", "added")


def checked(record: Record) -> Record:
    """The record with the state of every item of its plan found anew from its findings.

    After the planned items come those findings outside of the plan that a person has doubts about. Rejected
    findings count for nothing, and what a reviewer decided is not asked of the technician again. What was
    said of wear is dropped where the reading is no longer the same.

    Args:
        record: its findings in order of time: a later reading without a doubt answers an earlier doubt.
    """
    standing = [f for f in record.findings if f.review is None or f.review.state != "rejected"]
    parts: dict[str | None, list[Finding]] = {}
    for finding in standing:
        parts.setdefault(finding.component, []).append(finding)
    plan = [_answered(item, parts.get(item.component, ())) for item in record.plan if item.planned]
    held = {f.id: (f.component, f.position, f.reading) for f in standing}
    used = {id for item in plan for id in item.findings}
    beyond = [_asked(f) for f in _doubtful(standing) if f.id not in used]
    wear = tuple(w for w in record.wear if _still_holds(w, held.get(w.finding)))
    return record.model_copy(update={"plan": (*plan, *beyond), "wear": wear})


_Claim = tuple[str | None, Position, Reading | None]


def _still_holds(wear: Wear, claim: _Claim | None) -> bool:
    """Whether the finding still is what its wear was found for."""
    if claim is None or claim[2] is None:
        return False
    reading = claim[2]
    stated = (wear.component, wear.position, wear.measure, wear.value, wear.unit)
    return stated == (*claim[:2], reading.measure, reading.value, reading.unit)


def _doubt(finding: Finding) -> str:
    """Why the finding must be looked at again; empty when it need not."""
    if finding.review is not None and finding.review.state in _DECIDED:
        return ""
    if finding.action == "measure_again":
        return "to be measured again was said of it"
    return finding.attention[0] if finding.attention else ""


def _measure(finding: Finding) -> str | None:
    return finding.reading.measure if finding.reading is not None else None


def _doubtful(findings: Sequence[Finding]) -> list[Finding]:
    """The findings with a doubt that no later reading of the same thing answers."""
    clean: set[tuple[object, ...]] = set()
    found = []
    for finding in reversed(findings):
        key = (finding.component, finding.position, _measure(finding))
        if not _doubt(finding):
            clean.add(key)
        elif key not in clean:
            found.append(finding)
    return found[::-1]


def _asked(finding: Finding) -> PlanItem:
    return PlanItem(
        component=finding.component,
        position=finding.position,
        measure=_measure(finding),
        planned=False,
        state="measure again",
        why=_doubt(finding),
        findings=(finding.id,),
    )


def _lacking(item: PlanItem, place: Position) -> list[str] | None:
    """The place words that the item asks for and the place does not say; None when they contradict."""
    lacking = []
    for axis in AXES:
        asked, said = getattr(item.position, axis), getattr(place, axis)
        if asked is None:
            continue
        if said is None:
            lacking.append(axis)
        elif said != asked and {said, asked} != _FRONT:
            return None
    return lacking


def _fits(measure: str | None, asked: str) -> bool:
    return measure == asked or (asked == "play" and measure in PLAY_DIRECTIONS)


def _words(finding: Finding) -> str:
    reading = finding.reading
    if reading is None:
        return ""
    words = unit(reading.unit).words if reading.unit in UNITS else reading.unit
    return f"{reading.value:f}{'' if words == '°' else ' '}{words}"


def _state(item: PlanItem, state: PlanState, why: str, findings: Iterable[Finding]) -> PlanItem:
    update = {"state": state, "why": why, "findings": tuple(f.id for f in findings)}
    return item.model_copy(update=update)


def _answered(item: PlanItem, findings: Sequence[Finding]) -> PlanItem:
    """The item with its state.

    Args:
        item: of the plan.
        findings: every standing finding of its part.
    """
    there = [f for f in findings if _lacking(item, f.position) == []]
    if item.measure is None:
        return _looked_at(item, there)
    measured = [f for f in there if _fits(_measure(f), item.measure or "")]
    if not measured:
        return _not_measured(item, there, findings)
    doubts = _doubtful(measured)
    if doubts:
        return _state(item, "measure again", _doubt(doubts[-1]), measured)
    sure = [f for f in measured if not _doubt(f)]
    why = _differing(sure) if item.readings == 1 else ""
    absent = [m for m in item.together if not any(_measure(f) == m for f in there)]
    if absent:
        why = f"the {' and the '.join(m.replace('_', ' ') for m in absent)} was not said"
    if why:
        return _state(item, "measure again", why, measured)
    spots = len({(f.position, _measure(f)) for f in sure})
    if spots < item.readings:
        return _state(item, "missing", f"{spots} of {item.readings} spots measured", measured)
    return _state(item, "done", "", measured)


def _looked_at(item: PlanItem, there: Sequence[Finding]) -> PlanItem:
    seen = [f for f in there if f.reading is None] or list(there)
    if not seen:
        return _state(item, "missing", "not looked at yet", ())
    doubts = _doubtful(seen)
    if doubts:
        return _state(item, "measure again", _doubt(doubts[-1]), seen)
    return _state(item, "done", "", seen)


def _not_measured(item: PlanItem, there: Sequence[Finding], findings: Sequence[Finding]) -> PlanItem:
    """Nothing was measured there: why, or why it need not be."""
    settled = [f for f in there if f.action == "replace" or set(f.conditions) & set(_SETTLED)]
    if settled and not _doubtful(settled):
        word = next((c for f in settled for c in f.conditions if c in _SETTLED), "replace")
        return _state(item, "done", f"no number, but '{word}' was said", settled)
    placeless = [f for f in findings if _fits(_measure(f), item.measure or "")]
    for finding in placeless:
        lacking = _lacking(item, finding.position)
        if lacking:
            choice = " and ".join(_CHOICES[axis] for axis in lacking)
            return _state(item, "measure again", f"{_words(finding)} was said, but not {choice}", [finding])
    if item.position.index is not None and placeless:
        return _state(item, "missing", "only one of the two diagonals was measured", ())
    said = [f.conditions[0] for f in there if f.conditions]
    if said:
        return _state(item, "missing", f"only '{said[-1].replace('_', ' ')}' was said, without a number", ())
    return _state(item, "missing", "not measured yet", ())


_CHOICES = {
    "side": "on which side",
    "axle": "on which axle",
    "level": "whether upper or lower",
    "face": "whether inner or outer",
    "spot": "at which spot",
    "index": "which diagonal",
}


def _differing(sure: Sequence[Finding]) -> str:
    """Why two readings of one thing cannot both be right; empty when they are the same.

    Readings at different spots or in different directions are of different things. A value that was found
    a second time holds against another one.
    """
    values: dict[tuple[object, ...], list[tuple[Fraction, Finding]]] = {}
    for finding in sure:
        reading = finding.reading
        if reading is not None and reading.unit in UNITS:
            value = to_base(Fraction(reading.value), reading.unit)
            values.setdefault((finding.position, reading.measure), []).append((value, finding))
    for found in values.values():
        last, finding = found[-1]
        others = [(v, f) for v, f in found[:-1] if v != last]
        if others and len(others) == len(found) - 1:
            return f"{_words(others[-1][1])} and {_words(finding)} were both said: measure it once more"
    return ""
