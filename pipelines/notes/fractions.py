"""Parts of an inch, said or written, and what recognisers make of them."""

import re
from collections.abc import Iterator
from decimal import Decimal
from typing import NamedTuple

from pipelines.notes.integers import DENOMINATORS, small
from pipelines.notes.plain import Number, count
from pipelines.notes.tokens import Token

_VULGAR = {"½": (1, 2), "¼": (1, 4), "¾": (3, 4), "⅛": (1, 8), "⅜": (3, 8), "⅝": (5, 8), "⅞": (7, 8)}
_BINARY = (2, 4, 8, 16, 32, 64)
_ORDINAL = {"ths": "th", "th": "th", "nds": "nd", "nd": "nd", "s": "th", "'s": "th", "rds": "rd", "in": "th"}
_SECONDS = frozenset({"second", "seconds", "secs", "sec"})
# What is told in parts of an inch.
_LITTLE = frozenset({"play", "movement", "slop", "lash", "tread", "lining", "runout"})
# Of which half a one is said: "half a degree".
_WHOLE_UNITS = frozenset(
    {"inch", "thou", "mil", "millimeter", "millimetre", "degree", "volt", "amp", "ohm", "percent", "minute"}
)
_JOINTS = frozenset({"and", "&", "in", "an", "n", "a", "-", ","})


class Part(NamedTuple):
    """A fraction: numerator, denominator, index behind it, how usual this reading is."""

    top: int
    bottom: int
    end: int
    weight: float = 1.0


def _text(tokens: list[Token], i: int) -> str:
    return tokens[i].text if 0 <= i < len(tokens) else ""


def _denominator(tokens: list[Token], i: int) -> tuple[int, int] | None:
    """A denominator at `i`: "sixteenths", "thirty-seconds", "16ths", "32nd"; and the index behind it."""
    word = _text(tokens, i)
    if word in DENOMINATORS:
        return DENOMINATORS[word], i + 1
    if word in ("thirty", "sixty"):
        j = i + 2 if _text(tokens, i + 1) in "-‐‑–" and _text(tokens, i + 1) else i + 1
        if word == "thirty" and _text(tokens, j) in ("second", "seconds"):
            return 32, j + 1
        if word == "sixty" and _text(tokens, j) in ("fourth", "fourths", "forth", "forths"):
            return 64, j + 1
    if word.isdecimal() and int(word) in _BINARY and i + 1 < len(tokens):
        suffix = tokens[i + 1]
        if suffix.glued and suffix.text in ("ths", "th", "nds", "nd"):
            return int(word), i + 2
    if word == "30" and _text(tokens, i + 1) in ("second", "seconds"):
        return 32, i + 2
    return None


def _top(tokens: list[Token], i: int) -> tuple[int, int] | None:
    """A numerator from 1 to 63 in words or digits, and the index behind it."""
    word = _text(tokens, i)
    if word in ("a", "an"):
        return 1, i + 1
    if word.isdecimal() and 0 < int(word) < 64:
        return int(word), i + 1
    number = small(tokens, i)
    if number is None or not 0 < number.value < 64:
        return None
    return number.value, number.end


def _said(tokens: list[Token], i: int) -> Part | None:
    """For example "three sixteenths", "seven thirty-seconds", "3/16", "3 16ths", "half"."""
    token = tokens[i] if i < len(tokens) else None
    if token is None:
        return None
    if token.kind == "vulgar":
        return Part(*_VULGAR[token.text], i + 1)
    if token.text in ("half", "quarter"):
        return Part(1, DENOMINATORS[token.text], i + 1)
    top = _top(tokens, i)
    if top is None:
        return None
    value, j = top
    if _text(tokens, j) == "/" and _text(tokens, j + 1).isdecimal():
        bottom = int(tokens[j + 1].text)
        end = (
            j + 3 if j + 2 < len(tokens) and tokens[j + 2].glued and tokens[j + 2].text in _ORDINAL else j + 2
        )
        return Part(value, bottom, end) if bottom in _BINARY and value < bottom else None
    dashed = _text(tokens, j) in ("-", "–") and tokens[j].glued
    bottom_text = _text(tokens, j + 1)
    if dashed and token.kind == "num" and bottom_text in ("8", "16", "32", "64") and value % 2 == 1:
        bottom = int(bottom_text)  # "163 and 7-8"
        return Part(value, bottom, j + 2, 0.7) if value < bottom and tokens[j + 1].glued else None
    hyphen = j + 1 if dashed else j
    for at in (hyphen, j):
        bottom_at = _denominator(tokens, at)
        if bottom_at is not None and value < bottom_at[0]:
            return Part(value, bottom_at[0], bottom_at[1])
    return None


