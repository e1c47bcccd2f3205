"""Clues round a number: pauses, words that nothing explains, things that are merely counted."""

import re
from collections.abc import Container, Sequence
from decimal import Decimal
from itertools import pairwise

from models.transcript import Hypothesis
from models.vocabulary import Words
from pipelines.notes.items import Item

# A silence between two words that ends a sentence, in seconds.
PAUSE_S = 0.9
_WORD = re.compile(r"[^\W\d_]+(?:'[^\W\d_]+)*")


def pauses_of(hypothesis: Hypothesis) -> list[int]:
    """Offsets at which the speaker paused for long."""
    return [two.start for one, two in pairwise(hypothesis.words) if two.start_s - one.end_s >= PAUSE_S]


def _plain(word: str, plain: Container[str]) -> bool:
    """Whether a word names no part: a plain one, an adverb, a verb's "-ing" or "-ed" ("carrying")."""
    bare = word.removesuffix("'s")
    verb = (len(word) > 5 and word.endswith(("ing", "ly"))) or (len(word) > 4 and word.endswith("ed"))
    return word in plain or bare in plain or verb


def strange_words(text: str, start: int, end: int, row: Sequence[Item], plain: Container[str]) -> str:
    """The words between two offsets that no item explains and that are not plain; empty when none."""
    strange = []
    for match in _WORD.finditer(text, start, end):
        explained = any(i.start < match.end() and i.end > match.start() for i in row if not i.named("head"))
        word = match.group().lower()
        if not explained and len(word) > 2 and not _plain(word, plain):
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


_ENDED = re.compile(r"\s*,?\s*(?:is\s+)?(?:finished|completed?|done|again|once more|all set)\b", re.I)
_IS = re.compile(r"\s+(?:is|was|'s|had|has|got|goes|came|comes|runs|ran|needs)\b", re.I)


def names_something(text: str, item: Item, sentence_start: int) -> bool:
    """Whether a bare number opens its sentence as a name: "318 is good to go"."""
    assert item.number is not None
    bare = all(r.unit is None and r.kind in (None, "pair") for r in item.number.readings)
    bare = bare and all(
        r.value == r.value.to_integral_value() or r.kind == "pair" for r in item.number.readings
    )
    opens = text[sentence_start : item.start].lower().strip(" ,") in ("", "okay", "ok", "so", "alright")
    return bare and opens and any(said.match(text, item.end) for said in (_ENDED, _IS))


_DIFFERENCE = re.compile(
    r"\s+(?:of\s+)?(?:off|difference|apart|longer|shorter|lower|higher|thinner|thicker|worse|better)\b", re.I
)
_ON = re.compile(
    r"\b(?:on|know about|done with|through with|finished with|everything for|all for|all of)\s+$", re.I
)
_ENDS = re.compile(r"\s*(?:[.,;!?]|$)")


def tells_difference(text: str, item: Item) -> bool:
    """Whether a number compares two readings: "that's an eighth of an inch off"."""
    return _DIFFERENCE.match(text, item.end) is not None


def names_truck(text: str, item: Item) -> bool:
    """Whether a bare whole number closes a clause behind "on": "tires now on six fourteen"."""
    assert item.number is not None
    best = item.number.readings[0]
    bare = best.unit is None and best.kind is None and best.denominator is None
    whole = best.value == best.value.to_integral_value() and best.value > 12
    before = _ON.search(text, max(0, item.start - 20), item.start)
    return bare and whole and before is not None and _ENDS.match(text, item.end) is not None


def of_another(text: str, start: int, end: int, fillers: Words) -> bool:
    """Whether a sentence tells of another truck: "the last van was down at eleven".

    Args:
        text: as heard.
        start: offset of the clause.
        end: offset behind it.
        fillers: has the words for others, vehicles and times.
    """
    clause = f" {text[start:end].lower()} "
    others, vehicles = "|".join(fillers["others"]), "|".join(fillers["vehicles"])
    if re.search(rf"\b(?:a|any|every)\s+(?:{vehicles})\s+(?:has|have|gets|runs)\b|\bwhen\b.*\bnew\b", clause):
        return True
    whose = rf"(?:{others})\s+(?:\w+\s+)?|[^\W\d_]+(?:'s|s')\s+"
    return re.search(rf"\b(?:{whose})(?:{vehicles})s?\b", clause) is not None


