"""Suggestions: what rules that combine several findings say beside the verdicts."""

from collections.abc import Sequence
from fractions import Fraction
from typing import NamedTuple

from models.limits import FACTS, KINDS, Limits
from models.limits.facts import PLAY_DIRECTIONS, Known
from models.places import AXES, Position
from models.record import Finding, LimitUsed, Suggestion
from models.rules import Beyond, Rule, Rules, plain_words
from models.units import UNITS, convert, unit

_AXIS_WORDS = {
    "side": "side",
    "axle": "axle",
    "level": "level",
    "face": "face",
    "spot": "spot",
    "index": "diagonal",
}


_DENIALS = {"no", "not", "never", "nothing", "neither", "without", "isn", "doesn", "don", "didn", "won"}
_DENIAL_REACH = 4


class _Case(NamedTuple):
    """A rule, the finding that calls for it, and the sentence with the words that it asks for."""

    rule: Rule
    because: Finding
    heard: str


class _Found(NamedTuple):
    """One suggestion for one finding."""

    finding: Finding
    rule: Rule
    action: str | None
    sentence: str
    because: Finding


def suggest(findings: Sequence[Finding], rules: Rules, limits: Limits, known: Known) -> tuple[Finding, ...]:
    """The same findings with the suggestions of the rules.

    A suggestion goes to every finding of the part that it is about; where there is none, to the finding that
    called for it. What was said to do and what the verdict says stay as they are.

    Args:
        findings: judged.
        rules: from :func:`models.rules.load_rules`.
        limits: on file, to know what may be resurfaced.
        known: what is known of the truck.
    """
    by_id: dict[str, dict[tuple[str, str | None], Suggestion]] = {}
    notes = _spoken(findings) if any(rule.when.words for rule in rules) else {}
    for rule in rules:
        for finding in findings:
            if not _calls(rule, finding, findings):
                continue
            heard = _heard(rule, finding, notes)
            if heard is None:
                continue
            for found in _targets(_Case(rule, finding, heard), findings, limits, known):
                mine = by_id.setdefault(found.finding.id, {})
                _keep(mine, found)
    return tuple(
        f.model_copy(update={"suggestions": tuple(by_id.get(f.id, {}).values())})
        if f.suggestions or f.id in by_id
        else f
        for f in findings
    )


def _keep(mine: dict[tuple[str, str | None], Suggestion], found: _Found) -> None:
    """One suggestion for each rule and action, resting on all findings that call for it."""
    rule = found.rule
    key = (rule.id, found.action)
    before = mine[key].because if key in mine else ()
    if found.because.id in before:
        return
    mine[key] = Suggestion(
        rule=rule.id,
        component=rule.component or found.finding.component or "",
        action=found.action,
        sentence=mine[key].sentence if key in mine else found.sentence,
        kind=rule.kind,
        source=rule.source,
        because=(*before, found.because.id),
    )


def _measures(measure: str, asked: str) -> bool:
    return measure == asked or (asked == "play" and measure in PLAY_DIRECTIONS)


def _is_beyond(finding: Finding, beyond: Beyond) -> bool:
    reading = finding.reading
    if reading is None or reading.unit not in UNITS or not _measures(reading.measure, beyond.measure):
        return False
    if unit(reading.unit).dimension != unit(beyond.unit).dimension:
        return False
    value = convert(Fraction(reading.value), reading.unit, beyond.unit)
    return value > beyond.value or (beyond.included and value == beyond.value)


def _calls(rule: Rule, finding: Finding, findings: Sequence[Finding]) -> bool:
    """Whether the finding is what the rule speaks of, apart from what was said and what the truck must be."""
    when = rule.when
    if finding.component not in when.components:
        return False
    if when.conditions and not set(when.conditions) & set(finding.conditions):
        return False
    if when.beyond is not None and not _is_beyond(finding, when.beyond):
        return False
    return not when.moves or any(_moved(finding, measure, findings) for measure in when.moves)


_Notes = dict[tuple[str | None, Position, str], list[str]]


def _spoken(findings: Sequence[Finding]) -> _Notes:
    """What was said of each part and place in each note, in order."""
    said: _Notes = {}
    for finding in findings:
        for evidence in finding.evidence:
            if evidence.kind == "audio":
                texts = said.setdefault((finding.component, finding.position, evidence.capture), [])
                texts += [evidence.text] if evidence.text not in texts else []
    return said


def _heard(rule: Rule, finding: Finding, notes: _Notes) -> str | None:
    """The sentence with the words that the rule asks for, said of the same part and place in the same note.

    Returns:
        An empty text when the rule asks for no words; None when nobody said them, or somebody denied them.
    """
    if not rule.when.words:
        return ""
    for capture in dict.fromkeys(e.capture for e in finding.evidence if e.kind == "audio"):
        for text in notes.get((finding.component, finding.position, capture), ()):
            if any(_says(plain_words(text), phrase) for phrase in rule.when.words):
                return text
    return None


