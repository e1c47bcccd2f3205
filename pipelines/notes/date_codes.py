"""The date code of a tire: "date code thirty-two nineteen" is week 32 of 2019."""

import re

from pipelines.notes import repeats
from pipelines.notes.claims import Claim
from pipelines.notes.doubts import place_doubts
from pipelines.notes.frame import places_of
from pipelines.notes.integers import DIGITS, TEENS, TENS, skip_hyphen
from pipelines.notes.tokens import Token, tokens
from pipelines.notes.walk import Walk

_TIRE = "tire"
_LENGTH = 4
# What may stand between the cue and the digits: "date code on this one reads ..., 3219".
_BETWEEN = (
    "is",
    "reads",
    "says",
    "it",
    "of",
    "on",
    "this",
    "that",
    "the",
    "number",
    "one's",
    "'s",
    ":",
    ",",
    "#",
)
_MOST_BETWEEN = 5
_TIRE_ONLY = re.compile(r"\b(?:dot|d\.? ?o\.? ?t\.?|tire|tyre)\b", re.I)


def date_code(w: Walk, i: int) -> int:
    """State the date code that follows the cue of item `i`.

    Returns:
        Index of the item to go on with; `i` itself when no number follows, or when it is not of a tire.
        A code whose digits cannot be read is stated without them.
    """
    item, frame = w.row[i], w.frame
    said = _TIRE_ONLY.search(w.text[item.start : item.end]) is not None
    if frame.component != _TIRE and not said:
        return i
    found = _digits(w.text, item.end)
    if found is None and not _number_follows(w, i):
        return i
    digits, end = _corrected(w, found) if found else ("", item.end)
    part = w.vocabulary.components[_TIRE]
    if frame.component != _TIRE:
        frame.start(_TIRE, places_of(w.pending, part), 1.0)
        w.pending = []
    claim = Claim(
        kind="code",
        component=_TIRE,
        position=frame.position(part).with_keys(spot=None),
        group=frame.group,
        start=item.start,
        end=end,
        name=digits,
        given=w.text[item.start : end].strip(),
        doubts=place_doubts(w),
        weight=frame.name_weight,
    )
    w.claims.append(claim)
    frame.content = True
    if frame.both:
        repeats.spread(w, frame.both)
    if not digits:
        w.muted = "segment"
    return next((k for k in range(i + 1, len(w.row)) if w.row[k].start >= end), len(w.row))


def _number_follows(w: Walk, i: int) -> bool:
    """Whether a number stands in the rest of the segment: something was said that could not be read."""
    for item in w.row[i + 1 :]:
        if item.is_break:
            return False
        if item.number is not None:
            return True
    return False


def _corrected(w: Walk, found: tuple[str, int]) -> tuple[str, int]:
    """The digits, or those that a correction right behind puts in their place."""
    for item in w.row:
        if item.start < found[1] or item.is_break:
            continue
        again = _digits(w.text, item.end) if item.cue("correction") or item.cue("drop") else None
        return again or found
    return found


def _digits(text: str, start: int) -> tuple[str, int] | None:
    """The three or four digits said behind an offset, and the offset behind them."""
    row = tokens(text[start : start + 80])
    i = 0
    while i < len(row) and i < _MOST_BETWEEN and row[i].text in _BETWEEN:
        i += 1
    digits = ""
    while i < len(row) and len(digits) < _LENGTH:
        # Week and year may be parted: "32-19", "thirty-two, nineteen".
        i += len(digits) == _LENGTH // 2 and row[i].kind == "mark" and i + 1 < len(row)
        group, after = _group(row, i)
        if not group or len(digits) + len(group) > _LENGTH:
            break
        digits, i = digits + group, after
    if len(digits) < _LENGTH - 1 or _goes_on(row, i):
        return None
    return digits, start + row[i - 1].end


def _goes_on(row: list[Token], i: int) -> bool:
    """Whether more digits follow at once: then it is a longer number."""
    return i < len(row) and row[i].kind == "num" and row[i].glued


def _group(row: list[Token], i: int) -> tuple[str, int]:
    """One group of digits: ``3219``, ``32.19``, ``32``, "thirty-two", "nineteen", "oh one", "three"."""
    token = row[i]
    if token.kind == "num":
        return re.sub(r"\D", "", token.text), i + 1
    if token.text in TEENS:
        return str(TEENS[token.text]), i + 1
    if token.text in TENS:
        j = skip_hyphen(row, i + 1)
        unit = DIGITS.get(row[j].text, 0) if j < len(row) else 0
        return (str(TENS[token.text] + unit), j + 1) if unit else (str(TENS[token.text]), i + 1)
    if token.text in DIGITS:
        return str(DIGITS[token.text]), i + 1
    return "", i
