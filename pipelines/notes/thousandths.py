"""Thousandths of an inch, said or written, and what recognisers make of them."""

import re
from collections.abc import Iterator
from decimal import Decimal

from pipelines.notes.integers import DENOMINATORS, DIGITS, hundreds
from pipelines.notes.plain import Number, count, numeral
from pipelines.notes.tokens import Token

INCH = "[in_i]"
_WORDS = frozenset(
    {"thousandth", "thousandths", "thou", "thous", "thousands", "mils", "thousand", "thousanths"}
)
_SUFFIX = frozenset({"ths", "th", "s", "'s", "th's", "ths'", "ts"})


def _text(tokens: list[Token], i: int) -> str:
    return tokens[i].text if 0 <= i < len(tokens) else ""


def _thousandth(count_: Decimal) -> Decimal:
    """A thousandth of it, with three decimals at least, as a technician writes it."""
    value = count_ / 1000
    return value if value.as_tuple().exponent <= -3 else value.quantize(Decimal("0.001"))  # type: ignore[operator]


def _ten(what: str) -> str:
    return f"“{what}” can mean 0.010 in or 0.0001 in: ask or measure again."


def thousandths(tokens: list[Token], i: int) -> Iterator[Number]:
    """For example "thirty thousandths", "25 thou", "two and a half thou", "half a thou", "30,000ths"."""
    yield from _written(tokens, i)
    yield from _tenths(tokens, i)
    yield from _hundredths(tokens, i)
    found = _counted(tokens, i)
    if found is None:
        return
    value, j = found
    if _digit_and_ten(tokens, i) and found[1] == i + 2:
        return  # "two ten-thousandths": `_tenths` asks
    if _text(tokens, j) in ("-", "–") and j + 1 < len(tokens) and tokens[j].glued:
        j += 1
    word = _text(tokens, j)
    if word not in _WORDS:
        return
    end = j + 3 if [_text(tokens, j + 1), _text(tokens, j + 2)] == ["an", "inch"] else j + 1
    if [_text(tokens, j + k) for k in (1, 2, 3)] == ["of", "an", "inch"]:
        end = j + 4
    if 0 < value < 1 and _text(tokens, i) not in ("half", "a"):
        # "0.030 thousandths": the decimals already are thousandths
        doubt = f"“{value} thousandths” says thousandths twice: read as {value} in."
        yield Number(value, end, unit=INCH, weight=0.7, doubt=doubt, closed=True)
        return
    if word == "thousand":
        # Said of a truck it can also be miles; the part decides.
        yield Number(_thousandth(value), end, unit=INCH, weight=0.5, closed=True)
        return
    if value == 10 and word not in ("thou", "thous", "mils"):
        doubt = _ten("ten thousandths")
        yield Number(_thousandth(value), end, unit=INCH, weight=0.6, doubt=doubt, closed=True)
        yield Number(Decimal("0.0001"), end, unit=INCH, weight=0.4, doubt=doubt, closed=True)
        return
    extra, end = _and_tenths(tokens, end)
    yield Number(_thousandth(value) + extra, end, unit=INCH, closed=True)


def _and_tenths(tokens: list[Token], i: int) -> tuple[Decimal, int]:
    """Parts of a thousandth: "three thousandths and a tenth" is 0.0031; "a thousandth and a half"."""
    if _text(tokens, i) != "and":
        return Decimal(0), i
    if [_text(tokens, i + 1), _text(tokens, i + 2)] == ["a", "half"]:
        return Decimal("0.0005"), i + 3
    few = 1 if _text(tokens, i + 1) == "a" else DIGITS.get(_text(tokens, i + 1), 0)
    if few and _text(tokens, i + 2) in ("tenth", "tenths"):
        return Decimal(few) / 10000, i + 3
    return Decimal(0), i


def _counted(tokens: list[Token], i: int) -> tuple[Decimal, int] | None:
    """How many thousandths: a number, a number and a half, or half of one."""
    word = _text(tokens, i)
    if word == "hundred":
        return Decimal(100), i + 1
    if word == "half" and _text(tokens, i + 1) in ("a", "of"):
        j = i + 3 if [_text(tokens, i + 1), _text(tokens, i + 2)] == ["of", "a"] else i + 2
        return Decimal("0.5"), j
    if word in ("a", "one") and _text(tokens, i + 1) in ("thou", "thousandth"):
        return Decimal(1), i + 1
    head = _spoken(tokens, i)
    if head is None:
        return None
    value, j = head
    if _text(tokens, j) == "and" and _text(tokens, j + 1) in ("a", "one"):
        part = DENOMINATORS.get(_text(tokens, j + 2))
        if part is not None:
            return value + Decimal(1) / part, j + 3
    return value, j


