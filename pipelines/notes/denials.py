"""Conditions that are said not to be: "not cracked", "does not appear to leak"."""

import re

from models.places import Position
from pipelines.notes import corrections
from pipelines.notes.walk import Walk

_NO = re.compile(
    r"\b(?:no|not(?! only| just)|nothing|none|never|neither|nor|without"
    r"|(?:is|are|was|were|do|does|did|could|would|has|have|ca|wo|ai)n't|cannot)\b",
    re.I,
)
# So few words between a denial and a condition part them never: "not enough to drip".
_CLOSE = 2
# "Not only cracked", "not badly worn": it is all the same.
_SHADES = frozenset(("only", "just", "bad", "badly", "good", "too", "very"))
# What may stand between a denial and what is denied, beside names of parts, places and conditions.
_DENIED = re.compile(
    r"(?:\s+(?:an?|any|anything|much|signs?|traces?|evidence|of|the|that|this|really|actually|yet|even|seem(?:s|ing)?"
    r"|appear(?:s|ing)?|look(?:s|ing)?|to|be|being|been|find|found|finding|see|saw|seen|seeing|notice|noticed|feel|felt"
    r"|call|visible|obvious|or|nor|on|in|at|wear|new|other|single|there|anywhere|get|getting"
    r"|more|longer|have|having|had|got))*\s*",
    re.I,
)
_OR = re.compile(r"\s+(?:or|nor)\s+(?:an?\s+|any\s+)?", re.I)


def denied(w: Walk, i: int) -> str:
    """The condition that is said not to be: "not cracked", also where both words are one phrase; or empty."""
    label = w.row[i].named("condition")
    assert label is not None
    if label.name != "ok":
        return label.name if negated(w, i) else ""
    no, _, rest = w.text[w.row[i].start : w.row[i].end].lower().partition(" ")
    names = (name for name, phrases in w.vocabulary.conditions.items() if rest in phrases)
    return next(names, "") if no in ("no", "not", "isn't") else ""


def of_what_was_told(w: Walk, i: int, condition: str) -> bool:
    """Whether a clause without part and place denies what was told last: "not a leak, rather a seep"."""
    end = next((k for k in range(i, len(w.row)) if w.row[k].is_break), len(w.row))
    if any(item.named("place") or item.named("component") for item in w.row[i:end]):
        return False
    last = (w.claims or w.frame.told)[-1:]
    return [(c.kind, c.name, c.component) for c in last] == [("condition", condition, w.frame.component)]


def take_back(w: Walk, condition: str, position: Position) -> None:
    """A condition that is denied for the same part at the same place no longer holds."""
    for k in range(len(w.claims) - 1, -1, -1):
        claim = w.claims[k]
        if (claim.kind, claim.name, claim.component) == ("condition", condition, w.frame.component):
            if _covers(claim.position, position):
                del w.claims[k]
            return
    told = (
        c
        for c in w.frame.told
        if c.kind == "condition" and (c.name, c.component) == (condition, w.frame.component)
    )
    earlier = next((claim for claim in told if _covers(claim.position, position)), None)
    if earlier is not None:
        corrections.drop_earlier(w, earlier)


def negated(w: Walk, i: int) -> bool:
    """Whether a condition is denied: "not cracked", "does not appear to leak", "neither bent nor torn"."""
    cue = w.row[i - 1] if i else None
    gap = w.text[cue.end : w.row[i].start].split() if cue is not None else []
    if cue is not None and cue.cue("negation") and len(gap) <= _CLOSE and _SHADES.isdisjoint(gap):
        return True
    start = next((item.end for item in reversed(w.row[:i]) if item.is_break), 0)
    before = w.text[start : w.row[i].start]
    denial = next(reversed(list(_NO.finditer(before))), None)
    if denial is None:
        return False
    named = [item for item in w.row[:i] if item.start >= start + denial.end()]
    if any(item.number is not None or item.named("action") for item in named):
        return False
    marks = [item for item in named if item.named("condition")]
    # "Doesn't look good cracked": without "or" a denial does not reach beyond another condition.
    if marks and not _OR.fullmatch(w.text, marks[-1].end, w.row[i].start):
        return False
    words = list(before[denial.end() :])
    for item in named:
        if not item.cue("negation"):
            at = item.start - start - denial.end()
            words[at : at + item.end - item.start] = " " * (item.end - item.start)
    return _DENIED.fullmatch("".join(words)) is not None


def _covers(told: Position, denied: Position) -> bool:
    """Whether what is denied without all of its place may be what was told."""
    return all(told.keys().get(axis) == value for axis, value in denied.keys().items())
