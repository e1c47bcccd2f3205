"""English number words: whole numbers, digit strings and denominators.

The conventions of speech ("one ninety-five" is 195, "oh" is a zero) are
common practice of the trade with no published source.
"""

from typing import NamedTuple

from pipelines.notes.tokens import Token

DIGITS = {
    "zero": 0, "nought": 0, "naught": 0, "oh": 0, "o": 0, "one": 1, "two": 2, "three": 3, "four": 4,
    "five": 5, "six": 6, "seven": 7, "eight": 8, "nine": 9,
}  # fmt: skip
TEENS = {
    "ten": 10, "eleven": 11, "twelve": 12, "thirteen": 13, "fourteen": 14, "fifteen": 15, "sixteen": 16,
    "seventeen": 17, "eighteen": 18, "nineteen": 19,
}  # fmt: skip
TENS = {
    "twenty": 20, "thirty": 30, "forty": 40, "fourty": 40, "fifty": 50, "sixty": 60, "seventy": 70,
    "eighty": 80, "ninety": 90,
}  # fmt: skip
# Single words that name a part of one, and the denominator they stand for.
DENOMINATORS = {
    "half": 2, "halves": 2, "quarter": 4, "quarters": 4, "fourth": 4, "fourths": 4, "eighth": 8, "eighths": 8,
    "eights": 8, "forths": 4,
    "sixteenth": 16, "sixteenths": 16,
}  # fmt: skip


class Whole(NamedTuple):
    """A whole number said in words: its value and the index of the token behind it."""

    value: int
    end: int


def _word(tokens: list[Token], i: int) -> str:
    return tokens[i].text if i < len(tokens) and tokens[i].kind == "word" else ""


def skip_hyphen(tokens: list[Token], i: int) -> int:
    """The index behind a hyphen that joins two words, else `i`."""
    joined = i + 1 < len(tokens) and tokens[i].text in "-‐‑–" and tokens[i].glued and tokens[i + 1].glued
    return i + 1 if joined else i


def small(tokens: list[Token], i: int) -> Whole | None:
    """A number from zero to ninety-nine in words."""
    word = _word(tokens, i)
    if word in DIGITS:
        return Whole(DIGITS[word], i + 1)
    if word in TEENS:
        return Whole(TEENS[word], i + 1)
    if word in TENS:
        j = skip_hyphen(tokens, i + 1)
        unit = DIGITS.get(_word(tokens, j), 0)
        if unit:
            return Whole(TENS[word] + unit, j + 1)
        return Whole(TENS[word], i + 1)
    return None


def whole(tokens: list[Token], i: int) -> Whole | None:
    """The longest whole number in words that starts at `i`, up to 999,999.

    "one hundred forty two", "one forty two", "one ninety-five" and "two ten" are understood.
    """
    head = hundreds(tokens, i)
    if head is None:
        return None
    j = skip_hyphen(tokens, head.end)
    if _word(tokens, j) == "thousand" and 0 < head.value < 1000:
        rest_at = j + 1 if _word(tokens, j + 1) != "and" else j + 2
        rest = hundreds(tokens, rest_at)
        if rest is not None and 0 < rest.value < 1000 and _word(tokens, rest.end) not in _THOUSANDTH:
            return Whole(head.value * 1000 + rest.value, rest.end)
        return Whole(head.value * 1000, j + 1)
    return head


_THOUSANDTH = frozenset({"thousandth", "thousandths", "thou"})


def hundreds(tokens: list[Token], i: int) -> Whole | None:
    """A number up to 999 (or ninety-nine hundred) in words, the word "hundred" said or left out."""
    if _word(tokens, i) in ("a", "an") and _word(tokens, i + 1) == "hundred":
        return _after_hundred(tokens, i + 2, 100)
    if _word(tokens, i) == "hundred" and (i == 0 or not _counts_hundreds(tokens[i - 1])):
        return _after_hundred(tokens, i + 1, 100)  # "pressure is hundred and five"
    head = small(tokens, i)
    if head is None:
        return None
    j = skip_hyphen(tokens, head.end)
    if _word(tokens, j) == "hundred" and head.value:
        return _after_hundred(tokens, j + 1, head.value * 100)
    if 0 < head.value < 10 and _word(tokens, head.end) in TEENS.keys() | TENS.keys():
        tail = small(tokens, head.end)
        assert tail is not None
        return Whole(head.value * 100 + tail.value, tail.end)
    if 0 < head.value < 10 and _word(tokens, head.end) in ("oh", "o"):
        digit = DIGITS.get(_word(tokens, head.end + 1), 0)
        if digit:  # "one oh five"
            return Whole(head.value * 100 + digit, head.end + 2)
    return head


def _counts_hundreds(token: Token) -> bool:
    """Whether a word says how many hundreds there are, or leaves it open."""
    return token.kind == "num" or token.text in DIGITS.keys() | TEENS.keys() | TENS.keys() | _SOME


_SOME = frozenset({"few", "couple", "several", "many", "some", "half", "quarter", "-"})


def _after_hundred(tokens: list[Token], i: int, value: int) -> Whole:
    j = i + 1 if _word(tokens, i) == "and" else i
    tail = small(tokens, j)
    if tail is not None and tail.value:
        if tail.end < len(tokens) and tokens[tail.end].text in DENOMINATORS and _word(tokens, i) == "and":
            return Whole(value, i)  # "a hundred and three sixteenths": the tail belongs to a fraction
        return Whole(value + tail.value, tail.end)
    return Whole(value, i)


def decimals(tokens: list[Token], i: int) -> tuple[str, int]:
    """The digits said behind "point", and the index behind them.

    "oh oh three" is 003, "forty five" is 45, "one forty two" is 142; numerals count as they stand.
    """
    digits = ""
    while i < len(tokens):
        token = tokens[i]
        if token.kind == "num" and token.text.isdecimal():
            digits, i = digits + token.text, i + 1
        elif token.text in DIGITS:
            digits, i = digits + str(DIGITS[token.text]), i + 1
        elif token.text in TEENS.keys() | TENS.keys():
            number = small(tokens, i)
            assert number is not None
            digits, i = digits + str(number.value), number.end
        else:
            break
    return digits, i
