"""Clues round a number: pauses, words that nothing explains, things that are merely counted."""

import re
from collections.abc import Container, Sequence
from decimal import Decimal
from itertools import pairwise

from models.transcript import Hypothesis
from pipelines.notes.items import Item

# A silence between two words that ends a sentence, in seconds.
PAUSE_S = 0.9
_WORD = re.compile(r"[^\W\d_]+(?:'[^\W\d_]+)*")


def pauses_of(hypothesis: Hypothesis) -> list[int]:
    """Offsets at which the speaker paused for long."""
    return [two.start for one, two in pairwise(hypothesis.words) if two.start_s - one.end_s >= PAUSE_S]


def strange_words(text: str, start: int, end: int, row: Sequence[Item], plain: Container[str]) -> str:
    """The words between two offsets that no item explains and that are not plain; empty when none."""
    strange = []
    for match in _WORD.finditer(text, start, end):
        explained = any(i.start < match.end() and i.end > match.start() for i in row)
        if not explained and match.group().lower() not in plain and len(match.group()) > 2:
            strange.append(match.group())
    return " ".join(strange[:4])


_SUBJECT = re.compile(r"([^\W\d_]+(?:\s+[^\W\d_]+)?)(?:'s|\s+(?:is|are|was|were|looks|has|have))\b", re.I)


def unknown_subject(text: str, start: int, end: int, row: Sequence[Item], plain: Container[str]) -> str:
    """What a sentence is about when it names no known part: "the map orator is clogged"; else empty."""
    for match in _SUBJECT.finditer(text, start, end):
        strange = strange_words(text, match.start(1), match.end(1), row, plain)
        if strange:
            return strange
    return ""


def counted_thing(
    text: str, item: Item, row: Sequence[Item], plain: Container[str], pieces: Container[str]
) -> str:
    """The thing that a bare number counts ("two axles"), or nothing.

    A number with a unit, or one that is followed by a name, a break or a plain word, counts no thing.
    """
    assert item.number is not None
    if any(r.unit or r.kind or (r.denominator or 0) > 8 for r in item.number.readings):
        return ""
    match = re.compile(r"\s+([^\W\d_]+)").match(text, item.end)
    if match is None:
        return ""
    if match.group(1).lower() in pieces:
        return match.group(1)
    if match.group(1).lower() in plain:
        return ""
    explained = any(i.start < match.end(1) and i.end > match.start(1) for i in row)
    return "" if explained else match.group(1)


def unlikely(doubts: Sequence[str], *, again: bool) -> bool:
    """Whether a number is no reading of this part: it counts things, or is impossible and not the first."""
    marks = ("may not be a reading", "outside what") if again else ("may not be a reading",)
    return any(mark in doubt for doubt in doubts for mark in marks)


_IS = re.compile(r"\s+(?:is|was|'s)\b", re.I)


def names_something(text: str, item: Item, sentence_start: int) -> bool:
    """Whether a bare number opens its sentence as a name: "318 is good to go"."""
    assert item.number is not None
    bare = all(r.unit is None and r.kind in (None, "pair") for r in item.number.readings)
    opening = text[sentence_start : item.start].lower().strip(" ,")
    return bare and opening in ("", "okay", "ok", "so", "alright") and _IS.match(text, item.end) is not None


_AS_LIMIT = re.compile(r"\s+(?:is|was|'s)\s+(?:(?:about|the|our|my|a)\s+)*", re.I)
_MOST = re.compile(r"(?:all|most|least|as (?:low|high|far) as)\b", re.I)


def tells_limit(text: str, item: Item, following: Item | None) -> bool:
    """Whether a number is said to be a limit: "two pounds is all I'd let it lose", "six is the minimum"."""
    match = _AS_LIMIT.match(text, item.end)
    if match is None:
        return False
    cue = following is not None and following.start == match.end() and following.cue("limit_talk")
    return cue or _MOST.match(text, match.end()) is not None


def swallowed_two(text: str, item: Item, value: Decimal) -> bool:
    """Whether "two hundred two" may have become "200 to"."""
    if value != value.to_integral_value() or value < 20 or value % 10 != 0:
        return False
    return re.compile(r"\s+(?:to|too)\s+(?![\d]|the\b)[^\W\d_]", re.I).match(text, item.end) is not None