def _spoken(tokens: list[Token], i: int) -> tuple[Decimal, int] | None:
    # "thirty thousand" must not be taken as one number here.
    number = hundreds(tokens, i)
    if number is not None and _text(tokens, number.end) not in ("point", "dot"):
        return Decimal(number.value), number.end
    return count(tokens, i)


def _written(tokens: list[Token], i: int) -> Iterator[Number]:
    """For example "30,000ths", "30,000's", "30,000", "20.000": a recogniser's thirty thousandths."""
    token = tokens[i]
    match = re.fullmatch(r"(\d{1,3}),?000", token.text) if token.kind == "num" else None
    if match:
        suffixed = i + 1 < len(tokens) and tokens[i + 1].glued and tokens[i + 1].text in _SUFFIX
        yield from _slip(Decimal(match.group(1)), i + 2 if suffixed else i + 1, 0.9 if suffixed else 0.5)
        if not suffixed:
            for number in numeral(tokens, i):
                yield number._replace(weight=0.5)
        return
    dotted = re.fullmatch(r"(\d{1,3})\.(0{2,3})", token.text) if token.kind == "num" else None
    if dotted:
        suffixed = i + 1 < len(tokens) and tokens[i + 1].glued and tokens[i + 1].text in _SUFFIX
        weight = 0.9 if suffixed else 0.8 if dotted.group(2) == "000" else 0.4
        yield from _slip(Decimal(dotted.group(1)), i + 2 if suffixed else i + 1, weight)


def _slip(value: Decimal, end: int, weight: float) -> Iterator[Number]:
    doubt = _ten("ten thousandths") if value == 10 and weight > 0.5 else None
    yield Number(_thousandth(value), end, unit=INCH, weight=weight, doubt=doubt, closed=True)


def _tenths(tokens: list[Token], i: int) -> Iterator[Number]:
    """For example "three ten-thousandths", 0.0003; "three tenths", 0.3 or 0.0003, is asked about."""
    head = hundreds(tokens, i)
    if head is None:
        if _text(tokens, i) == "a" and _text(tokens, i + 1) == "tenth" and _of_no_inch(tokens, i + 2):
            yield Number(Decimal("0.1"), i + 2)  # "a tenth of a millimeter"
        return
    value, j = Decimal(head.value), head.end
    if _text(tokens, j) in ("tenth", "tenths"):
        if _of_no_inch(tokens, j + 1):
            yield Number(value / 10, j + 1)  # "three tenths of a volt"
            return
        doubt = f"“{head.value} tenths” can mean {value / 10} or {value / 10000:f} in: ask or measure again."
        yield Number(value / 10, j + 1, weight=0.5, doubt=doubt)
        yield Number(value / 10000, j + 1, unit=INCH, weight=0.5, doubt=doubt, closed=True)
        return
    if not _digit_and_ten(tokens, i):
        return
    k = j + 1 if _text(tokens, j) in ("-", "–") else j
    if _text(tokens, k) in ("thousandths", "thousandth"):
        few = Decimal(DIGITS[_text(tokens, i)])
        doubt = (
            f"“{few} ten thousandths” can mean {few / 10000:f} or {value / 1000} in: ask or measure again."
        )
        yield Number(few / 10000, k + 1, unit=INCH, weight=0.6, doubt=doubt, closed=True)
        yield Number(_thousandth(value), k + 1, unit=INCH, weight=0.4, doubt=doubt, closed=True)


def _of_no_inch(tokens: list[Token], i: int) -> bool:
    """Whether "of a" and another unit than the inch follow."""
    return _text(tokens, i) == "of" and _text(tokens, i + 1) in ("a", "an") and _text(tokens, i + 2) != "inch"


def _hundredths(tokens: list[Token], i: int) -> Iterator[Number]:
    """For example "five hundredths of a millimeter"; the unit stays open."""
    head = hundreds(tokens, i)
    if head is not None and _text(tokens, head.end) in ("hundredth", "hundredths"):
        yield Number(Decimal(head.value) / 100, head.end + 1)


def _digit_and_ten(tokens: list[Token], i: int) -> bool:
    return DIGITS.get(_text(tokens, i), 0) > 0 and _text(tokens, i + 1) == "ten"
