"""Clues round a number: pauses, words that nothing explains, things that are merely counted."""

import re
from collections.abc import Sequence
from decimal import Decimal

from models.transcript import Hypothesis
from pipelines.notes.items import Item

# A silence between two words that ends a sentence, in seconds.
PAUSE_S = 0.9
_WORD = re.compile(r"[^\W\d_]+(?:'[^\W\d_]+)*")
# Words that may stand round a reading without naming a part.
_PLAIN = frozenset(
    """a about after again all also an and are as at be both but by check checked checking coming comes down each even
    exactly feels finding flat for from get gets getting give gives giving go goes going good got had has have here
    hot i i'm in indicator inspection is isn't it it's its just left like little looking looks lot measure measured
    measuring me my new next now number of off ok okay on one only or other our out over point read reading readings
    reads right running same says see seeing showed showing shows side so some spec steady still test that that's the
    their them then there there's these they this those to today too total turned under unit up was we we're well
    were what when which while with yeah yep you your okay first second third later warm cold rested dial gauge
    caliper micrometer meter sits sitting registers come weight""".split()
)


def pauses_of(hypothesis: Hypothesis) -> list[int]:
    """Offsets at which the speaker paused for long."""
    pairs = zip(hypothesis.words, hypothesis.words[1:], strict=False)
    return [two.start for one, two in pairs if two.start_s - one.end_s >= PAUSE_S]


def strange_words(text: str, start: int, end: int, row: Sequence[Item]) -> str:
    """The words between two offsets that no item explains and that are no plain words; empty when none."""
    strange = []
    for match in _WORD.finditer(text, start, end):
        explained = any(i.start < match.end() and i.end > match.start() for i in row)
        if not explained and match.group().lower() not in _PLAIN and len(match.group()) > 2:
            strange.append(match.group())
    return " ".join(strange[:4])


_SUBJECT = re.compile(r"([^\W\d_]+(?:\s+[^\W\d_]+)?)\s+(?:is|are|was|were|looks|has|have|'s)\b", re.I)


def unknown_subject(text: str, start: int, end: int, row: Sequence[Item]) -> str:
    """What a sentence is about when it names no known part: "the map orator is clogged"; else empty."""
    for match in _SUBJECT.finditer(text, start, end):
        strange = strange_words(text, match.start(1), match.end(1), row)
        if strange:
            return strange
    return ""


def counted_thing(text: str, item: Item, row: Sequence[Item]) -> str:
    """The thing that a bare number counts ("two axles"), or nothing.

    A number with a unit, or one that is followed by a name, a break or a plain word, counts no thing.
    """
    assert item.number is not None
    if any(r.unit or r.kind or (r.denominator or 0) > 8 for r in item.number.readings):
        return ""
    match = re.compile(r"\s+([^\W\d_]+)").match(text, item.end)
    if match is None or match.group(1).lower() in _PLAIN:
        return ""
    explained = any(i.start < match.end(1) and i.end > match.start(1) for i in row)
    return "" if explained else match.group(1)


def unlikely(doubts: Sequence[str], *, again: bool) -> bool:
    """Whether a number is no reading of this part at all: it counts things, or is impossible and not the first."""
    marks = ("may not be a reading", "outside what") if again else ("may not be a reading",)
    return any(mark in doubt for doubt in doubts for mark in marks)


def swallowed_two(text: str, item: Item, value: Decimal) -> bool:
    """Whether "two hundred two" may have become "200 to"."""
    if value != value.to_integral_value() or value < 20 or value % 10 != 0:
        return False
    return re.compile(r"\s+(?:to|too)\s+(?![\d]|the\b)[^\W\d_]", re.I).match(text, item.end) is not None