def at_another_time(text: str, start: int, end: int, fillers: Words) -> bool:
    """Whether a clause tells of another time: "last summer it was thirty-one"; as for :func:`of_another`."""
    clause = f" {text[start:end].lower()} "
    return any(f" {time} " in re.sub(r"[^\w ]", " ", clause) for time in fillers["times"])


def told_by(text: str, start: int, end: int, fillers: Words) -> bool:
    """Whether a label, a book or a rule tells the number: "the label on it says seven fifty".

    Args:
        text: as heard.
        start: offset of the clause.
        end: offset of the number.
        fillers: has the words for sources and for how they tell.
    """
    sources, tells = "|".join(fillers["sources"]), "|".join(fillers["tells"])
    told = rf"\b(?:{sources})(?:\s+\w+){{0,4}}?\s+(?:{tells})(?!\s+go\b)\s+(?:\w+\s+){{0,3}}$"
    return re.search(told, text[start:end].lower()) is not None


_AFTER = re.compile(r"\s+after\s+[\w-]+(?:\s+\w+)?\s+(?:minute|min|second|sec|hour)s?\s*(?:[.,;]|$)", re.I)
_OPENS_WITH_THATS = re.compile(
    r"(?:okay|ok|so|alright|all right|well|and|[\s,])*(?:that's|that is|that was|that'll be|that makes)\s*",
    re.I,
)


def after_a_while(text: str, item: Item) -> bool:
    """Whether a number is what was left after a hold: "fourteen after five minutes"."""
    return _AFTER.match(text, item.end) is not None


def goes_on_with_thats(text: str, at: int) -> bool:
    """Whether "that's" stands at an offset: what was said before is said of something."""
    return re.match(r"\s*(?:that|this|it)(?:'s|'d|\s+is|\s+was)\b", text[at : at + 12], re.I) is not None


def opens_with_thats(text: str, sentence_start: int, at: int) -> bool:
    """Whether nothing but "okay, that's" stands before an offset in its sentence."""
    return _OPENS_WITH_THATS.fullmatch(text, sentence_start, at) is not None


_HOUR = re.compile(
    r"\b(?:done|ready|back|finished|here|there|home|leave|leaving|lunch|meeting|break|start|pick it up)"
    r"\s+(?:at|by|before|around|till|until)\s+$",
    re.I,
)


def tells_hour(text: str, item: Item) -> bool:
    """Whether a bare number is an hour of the day: "she'll be done at three"."""
    assert item.number is not None
    best = item.number.readings[0]
    bare = best.unit is None and best.kind is None and 0 < best.value < 13
    return bare and _HOUR.search(text, max(0, item.start - 30), item.start) is not None


_SETTING = re.compile(
    r"\b(?:fan|switch|knob|dial|selector|speed)\s+(?:(?:was|is|set|turned|still)\s+)*(?:on|at|to)\s+$", re.I
)
_BY_WHOM = re.compile(r"\s+(?:by|per|according to)\s+(?:the|its)\s+([^\W\d_]+)", re.I)


def tells_setting(text: str, item: Item) -> bool:
    """Whether a bare number is what a switch stands on: "the fan was on three"."""
    assert item.number is not None
    best = item.number.readings[0]
    return best.unit is None and _SETTING.search(text, max(0, item.start - 40), item.start) is not None


def told_behind(text: str, item: Item, fillers: Words) -> bool:
    """Whether a label or a book named behind a number tells it: "it's a six fifty by the label"."""
    by = _BY_WHOM.match(text, item.end)
    return by is not None and by.group(1).lower() in fillers["sources"]


_PAST = re.compile(r"\bafter\s+(?:the|that|those|my|our)\s+$", re.I)


