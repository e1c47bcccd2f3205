"""Whole numbers, decimals and numerals, said or written."""

import re
from collections.abc import Iterator
from decimal import Decimal
from typing import NamedTuple

from pipelines.notes.integers import DIGITS, TEENS, TENS, decimals, small, whole
from pipelines.notes.tokens import Token

_POINTS = frozenset(
    {"freeze", "freezing", "boil", "boiling", "set", "high", "low", "check", "measuring", "dew"}
)


class Number(NamedTuple):
    """A number before its unit is looked at.

    Attributes:
        value: with exactly the decimals given.
        end: index of the token behind it.
        unit: UCUM code that the form itself fixes (thousandths are inches), or None.
        kind: ``pair`` for "twelve six", which is 12.6 of volts only.
        weight: how usual this reading of the form is, 0 to 1.
        doubt: a sentence when a person has to decide.
        denominator: of a fraction.
        closed: the form takes no unit behind it.
    """

    value: Decimal
    end: int
    unit: str | None = None
    kind: str | None = None
    weight: float = 1.0
    doubt: str | None = None
    denominator: int | None = None
    closed: bool = False


def _at(tokens: list[Token], i: int) -> str:
    return tokens[i].text if i < len(tokens) else ""


def written(text: str) -> tuple[Decimal, str | None] | None:
    """The value of a numeral and a doubt about it, or None when it is no plain number ("7:30").

    A comma before exactly three digits groups thousands, before one or two it is a metric decimal comma.
    """
    if ":" in text:
        return None
    if re.fullmatch(r"\d+(\.\d){2,}", text):  # a decoder's spelled digits: 1.2.1.0
        head, _, rest = text.partition(".")
        return Decimal(f"{head}.{rest.replace('.', '')}"), f"“{text}” was taken as one number."
    if "," not in text:
        return (Decimal(text), None) if text.count(".") <= 1 else None
    if re.fullmatch(r"\d{1,3}(,\d{3})+(\.\d+)?", text):
        return Decimal(text.replace(",", "")), None
    if re.fullmatch(r"\d+,\d{1,2}", text):
        return Decimal(text.replace(",", ".")), None
    if re.fullmatch(r"\d{1,3}(,\d{1,3})+", text):
        return Decimal(
            text.replace(",", "")
        ), f"The digits of “{text}” are grouped oddly: some may be missing."
    return None


def numeral(tokens: list[Token], i: int) -> Iterator[Number]:
    """A number written in digits: 6, 12.45, .003, 112,306."""
    if tokens[i].kind != "num":
        return
    found = written(tokens[i].text)
    if found is not None and not ordinal(tokens, i):
        # "12.000" is how a recogniser writes twelve thousandths more often than what anybody says.
        odd = re.fullmatch(r"\d{1,3}\.000", tokens[i].text) is not None
        if _at(tokens, i + 1) == "thousand":
            yield Number(found[0] * 1000, i + 2)
            return
        rest = _rest_of_hundred(tokens, i + 1) if found[0] in range(100, 1000, 100) else None
        if rest is not None:
            yield Number(found[0] + rest, i + 3)
        else:
            yield Number(found[0], i + 1, doubt=found[1], weight=0.3 if odd else 1.0)


def _rest_of_hundred(tokens: list[Token], i: int) -> int | None:
    """The "and 80" of "500 and 80", which is how a recogniser writes five hundred and eighty; else None."""
    rest, beyond = _at(tokens, i + 1), _at(tokens, i + 2)
    if _at(tokens, i) != "and" or not re.fullmatch(r"[1-9]\d?", rest) or beyond == "/":
        return None
    return int(rest)


def ordinal(tokens: list[Token], i: int) -> bool:
    """Whether the numeral at `i` is a part or a rank ("16th", "3rd"), not a count."""
    suffix = tokens[i + 1] if i + 1 < len(tokens) else None
    return (
        suffix is not None and suffix.glued and suffix.text in ("th", "ths", "nd", "nds", "rd", "rds", "st")
    )


