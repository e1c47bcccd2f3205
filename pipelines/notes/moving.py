"""What was said of one place belongs to another: "left front shock is leaking. Make that the right front"."""

import re
from dataclasses import replace

from pipelines.notes import corrections, repeats
from pipelines.notes.claims import Claim
from pipelines.notes.frame import Places, places_of
from pipelines.notes.items import Item
from pipelines.notes.walk import Walk

_MARKS = ("condition", "action")
# Cues behind which a place alone corrects the one before; behind the others it has to be said that it does.
_FIRM = ("correction", "mistake", "drop")
_LOOSE = ("pause", "negation")
_SAYS_SO = re.compile(
    r"\b(?:that's|that is|that was|it's|it is|it was|should be|make (?:it|that)|was the)\b", re.I
)
_AS_WELL = re.compile(r"\b(?:too|also|as well|likewise|both|same)\b", re.I)
_TOO = re.compile(r"(?:\s+(?:one|side|is|does))*\s*,?\s*(?:too|as well|also)\s*", re.I)
_EITHER = "A correction stood before it: it may be said of {} as well."
_NOT_THE = re.compile(r"\bnot\s+(?:on\s+|at\s+|in\s+)?(?:the\s+|that\s+)?$", re.I)


def moves(w: Walk) -> None:
    """Where a sentence only says that what was told last belongs elsewhere, move it there.

    What it says is used up; a second clause of the sentence is read as usual.
    """
    first = next((k for k, item in enumerate(w.row) if item.start >= w.sentence_start), len(w.row))
    group = repeats.told_last(w)
    if not any(claim.kind in _MARKS for claim in group):
        group = group[-1:]  # of several readings the last one is meant
    if not group or w.frame.correcting:
        return
    if _also(w, first, group[-1]):
        return
    for clause in _clauses(w, first):
        run = [k for k in clause if w.row[k].named("place") and not _denied(w, k)]
        if run and _only_tells_where(w, clause, run, group) and _corrects(w, first, run[0]):
            said_so = _SAYS_SO.search(w.text, w.sentence_start, w.row[run[0]].start) is not None
            anew = any(w.row[k].named("condition") for k in clause)
            asked = () if said_so or not anew else (_EITHER.format(group[-1].position.words()),)
            if said_so or group[-1].kind in _MARKS:
                _move(w, group, run, range(first, clause.stop), asked)
            return
        if run or not all(_says_nothing(w.row[k]) for k in clause):
            return


def _also(w: Walk, first: int, told: Claim) -> bool:
    """Whether the sentence is only a place to which the same applies: "right one too"."""
    rest = w.row[first:]
    end = next((k for k, item in enumerate(rest) if item.is_break and item.strong), len(rest))
    stop = rest[end].start if end < len(rest) else len(w.text)
    said = [item for item in rest[:end] if not item.is_break]
    run = [k for k in range(first, first + end) if w.row[k].named("place")]
    if told.kind not in _MARKS or not run or len(run) != len(said):
        return False
    last = w.row[run[-1]].end
    if _TOO.fullmatch(w.text, last, stop) is None or not (places := _places(w, run, told)):
        return False
    repeats.same(w, places, last)
    w.named_here = True
    w.taken.update(range(first, first + end))
    return True


def _clauses(w: Walk, first: int) -> list[range]:
    """The clauses of the sentence that item `first` opens."""
    clauses, start = [], first
    for k in range(first, len(w.row)):
        if w.row[k].is_break:
            clauses.append(range(start, k))
            start = k + 1
            if w.row[k].strong:
                return clauses
    return [*clauses, range(start, len(w.row))]


def _denied(w: Walk, k: int) -> bool:
    """Whether a place is said not to be the one: "not the right one, the left"."""
    while k and w.row[k - 1].named("place"):
        k -= 1
    return _NOT_THE.search(w.text, w.sentence_start, w.row[k].start) is not None


def _says_nothing(item: Item) -> bool:
    return item.number is None and not any(item.named(kind) for kind in ("component", *_MARKS))


def _only_tells_where(w: Walk, clause: range, run: list[int], group: list[Claim]) -> bool:
    """Whether a clause names one new place of the part told last, and says nothing else that is new."""
    told, names = group[-1], {claim.name for claim in group}
    end = w.row[clause.stop].start if clause.stop < len(w.row) else len(w.text)
    if _AS_WELL.search(w.text, w.sentence_start, end):
        return False
    for item in (w.row[k] for k in clause):
        component = item.named("component")
        if item.number is not None or (component is not None and component.name != told.component):
            return False
        if any(label.name not in names for kind in _MARKS if (label := item.named(kind)) is not None):
            return False
    places = _places(w, run, told)
    together = run == list(range(run[0], run[0] + len(run)))
    return together and any(getattr(told.position, axis) != value for axis, value in places.items())


def _places(w: Walk, run: list[int], told: Claim) -> Places:
    part = w.vocabulary.components[told.component]
    said = places_of([w.row[k] for k in run], part)
    return {axis: value for axis, value in said.items() if axis in part.axes}


def _corrects(w: Walk, first: int, place: int) -> bool:
    """Whether what stands before a place makes a correction of it."""
    before = w.row[first:place]
    said = w.text[w.sentence_start : w.row[place].start]
    if any(item.cue(name) for item in before for name in _FIRM):
        return True
    if any(item.cue("alone") and corrections.stands_alone(w, w.row.index(item)) for item in before):
        return True  # "wrong" alone, not "nothing wrong with the right one"
    loose = any(item.cue(name) for item in before for name in _LOOSE)
    return loose and (_SAYS_SO.search(said) is not None or any(_denied(w, k) for k in range(first, place)))


def _move(w: Walk, group: list[Claim], run: list[int], said: range, asked: tuple[str, ...]) -> None:
    places = _places(w, run, group[-1])
    start, end = w.row[run[0]].start, w.row[run[-1]].end
    w.frame.start(group[-1].component, {**group[-1].position.keys(), **places}, group[-1].weight)
    w.frame.note_header(places)
    moved = []
    for claim in group:
        if claim in w.claims:
            w.claims.remove(claim)
        else:
            corrections.drop_earlier(w, claim)
        position = claim.position.with_keys(**places)
        doubts = tuple(d for d in claim.doubts if not d.startswith("Nobody said which")) + asked
        moved.append(
            replace(claim, position=position, group=w.frame.group, start=start, end=end, doubts=doubts)
        )
    w.claims += moved
    w.frame.told, w.frame.content, w.named_here = moved, True, True
    w.frame.last = next((claim for claim in reversed(moved) if claim.kind == "reading"), w.frame.last)
    w.taken.update(said)