def tells_past_hold(text: str, item: Item) -> bool:
    """Whether a bare number only says how long ago something was: "after the fifteen it was at eleven"."""
    assert item.number is not None
    bare = item.number.readings[0].unit is None and item.number.readings[0].kind is None
    return bare and _PAST.search(text, max(0, item.start - 20), item.start) is not None


_SURROUNDINGS = re.compile(
    r"\s+(?:degrees\s+)?(?:in|around) (?:(?:the|this) (?:shop|bay|garage|yard|building)|here)\b", re.I
)


def tells_surroundings(text: str, item: Item) -> bool:
    """Whether a number is said of the air round the truck: "eighty eight in the shop"."""
    return _SURROUNDINGS.match(text, item.end) is not None


_DOES = re.compile(r"\b(?:i|we|he|you|i've|we've)\s+(?:just\s+|already\s+)?$", re.I)


def somebody_does(text: str, item: Item, *, done: bool) -> bool:
    """Whether the word tells what somebody did, not how a part is: "I stuck the probe in", "we packed them".

    Args:
        text: as heard.
        item: the word.
        done: it counts only as something done: "we replaced it", not "we need a new one".
    """
    if done and re.match(r"\w{3,}(?<!ne)ed\b", text[item.start : item.end], re.I) is None:
        return False
    return _DOES.search(text, max(0, item.start - 20), item.start) is not None


_AS_LIMIT = re.compile(
    r"\s+(?:(?:is|was|'s|would be|'d be|at|about|the|our|my|a|legal|when|if|they|it|right)\s+)*", re.I
)
_IS_LIMIT = re.compile(
    r"\s+(?:is|was|would be)\s+(?:about\s+|the\s+|my\s+)*"
    r"(?:end|cutoff|limit|too much|most|least|as (?:low|high|far) as|where|when)\b"
    r"|\s+(?:is|was)\s+all\b[^.,;]*\b(?:allow|let|take|give|permit|want|go|lose|accept)(?:s|ed)?\b"
    r"|\s+(?:we|you|they|i'd)\s+(?:throw|toss|scrap|replace|change|pull|fail|condemn)\b",
    re.I,
)


def implies_limit(text: str, item: Item) -> bool:
    """Whether what follows sounds like a limit: "a quarter inch is where they'd park you"."""
    return _IS_LIMIT.match(text, item.end) is not None


def tells_limit(text: str, item: Item, behind: Sequence[Item]) -> bool:
    """Whether a number is said to be a limit: "six is the minimum".

    Args:
        text: as heard.
        item: the number.
        behind: the items behind it.
    """
    if not behind or not behind[0].cue("limit_talk"):
        return False
    match = _AS_LIMIT.fullmatch(text, item.end, behind[0].start)
    if match is None:
        return False
    # "one four, minimum one three": the words go with the number behind them
    return bool(match.group().strip()) or len(behind) < 2 or behind[1].number is None


def swallowed_two(text: str, item: Item, value: Decimal) -> bool:
    """Whether "two hundred two" may have become "200 to"."""
    if value != value.to_integral_value() or value < 20 or value % 10 != 0:
        return False
    return re.compile(r"\s+(?:to|too)\s+(?![\d]|the\b)[^\W\d_]", re.I).match(text, item.end) is not None


_REACHES = re.compile(
    r"(?:\b(?:up|down|back)|\b(?:came|comes|come|dropped|drops|drop|fell|falls|rose|climbed|went|goes|got|set"
    r"|charged?|pumped|pump|pressurized|torqued|tightened|brought|built)"
    r"(?:\s+(?!(?:to|at|is|was|of|by|in|with|for|and)\b)[^\W\d_]+){0,5})\s+$",
    re.I,
)


def swallowed_to(text: str, item: Item, value: Decimal) -> bool:
    """Whether "came up two hundred ten" may have been "came up to a hundred ten"."""
    return 200 <= value < 300 and _REACHES.search(text, 0, item.start) is not None