def _says(text: str, phrase: str) -> bool:
    """Whether a phrase stands in a text without a denial right before it."""
    before, found, _ = text.partition(phrase)
    return bool(found) and not _DENIALS & set(before.split()[-_DENIAL_REACH:])


def _moved(finding: Finding, measure: str, findings: Sequence[Finding]) -> bool:
    """Whether an alignment angle was read with two values at one wheel of the finding's side."""
    side, axle = finding.position.side, finding.position.axle
    values: dict[object, set[Fraction]] = {}
    for other in findings:
        reading, place = other.reading, other.position
        if other.component != "wheel" or reading is None or reading.measure != measure:
            continue
        if side is None or place.side != side or (axle and place.axle and axle != place.axle):
            continue
        values.setdefault(place, set()).add(Fraction(reading.value))
    return any(len(found) > 1 for found in values.values())


def claim_words(finding: Finding) -> str:
    """What was found, in words: ``right front hub bearing, end play 0.004 in, noise``."""
    part = finding.position.of((finding.component or "").replace("_", " "))
    cells = [part]
    if (reading := finding.reading) is not None:
        words = unit(reading.unit).words if reading.unit in UNITS else reading.unit
        gap = "" if words == "°" else " "
        cells.append(f"{reading.measure.replace('_', ' ')} {reading.value:f}{gap}{words}")
    return ", ".join([*cells, *(c.replace("_", " ") for c in finding.conditions)])


def _targets(case: _Case, findings: Sequence[Finding], limits: Limits, known: Known) -> list[_Found]:
    """The findings that get the rule's suggestion, each with its action and its sentence."""
    rule, because, _ = case
    truck = [c for c in rule.when.truck if c.fact in known and not c.holds(known[c.fact])]
    if truck:
        return []
    unknown = [c.fact for c in rule.when.truck if c.fact not in known]
    doubts = [f"it is not known {FACTS[n].words} ({FACTS[n].remedy})" for n in unknown]
    silent = [axis for axis in rule.same if getattr(because.position, axis) is None]
    doubts += [f"it was not said on which {_AXIS_WORDS[axis]}" for axis in silent]
    about = [because] if rule.component is None else _parts(rule, because, findings)
    if silent or not about:
        return [_found(case, because, None if doubts or rule.too_thin else rule.action, doubts)]
    made = []
    for finding in about:
        action, note = _action(rule, finding, findings, limits)
        made.append(_found(case, finding, None if doubts else action, [*doubts, *note]))
    return made


def _parts(rule: Rule, because: Finding, findings: Sequence[Finding]) -> list[Finding]:
    """The findings of the part that the rule is about, at the same place."""
    return [
        f
        for f in findings
        if f.component == rule.component
        and all(getattr(f.position, axis) == getattr(because.position, axis) for axis in rule.same)
    ]


def _found(case: _Case, finding: Finding, action: str | None, notes: Sequence[str]) -> _Found:
    rule, because, heard = case
    words = f", and the words “{heard.strip()}”" if heard else ""
    rests = f" It rests on: {claim_words(because)}{words}."
    more = "".join(f" {note[:1].upper()}{note[1:]}." for note in notes)
    authority = rule.source if rule.source.startswith(rule.kind) else f"{rule.kind}: {rule.source}"
    return _Found(finding, rule, action, f"{rule.sentence}{rests}{more} [{authority}]", because)


def _action(
    rule: Rule, finding: Finding, findings: Sequence[Finding], limits: Limits
) -> tuple[str | None, list[str]]:
    """What is suggested for one finding, and why it is that or nothing."""
    if rule.too_thin is None:
        return rule.action, []
    place = [(a, getattr(finding.position, a)) for a in AXES if a != "spot"]
    same = [
        f
        for f in findings
        if f.component == finding.component and all(getattr(f.position, a) == v for a, v in place)
    ]
    rooms = [room for f in same if (room := _room(f, limits)) is not None]
    if "none" in rooms:
        return rule.too_thin, ["by its thickness there is not enough left to resurface it"]
    if rooms:
        return rule.action, ["by its thickness there is enough left to resurface it"]
    return None, ["how much may be taken off was not measured, or no limit on file says it"]


def _room(finding: Finding, limits: Limits) -> str | None:
    """Whether the finding's limits leave something to resurface: ``some``, ``none``, or None when unknown."""
    verdict = finding.verdict
    if verdict is None or verdict.limit is None:
        return None
    used = [u for u in (verdict.limit, *verdict.others) if u.result != "not judged" and _sizes(u, limits)]
    ruled = [u for u in used if (rule := limits.by_id(u.id)) is not None and rule.refinish is not None]
    if ruled:
        first = min(ruled, key=lambda u: (KINDS.index(u.kind), u.result == "within limit"))
        return "some" if first.result == "within limit" else "none"
    return "none" if any(u.result == "beyond limit" for u in used) else None


def _sizes(used: LimitUsed, limits: Limits) -> bool:
    """Whether the limit speaks of the size of the part itself, such as the thickness of a rotor."""
    rule = limits.by_id(used.id)
    return rule is not None and rule.of == "reading" and rule.measure in ("thickness", "inside_diameter")
