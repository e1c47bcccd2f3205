"""Numbers as technicians say them and as recognisers write them.

`find_numbers` is a pure function from text to spans. It keeps the digits given (0.030 stays 0.030), offers
every sensible reading of an ambiguous form with a weight, and never makes up a number: each reading is
computed from the characters of its span alone. Forms and traps: published conventions of spoken readings in
the machine trades (thousandths, tenths), and the written slips that recognisers make of them.
"""

from collections.abc import Callable, Iterator
from decimal import Decimal
from typing import NamedTuple

from models.frozen import Frozen
from pipelines.notes import fractions, plain, thousandths
from pipelines.notes.plain import Number
from pipelines.notes.tokens import Token, tokens
from pipelines.notes.unit_words import UnitWord, unit_word


class NumberReading(Frozen):
    """One way to understand a number.

    Attributes:
        value: with exactly the decimals given.
        unit: UCUM code, or None where none was said.
        kind: for words that leave the unit open: degrees, pounds, mil; ``pair`` for "twelve six".
        weight: how usual this reading of the form is, 0 to 1.
        doubt: a sentence when a person has to decide.
        denominator: of a fraction, for lists that go on in the same parts of an inch.
        low: for a range ("twenty five to thirty") its lower end; `value` is then the upper.
    """

    value: Decimal
    unit: str | None = None
    kind: str | None = None
    weight: float = 1.0
    doubt: str | None = None
    denominator: int | None = None
    low: Decimal | None = None


class NumberSpan(Frozen):
    """A number in a text; ``text == source[start:end]``, its readings the most usual first.

    No reading at all means that a part of an inch was said ("tie sixteenths") whose number got lost: the
    number before it cannot be trusted.
    """

    text: str
    start: int
    end: int
    readings: tuple[NumberReading, ...]


class _Found(NamedTuple):
    """Readings of the tokens from somewhere up to `end`."""

    end: int
    readings: list[NumberReading]


_Production = Callable[[list[Token], int], Iterator[Number]]
# Behind "twenty below" these show that no zero and nothing else follows.
_CLOSES = frozenset(".,;!?")
# The reading that takes in most text wins; between equals all are kept, in this order.
_PRODUCTIONS: tuple[_Production, ...] = (
    thousandths.thousandths,
    fractions.inch_and,
    fractions.mixed,
    fractions.part,
    fractions.slipped,
    plain.decimal,
    plain.numeral,
    plain.words,
    plain.pair,
)


def _minus(found: list[Token], i: int) -> bool:
    """Whether a minus stands at `i`, said or glued to a numeral."""
    token = found[i]
    if token.text in ("minus", "negative"):
        return True
    alone = not token.glued or i == 0
    return token.text in "-−" and alone and i + 1 < len(found) and found[i + 1].glued


def _of_heat(number: Number, unit: UnitWord | None) -> bool:
    """Whether a number can be of a temperature: no other unit was said."""
    bare = number.unit is None and number.kind is None and unit is None
    return bare or (unit is not None and (unit.kind == "degrees" or unit.code in ("[degF]", "Cel")))


def _with_unit(found: list[Token], number: Number, negative: bool) -> tuple[int, NumberReading] | None:
    unit: UnitWord | None = None if number.closed else unit_word(found, number.end)
    if number.kind == "pair" and unit and unit.code != "V":
        return None  # "eleven thirty seconds" is no 11.30
    if number.unit and unit and unit.code not in (None, number.unit):
        unit = None  # "3/16 psi": the unit belongs to something else
    end = unit.end if unit else number.end
    behind = [t.text for t in found[end : end + 2]]
    if behind == ["below", "zero"]:
        end, negative = end + 2, True
    elif behind and behind[0] == "below" and (behind[1:] or ["."])[0] in _CLOSES and _of_heat(number, unit):
        end, negative = end + 1, True
    elif behind[:1] == ["negative"] and (behind[1:] or ["."])[0] in (*_CLOSES, "and"):
        end, negative = end + 1, True  # "half a degree negative"
    return end, NumberReading(
        value=-number.value if negative else number.value,
        unit=number.unit or (unit.code if unit else None),
        kind=number.kind or (unit.kind if unit else None),
        weight=number.weight,
        doubt=number.doubt,
        denominator=number.denominator,
    )


def _single(found: list[Token], i: int) -> _Found | None:
    """The readings of the longest number that starts at `i`, with its unit."""
    negative = _minus(found, i)
    at = i + 1 if negative else i
    if at >= len(found):
        return None
    readings: dict[int, list[NumberReading]] = {}
    for production in _PRODUCTIONS:
        for number in production(found, at):
            read = _with_unit(found, number, negative)
            if read is not None:
                readings.setdefault(read[0], []).append(read[1])
    if not readings:
        return None
    end = max(readings)
    unique = {(r.value, r.unit, r.kind): r for r in reversed(readings[end])}
    kept = sorted(reversed(unique.values()), key=lambda r: -r.weight)
    # A slip of the recogniser is offered beside a shorter plain reading, never instead of it.
    return _Found(end, kept)


def _lost(found: list[Token], i: int) -> _Found | None:
    """A denominator without its numerator."""
    if found[i].kind == "num" and plain.ordinal(found, i) and found[i].text in ("4", "8", "16", "32", "64"):
        return _Found(i + 2, [])
    return _Found(i + 1, []) if found[i].text in ("sixteenths", "eighths", "thirty-seconds") else None


def _scaled(low: NumberReading, high: NumberReading) -> Decimal | None:
    """The lower end of a range in the unit of the upper: "twenty five to thirty thousandths"."""
    if low.unit == high.unit:
        return low.value
    if low.unit is None and low.kind is None and high.unit == "[in_i]" and low.value >= 1 > high.value:
        return low.value / 1000
    return low.value if low.unit is None and low.kind is None else None


def _range(found: list[Token], first: _Found) -> _Found | None:
    """A range that begins with `first`, read as its upper end with the lower kept."""
    joint = found[first.end].text if first.end < len(found) else ""
    if joint not in ("to", "-", "–", "or") or first.end + 1 >= len(found):
        return None
    second = _single(found, first.end + 1)
    if second is None or not second.readings or not first.readings:
        return None
    if first.readings[0].unit and not second.readings[0].unit:
        return None
    high = second.readings[0]
    low = _scaled(first.readings[0], high)
    if low is None or not 0 < low < high.value or high.value > low * 3:
        return None
    doubt = f"A range was said: {low:f} to {high.value:f}. Which value counts?"
    return _Found(second.end, [high.model_copy(update={"low": low, "doubt": doubt, "weight": 0.6})])


def find_numbers(text: str) -> list[NumberSpan]:
    """Every number of a text, in order, without overlap.

    Args:
        text: spoken or written words, never altered.

    Returns:
        Spans with offsets into `text`. Numbers that are part of a name ("axle one", "point 3") are found too;
        whoever knows the names takes them out.
    """
    found = tokens(text)
    spans = []
    i = 0
    while i < len(found):
        number = _single(found, i) or _lost(found, i)
        if number is None:
            i += 1
            continue
        number = _range(found, number) or number
        start, end = found[i].start, found[number.end - 1].end
        spans.append(NumberSpan(text=text[start:end], start=start, end=end, readings=tuple(number.readings)))
        i = number.end
    return spans