def _of_an_inch(tokens: list[Token], i: int) -> Part | None:
    """One part of an inch without its "a": "sixteenth of an inch", "sixteenth of play"."""
    bottom = _denominator(tokens, i)
    if bottom is None or not tokens[i].text.endswith("th"):
        return None
    behind = [_text(tokens, bottom[1] + k) for k in range(3)]
    said = behind == ["of", "an", "inch"] or (behind[0] == "of" and behind[1] in _LITTLE)
    return Part(1, bottom[0], bottom[1]) if said else None


def _slips(tokens: list[Token], i: int) -> Iterator[Part]:
    """Fractions that a recogniser ran together: "316ths", "730 seconds", "7.30 seconds", "7.32"."""
    token = tokens[i]
    if token.kind != "num":
        return
    suffix = tokens[i + 1] if i + 1 < len(tokens) else None
    run = re.fullmatch(r"(\d{1,2})(4|8|16|32|64)", token.text)
    if run and suffix and suffix.glued and suffix.text in ("ths", "th", "nds", "nd"):
        yield from _part(run, i + 2, 0.9)
    spoken = re.fullmatch(r"(\d{1,2})[.:]?(3)0", token.text)
    if spoken and suffix and suffix.text in _SECONDS:
        yield from _part_of(int(spoken.group(1)), 32, i + 2, 0.8)
    if spoken and "." in token.text and not (suffix and suffix.text in _SECONDS):
        yield from _part_of(int(spoken.group(1)), 32, i + 1, 0.2)
    if token.text.isdecimal() and 0 < int(token.text) < 32:
        gap = i + 2 if suffix and suffix.text in (",", "-", ".") else i + 1
        if _text(tokens, gap) in ("30", "32") and _text(tokens, gap + 1) in _SECONDS | {"nds", "nd"}:
            yield from _part_of(int(token.text), 32, gap + 2, 0.8)
    written = re.fullmatch(r"(\d{1,2})[.:](8|16|32|64)", token.text)
    if written:
        glued = suffix is not None and suffix.glued and suffix.text in ("nds", "nd", "ths")
        yield from _part(written, i + 2 if glued else i + 1, 0.8 if glued else 0.2)


def _part(match: re.Match[str], end: int, weight: float) -> Iterator[Part]:
    yield from _part_of(int(match.group(1)), int(match.group(2)), end, weight)


def _part_of(top: int, bottom: int, end: int, weight: float) -> Iterator[Part]:
    if 0 < top < bottom:
        yield Part(top, bottom, end, weight)


def _number(whole: Decimal, part: Part) -> Number:
    inches = part.bottom >= 8
    value = whole + Decimal(part.top) / Decimal(part.bottom)  # binary parts are exact in decimals
    return Number(
        value,
        part.end,
        unit="[in_i]" if inches and part.bottom > 8 else None,
        weight=part.weight,
        denominator=part.bottom,
    )


def part(tokens: list[Token], i: int) -> Iterator[Number]:
    """A fraction alone: "seven thirty-seconds", "3/16", "a sixteenth", "half an inch"."""
    found = _said(tokens, i) or _of_an_inch(tokens, i)
    if found is None:
        return
    end = found.end
    if _text(tokens, end) in ("an", "a") and _text(tokens, end + 1) in _WHOLE_UNITS:
        end += 1
    yield _number(Decimal(0), found._replace(end=end))


