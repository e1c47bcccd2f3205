"""One quantity against the limits that may hold for it."""

from collections.abc import Iterable, Sequence
from fractions import Fraction
from typing import NamedTuple

from models.limits import FACTS, KINDS, Limit
from models.limits.facts import Known
from models.record import VerdictWord
from models.units import convert, plain, unit
from pipelines.judging.checks import Amount, loss_in_time, rim_angle, stock_per_side
from pipelines.judging.worlds import Possible

SEVERITY: dict[VerdictWord, int] = {"beyond limit": 0, "near limit": 1, "within limit": 2, "not judged": 3}
_GOVERNS = {kind: place for place, kind in enumerate(KINDS)}


class Quantity:
    """What is weighed.

    Attributes:
        amount: the exact number; None when it could not be had.
        words: the number as it stands in the sentence.
        problem: why it must not be judged.
        held_s: a pressure loss only: how long it was held (seconds).
    """

    def __init__(
        self,
        amount: Amount | None,
        words: str,
        problem: str | None = None,
        held_s: Fraction | None = None,
        *,
        difference: bool = False,
    ) -> None:
        """Keeps what was measured.

        Args:
            amount: the exact number.
            words: the number as it stands in the sentence.
            problem: why it must not be judged.
            held_s: how long a pressure was held (seconds).
            difference: it is a difference of temperatures.
        """
        self.amount = amount
        self.words = words
        self.problem = problem
        self.held_s = held_s
        self._difference = difference
        self._values = {} if amount is None else {amount.unit: amount.value}

    def value_in(self, code: str) -> Fraction:
        """The exact value in a unit, converted once; the amount must be known."""
        if code not in self._values and self.amount is not None:
            value, source = self.amount
            self._values[code] = convert(value, source, code, difference=self._difference)
        return self._values[code]


class Result(NamedTuple):
    """What one limit says, and why it says nothing where it does."""

    limit: Limit
    word: VerdictWord
    why: str = ""


class Weighed(NamedTuple):
    """The outcome for one quantity.

    Attributes:
        word: the result.
        sentence: why, in words.
        governing: the result in front; None when not judged.
        others: the results of the further limits.
    """

    word: VerdictWord
    sentence: str
    governing: Result | None = None
    others: tuple[Result, ...] = ()


def one_result(limit: Limit, quantity: Quantity, known: Known) -> Result:
    """What one limit says of the quantity, in the limit's own unit."""
    amount = quantity.amount
    if limit.undefined is not None:
        return Result(limit, "not judged", limit.sentence)
    if amount is None:
        return Result(limit, "not judged")
    if limit.rim_angle:
        diameter = known.get("steering_wheel_in")
        if not isinstance(diameter, Fraction) or diameter <= 0:
            return Result(limit, "not judged")
        return Result(limit, limit.result(rim_angle(amount, diameter)))
    word = limit.result(quantity.value_in(limit.unit))
    if limit.over_s is not None and quantity.held_s is not None:
        allowed = word != "beyond limit"
        why = loss_in_time(amount.value, quantity.held_s, limit.over_s, allowed=allowed)
        if why is not None:
            return Result(limit, "not judged", f"{limit.sentence}, but {why}")
    return Result(limit, word)


def _rank(result: Result) -> tuple[bool, int, int, str]:
    """Who governs: shop, then maker, regulation, common practice; among equals the stricter result."""
    silent = result.word == "not judged"
    return silent, _GOVERNS[result.limit.kind], SEVERITY[result.word], result.limit.id


def _remedies(names: Sequence[str]) -> str:
    told = [f"it is not known {FACTS[n].words} ({FACTS[n].remedy})" for n in names]
    return "; ".join(told)


def _in_limit_unit(quantity: Quantity, limit: Limit) -> str:
    """The quantity in the limit's unit, where that is another one than it was given in."""
    amount = quantity.amount
    if amount is None or amount.unit == limit.unit or limit.rim_angle:
        return ""
    value = quantity.value_in(limit.unit)
    exact = (value * 10**4).denominator == 1
    return f" ({'' if exact else 'about '}{plain(value)} {unit(limit.unit).words})"


def _judged_sentence(quantity: Quantity, governing: Result, others: Sequence[Result]) -> str:
    limit, word = governing.limit, governing.word
    state = {"beyond limit": "is beyond the limit", "near limit": "is allowed but near the limit"}
    said = f"{quantity.words}{_in_limit_unit(quantity, limit)} {state.get(word, 'is within the limit')}: "
    text = f"{said}{limit.sentence} [{limit.authority}]."
    if limit.refinish is not None and word != "beyond limit":
        room = "not enough material left to be refinished" if word == "near limit" else "may be refinished"
        side = "more" if limit.low is not None else "less"
        if word == "within limit" and quantity.amount is not None:
            stock = stock_per_side(quantity.amount, Amount(limit.refinish.value, limit.unit))
            off = "off each side" if limit.low is not None else "off the radius"
            room += f" by less than {plain(stock.value)} {unit(stock.unit).words} {off}"
        text += f" Refinishing asks for {side} than {limit.refinish.text} {unit(limit.unit).words}: {room}."
    for other in others:
        if other.word not in (word, "not judged"):
            text += f" By {other.limit.source} it is {other.word} ({other.limit.allowed})."
    return text


def _not_judged(possible: Possible, results: Sequence[Result], outcomes: Iterable[int]) -> Weighed:
    """No result is safe to give: name the facts that decide, and show every limit that may hold."""
    names = possible.deciding(outcomes)
    others = tuple(results)
    if names:
        return Weighed("not judged", f"Not judged: {_remedies(names)}.", None, others)
    silent = [r.why for r in others if r.why]
    if silent:
        return Weighed("not judged", f"Not judged: {'; '.join(silent)}.", None, others)
    return Weighed("not judged", "Not judged: no limit on file holds for this truck and place.", None, others)


def _outcomes(possible: Possible, results: Iterable[tuple[Result, int]]) -> dict[VerdictWord | None, int]:
    """For each word the sets of limits in which it stands in front, as bits; None where no limit holds.

    Args:
        possible: the limits that may hold.
        results: of each limit, with the sets it belongs to; who governs comes first.
    """
    left = (1 << possible.count) - 1
    found: dict[VerdictWord | None, int] = {}
    for result, sets in results:
        fronts = sets & left
        if fronts:
            found[result.word] = found.get(result.word, 0) | fronts
            left ^= fronts
    return found | ({None: left} if left else {})


def weigh(quantity: Quantity, possible: Possible, known: Known) -> Weighed:
    """The verdict on one quantity.

    Args:
        quantity: what was measured or computed.
        possible: the limits that may hold.
        known: what is known of truck, place and reading.
    """
    if quantity.problem is not None:
        unknown = tuple(Result(limit, "not judged") for limit in possible.limits)
        return Weighed("not judged", f"Not judged: {quantity.problem}.", None, unknown)
    weighed = [
        (one_result(limit, quantity, known), sets)
        for limit, sets in zip(possible.limits, possible.members, strict=True)
    ]
    weighed.sort(key=lambda one: _rank(one[0]))
    results = [result for result, _ in weighed]
    outcomes = _outcomes(possible, weighed)
    if len(outcomes) != 1 or None in outcomes or "not judged" in outcomes:
        return _not_judged(possible, results, outcomes.values())
    governing, *others = results
    text = _judged_sentence(quantity, governing, others)
    if possible.count > 1:
        text += " Not everything about the truck is known, but every limit that may hold says the same."
    return Weighed(governing.word, text, governing, tuple(others))
