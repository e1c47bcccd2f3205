"""Voted claims become findings: conditions and actions join the readings they were said with."""

from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction

from models.notes import Remark, SpokenFinding
from models.places import Position
from models.record import Alternative, Reading
from models.units import UNITS, to_base
from pipelines.notes.claims import Claim
from pipelines.notes.voting import Voted

# Below this share of the hypotheses a person has to listen.
SURE = 0.9
# A reading with any doubt is never nearly sure.
DOUBTED = 0.85
# Where a reading says least about what was heard: three values for one place are points round a rotor.
_POINTS = ("brake_rotor", "thickness")
# So much deeper than the next deepest no spot across one tire is by wear (common practice, no source).
_UNLIKE_TREADS = to_base(Decimal("0.25"), "[in_i]")


@dataclass
class Line:
    """One finding in the making."""

    voted: Voted
    conditions: list[Voted] = field(default_factory=list)
    action: Voted | None = None
    remarks: list[Voted] = field(default_factory=list)
    doubts: list[str] = field(default_factory=list)
    position: Position | None = None

    @property
    def claim(self) -> Claim:
        """What the finding is about."""
        return self.voted.heard.claim

    @property
    def place(self) -> Position:
        """Where."""
        return self.position or self.claim.position


def _same_thing(one: Claim, other: Claim) -> bool:
    """Whether two claims are about one part at places that do not contradict each other."""
    if one.component != other.component:
        return False
    mine, theirs = one.position.keys(), other.position.keys()
    return all(theirs[axis] == value for axis, value in mine.items() if axis in theirs)


def _lines(voted: list[tuple[Voted, tuple[str, ...]]]) -> list[Line]:
    lines: list[Line] = []
    waiting: list[Line] = []  # conditions whose reading may still follow
    dropped: Line | None = None  # what the next reading may take the place of
    for vote, doubts in voted:
        claim = vote.heard.claim
        if claim.kind == "orphan":
            continue
        if claim.kind == "drop":
            dropped = _drop(lines, claim)
            waiting = [line for line in waiting if line in lines]
        elif claim.kind == "ask":
            _ask(lines, claim)
        elif claim.kind == "reading":
            line = Line(vote, doubts=list(doubts))
            for mark in [w for w in waiting if _same_thing(w.claim, claim) and w.claim.group == claim.group]:
                line.conditions += mark.conditions
                line.action = line.action or mark.action
                line.remarks += mark.remarks
                lines.remove(mark)
            if dropped is not None and _takes_over(line, dropped):
                line.conditions += dropped.conditions
                line.action = line.action or dropped.action
            waiting, dropped = [], None
            lines.append(line)
        elif claim.kind == "code":
            lines.append(Line(vote, doubts=list(doubts)))
        else:
            line = _home(lines, vote, list(doubts))
            if claim.kind == "condition":
                line.conditions.append(vote)
            elif claim.kind == "action":
                line.action = vote
            else:
                line.remarks.append(vote)
            if line.claim.kind != "reading" and line not in waiting:
                waiting.append(line)
    return lines


def _home(lines: list[Line], vote: Voted, doubts: list[str]) -> Line:
    """The line that a condition or action joins, or a new one."""
    claim = vote.heard.claim
    for line in reversed(lines[-3:]):
        if line.claim.group == claim.group and _same_thing(line.claim, claim):
            return line
    for line in reversed(lines[-3:]):
        if _same_thing(line.claim, claim):
            return line
        if line.claim.component != claim.component:
            break
    line = Line(vote, doubts=doubts)
    lines.append(line)
    return line


def _takes_over(line: Line, dropped: Line) -> bool:
    """Whether a reading takes the place of a dropped one: what else was said of the part still holds."""
    return line.claim.measure == dropped.claim.measure and _same_thing(dropped.claim, line.claim)


def _drop(lines: list[Line], claim: Claim) -> Line | None:
    """Take back the last reading of the same thing, and give it back; or one condition or action of it."""
    if claim.name:
        _drop_mark(lines, claim)
        return None
    for k in range(len(lines) - 1, -1, -1):
        if lines[k].claim.kind == "reading" and _same_thing(lines[k].claim, claim):
            return lines.pop(k)
    return None


def _drop_mark(lines: list[Line], claim: Claim) -> None:
    for line in reversed(lines):
        marks = [*line.conditions, *([line.action] if line.action else [])]
        if _same_thing(line.claim, claim) and any(mark.heard.claim.name == claim.name for mark in marks):
            line.conditions = [c for c in line.conditions if c.heard.claim.name != claim.name]
            if line.action is not None and line.action.heard.claim.name == claim.name:
                line.action = None
            if line.claim.kind != "reading" and not line.conditions and line.action is None:
                lines.remove(line)
            return


def _ask(lines: list[Line], claim: Claim) -> None:
    """Ask about the last reading of the same thing."""
    for line in reversed(lines):
        if line.claim.kind == "reading" and _same_thing(line.claim, claim):
            line.doubts += claim.doubts
            return


def _number_points(lines: list[Line]) -> None:
    """Several thicknesses in a row for one rotor are points round it."""
    i = 0
    while i < len(lines):
        j = i
        while j < len(lines) and _is_point(lines[j]) and lines[j].place == lines[i].place:
            j += 1
        if j - i >= 3 or (j - i == 2 and _surely_two(lines[i], lines[i + 1])):
            for k in range(i, j):
                lines[k].position = lines[k].place.with_keys(spot=f"point_{k - i + 1}")
        i = max(j, i + 1)