def slipped(tokens: list[Token], i: int) -> Iterator[Number]:
    """A fraction that the recogniser wrote as something else."""
    for found in _slips(tokens, i):
        yield _number(Decimal(0), found)


def mixed(tokens: list[Token], i: int) -> Iterator[Number]:
    """A whole number and a fraction: "thirteen and a half", "142 and 3/16", "142 and 316ths", "1-3/4"."""
    head = count(tokens, i)
    if head is None or head[0] != head[0].to_integral_value():
        return
    value, j = head
    joint = j
    while joint < len(tokens) and joint < j + 2 and tokens[joint].text in _JOINTS:
        joint += 1
    if joint == j and (tokens[j].text if j < len(tokens) else "") in ("half", "quarter"):
        return
    for at in {j, joint, max(j, joint - 1)}:
        for found in (_said(tokens, at), *(_slips(tokens, at) if at < len(tokens) else ())):
            if found is not None and _joins(tokens, j, at, found):
                yield _number(value, found)
    if joint == j + 1 and tokens[j].text == "and":
        for found in _run_together(tokens, joint):
            yield _number(value, found)
    dashed = _dashed(tokens, j)
    if dashed is not None:
        yield _number(value, dashed)


def _run_together(tokens: list[Token], i: int) -> Iterator[Part]:
    """For example "154 and 38": behind "and", a recogniser's three eighths."""
    token = tokens[i] if i < len(tokens) else None
    match = re.fullmatch(r"(\d{1,2})(8|16|32|64)", token.text) if token and token.kind == "num" else None
    if match and int(match.group(1)) % 2 == 1:
        yield from _part(match, i + 1, 0.8)


def _joins(tokens: list[Token], j: int, at: int, found: Part) -> bool:
    """Whether what stands between the whole number and the part joins them.

    "one three quarters" and "142 3/16" join without a word, "6, 4 eighths" does not.
    """
    between = [t.text for t in tokens[j:at]]
    if not between:
        return found.bottom != 32 or "/" in [t.text for t in tokens[at : found.end]]
    if between == [","] or (between == [",", "and"] and found.bottom == 32):
        return False  # "eight, seven, and five thirty seconds" is a list
    if between == ["a"] or between == ["an"]:
        return False
    if between == ["-"]:
        return tokens[j].glued
    return between[0] != "," or len(between) > 1


def _dashed(tokens: list[Token], j: int) -> Part | None:
    """For example "1-3-4 inches": a recogniser's one and three quarters."""
    texts = [_text(tokens, k) for k in range(j, j + 4)]
    if texts[0] == texts[2] == "-" and texts[1].isdecimal() and texts[3].isdecimal():
        top, bottom = int(texts[1]), int(texts[3])
        if bottom in _BINARY and 0 < top < bottom:
            return Part(top, bottom, j + 4, 0.8)
    return None


def inch_and(tokens: list[Token], i: int) -> Iterator[Number]:
    """For example "an inch and three quarters", "inch and a half", "two inches, and a quarter"."""
    value, j = Decimal(1), i
    if _text(tokens, i) in ("a", "an"):
        j = i + 1
    elif (head := count(tokens, i)) is not None and head[0] == head[0].to_integral_value():
        value, j = head
    if _text(tokens, j) not in ("inch", "inches"):
        return
    joint = j + 2 if _text(tokens, j + 1) == "," else j + 1
    if _text(tokens, joint) != "and":
        return
    for at in (joint + 1, joint + 2):
        found = _said(tokens, at)
        if found is not None and (at == joint + 1 or _text(tokens, joint + 1) in ("a", "an")):
            # "Two inches, and a quarter inch on the right" are two numbers.
            if joint == j + 1 or _text(tokens, found.end) not in ("inch", "inches", "on"):
                yield _number(value, found)._replace(unit="[in_i]")
            return