def words(tokens: list[Token], i: int) -> Iterator[Number]:
    """A whole number in words."""
    number = whole(tokens, i)
    if number is None or tokens[i].text in ("o", "oh"):
        return
    yield Number(Decimal(number.value), number.end)


def decimal(tokens: list[Token], i: int) -> Iterator[Number]:
    """Digits round a spoken point: "twelve point oh five", "point oh oh three", "12 point 45"."""
    head, j = "", i
    if tokens[i].kind == "num" and tokens[i].text.isdecimal():
        head, j = tokens[i].text, i + 1
    elif (number := whole(tokens, i)) is not None:
        head, j = str(number.value), number.end
    if _at(tokens, j) not in ("point", "dot") or (j == i and _names_a_point(tokens, i)):
        return
    digits, end = decimals(tokens, j + 1)
    if digits:
        yield Number(Decimal(f"{head or '0'}.{digits}"), end)


def _names_a_point(tokens: list[Token], i: int) -> bool:
    """For example "freeze point", "boiling point", "set point": no decimal point."""
    return i > 0 and tokens[i - 1].text in _POINTS


def _two_digits(tokens: list[Token], i: int) -> tuple[int, int] | None:
    """A number from 1 to 99, in words or digits, and the index behind it."""
    token = tokens[i] if i < len(tokens) else None
    if token is None:
        return None
    if token.kind == "num":
        return (int(token.text), i + 1) if re.fullmatch(r"[1-9]\d?", token.text) else None
    number = small(tokens, i)
    return (number.value, number.end) if number and number.value else None


def pair(tokens: list[Token], i: int) -> Iterator[Number]:
    """Two numbers in a row that are one voltage: "twelve six" is 12.6 V, "twelve five eight" 12.58 V.

    Common practice of the trade, no published source. Only for 10 to 30, so that lists stay lists.
    """
    head = _two_digits(tokens, i)
    if head is None or not 10 <= head[0] <= 30 or tokens[i].text in TENS.keys() - {"twenty", "thirty"}:
        return
    value, j = head
    if _at(tokens, j) in ("oh", "o", "zero"):
        tail = _two_digits(tokens, j + 1)
        if tail and tail[0] < 10:
            yield Number(Decimal(f"{value}.0{tail[0]}"), tail[1], kind="pair", weight=0.9)
        return
    tail = _two_digits(tokens, j)
    if tail is None:
        return
    last = DIGITS.get(_at(tokens, tail[1])) if tail[0] < 10 else None
    if _two_digits(tokens, tail[1] + (last is not None)) is not None:
        return  # "fifteen one twenty" is more than a pair
    if last is not None:
        yield Number(Decimal(f"{value}.{tail[0]}{last}"), tail[1] + 1, kind="pair", weight=0.9)
    else:
        yield Number(Decimal(f"{value}.{tail[0]}"), tail[1], kind="pair", weight=0.9)


def count(tokens: list[Token], i: int) -> tuple[Decimal, int] | None:
    """A whole or decimal number, in words or digits, that something else goes on from."""
    for production in (decimal, numeral, words):
        for number in production(tokens, i):
            return number.value, number.end
    return None


def digit_run(tokens: list[Token], i: int) -> tuple[str, int]:
    """Digits said one by one or in pairs, as for a unit: "four one seven", "one twelve 306"."""
    digits = ""
    while i < len(tokens):
        token = tokens[i]
        if token.kind == "num" and token.text.replace(",", "").isdecimal():
            digits, i = digits + token.text.replace(",", ""), i + 1
        elif token.text in DIGITS and token.text not in ("o",):
            digits, i = digits + str(DIGITS[token.text]), i + 1
        elif token.text in TEENS or token.text in TENS:
            number = small(tokens, i)
            assert number is not None
            digits, i = digits + str(number.value), number.end
        else:
            break
    return digits, i