def _surely_two(one: Line, other: Line) -> bool:
    """Whether two are points: a second that is itself doubtful may be no reading of this rotor at all."""
    return one.claim.group == other.claim.group and min(one.voted.confidence, other.voted.confidence) >= SURE


def _is_point(line: Line) -> bool:
    claim = line.claim
    return (claim.component, claim.measure) == _POINTS and claim.position.spot is None


def _said(claim: Claim) -> str:
    return f"date code {claim.name}" if claim.value is None else f"{claim.value:f} {UNITS[claim.unit].words}"


def _equal(one: Claim, other: Claim) -> bool:
    if "code" in (one.kind, other.kind):
        return one.name == other.name
    assert one.value is not None and other.value is not None
    if UNITS[one.unit].dimension != UNITS[other.unit].dimension:
        return False
    return to_base(one.value, one.unit) == to_base(other.value, other.unit)


def _question_repeats(lines: list[Line]) -> None:
    """Two values for one thing: a person has to say which counts."""
    seen: dict[tuple[str, str, str], Line] = {}
    for line in list(lines):
        claim = line.claim
        if claim.kind not in ("reading", "code"):
            continue
        key = (claim.component, claim.measure, str(line.place.keys()))
        first = seen.setdefault(key, line)
        if first is line:
            continue
        if _equal(first.claim, claim):
            lines.remove(line)
            first.conditions += line.conditions
            first.action = first.action or line.action
            continue
        doubt = f"Two values were said for this: {_said(first.claim)} and {_said(claim)}."
        first.doubts.append(doubt)
        line.doubts.append(doubt)


def _depth(line: Line) -> Fraction:
    assert line.claim.value is not None
    return to_base(line.claim.value, line.claim.unit)


def _question_treads(lines: list[Line]) -> None:
    """A spot far deeper than the others across one tire is rather a slip of the ear than wear."""
    tires: dict[str, list[Line]] = {}
    for line in lines:
        claim = line.claim
        if claim.kind == "reading" and claim.measure == "tread_depth" and line.place.spot is not None:
            tires.setdefault(str(line.place.with_keys(spot=None).keys()), []).append(line)
    for across in tires.values():
        across.sort(key=_depth)
        if len(across) > 2 and _depth(across[-1]) - _depth(across[-2]) > _UNLIKE_TREADS:
            across[-1].doubts.append(f"{_said(across[-1].claim)} is far from the other depths of this tire.")


def _attention(line: Line) -> tuple[str, ...]:
    vote = line.voted
    doubts = [*line.claim.doubts, *line.doubts]
    if vote.confidence < SURE:
        rivals = "; ".join(words for words, _ in vote.rivals[:2])
        doubts.append(
            f"Not heard clearly (about {vote.confidence:.0%} sure)"
            + (f"; it could be: {rivals}." if rivals else ": listen to it.")
        )
    for mark in [*line.conditions, *([line.action] if line.action else [])]:
        doubts += mark.heard.claim.doubts
        if mark is not vote and mark.confidence < SURE:
            doubts.append(f"“{mark.heard.claim.name.replace('_', ' ')}” was not heard clearly: listen to it.")
    return tuple(dict.fromkeys(doubts))


def _finding(line: Line) -> SpokenFinding:
    vote, claim = line.voted, line.claim
    attention = _attention(line)
    reading = None
    if claim.kind == "reading":
        assert claim.value is not None
        given = f"about {vote.heard.given}" if claim.hedged else vote.heard.given
        reading = Reading(measure=claim.measure, value=claim.value, unit=claim.unit, as_given=given)
    names = [mark.heard.claim.name for mark in line.conditions]
    marks = [vote, *line.conditions, *([line.action] if line.action else [])]
    return SpokenFinding(
        component=claim.component,
        position=line.place,
        reading=reading,
        conditions=tuple(dict.fromkeys(n for n in names if n != "ok" or len(set(names)) == 1)),
        action=line.action.heard.claim.name if line.action else None,
        confidence=round(min(vote.confidence, DOUBTED if attention else 1.0), 3),
        alternatives=tuple(
            Alternative(value=o.value, unit=o.unit, weight=o.weight) for o in vote.options if o.weight >= 0.02
        ),
        attention=attention,
        start_s=round(min(m.heard.start_s for m in marks), 2),
        end_s=round(max(m.heard.end_s for m in marks), 2),
        text=vote.heard.text,
        date_code=claim.name if claim.kind == "code" else None,
        remarks=tuple(
            Remark(text=r.heard.text, start_s=round(r.heard.start_s, 2), end_s=round(r.heard.end_s, 2))
            for r in line.remarks
            if r is not vote and r.heard.text != vote.heard.text
        ),
    )


def orphans(voted: list[tuple[Voted, tuple[str, ...]]]) -> list[str]:
    """What was heard without a part it fits, as sentences for the record: nothing said is passed over."""
    sentences = []
    for vote, _ in voted:
        heard = vote.heard
        if heard.claim.kind == "orphan":
            at = f"{int(heard.start_s) // 60}:{int(heard.start_s) % 60:02d}"
            sentences.append(f"At {at} “{heard.given}” was heard, but not of which part: “{heard.text}”")
    return sentences


def assemble(voted: list[tuple[Voted, tuple[str, ...]]]) -> tuple[SpokenFinding, ...]:
    """Findings in the order said.

    Args:
        voted: claims in order of time, each with the doubts about the window it was heard in.
    """
    lines = _lines(voted)
    _number_points(lines)
    _question_repeats(lines)
    _question_treads(lines)
    return tuple(_finding(line) for line in lines)
