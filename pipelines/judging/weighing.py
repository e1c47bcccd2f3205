"""One quantity against the limits that may hold for it."""

from collections.abc import Iterable, Mapping, Sequence
from fractions import Fraction
from typing import NamedTuple

from models.limits import FACTS, KINDS, Limit
from models.record import LimitUsed, VerdictWord
from models.units import convert, plain, unit
from pipelines.judging.checks import Amount, loss_in_time, stock_per_side
from pipelines.judging.ruler import Reach, Ruler, ends_of, reach
from pipelines.judging.worlds import Possible

_GOVERNS = {kind: place for place, kind in enumerate(KINDS)}
_WORDS: tuple[VerdictWord, ...] = ("beyond limit", "near limit", "within limit")  # the stricter first
_STATE: dict[VerdictWord, str] = {
    "beyond limit": "is beyond the limit",
    "near limit": "is allowed but near the limit",
    "within limit": "is within the limit",
}
_SAME = " Not everything about the truck is known, but every limit that may hold says the same."
_MOST_KEPT = 50_000


class Quantity(NamedTuple):
    """What is weighed.

    Attributes:
        amount: the exact number; None when it could not be had.
        words: the number as it stands in the sentence.
        problem: why it must not be judged; there always is one where there is no amount.
        held_s: a pressure loss only: how long it was held (seconds).
    """

    amount: Amount | None
    words: str
    problem: str | None = None
    held_s: Fraction | None = None


class Result(NamedTuple):
    """What one limit says.

    Attributes:
        limit: the limit.
        word: its result.
        used: both as they go into a record.
        why: the reason where it says nothing.
    """

    limit: Limit
    word: VerdictWord
    used: LimitUsed
    why: str = ""

    @classmethod
    def of(cls, limit: Limit, word: VerdictWord, why: str = "") -> "Result":
        """What a limit says."""
        return cls(limit, word, limit.used(word), why)


class Weighed(NamedTuple):
    """The outcome for one quantity.

    Attributes:
        word: the result.
        sentence: why, in words.
        governing: the limit in front; None when not judged.
        others: the further limits, each with its result.
    """

    word: VerdictWord
    sentence: str
    governing: Limit | None = None
    others: tuple[LimitUsed, ...] = ()


class _Held(NamedTuple):
    """A limit that may hold: what it allows, what it may say, and the sets it belongs to (bits)."""

    reach: Reach
    results: Mapping[VerdictWord, Result]
    sets: int


class _Zone(NamedTuple):
    """What the limits say of every quantity in one place: with ``governing`` the end of the sentence."""

    word: VerdictWord
    sentence: str
    governing: Limit | None
    others: tuple[LimitUsed, ...]


class Scale:
    """The limits that may hold for one kind of quantity, made ready for comparing.

    Between two neighbouring ends of limits nothing changes but the number in the sentence, so what was worked
    out for one value is kept for the next one there.
    """

    def __init__(
        self, possible: Possible, wheel_in: Fraction | None = None, *, difference: bool = False
    ) -> None:
        """Puts the ends of all limits on one ruler.

        Args:
            possible: the limits that may hold.
            wheel_in: diameter of the steering wheel (inches).
            difference: the quantities are differences of temperatures.
        """
        self._possible = possible
        self._difference = difference
        ends = {
            limit.id: found
            for limit in possible.limits
            if (found := ends_of(limit, wheel_in, difference=difference)) is not None
        }
        self._ruler = Ruler((m for found in ends.values() for m in found.marks), difference=difference)
        self._held: tuple[list[_Held], ...] = tuple([] for _ in KINDS)
        self._silent: list[tuple[Result, int]] = []
        self._timed = any(limit.over_s is not None for limit in possible.limits)
        self._zones: dict[int, _Zone] = {}
        self._most_zones = _MOST_KEPT // max(1, len(possible.limits))
        for limit, sets in sorted(zip(possible.limits, possible.members, strict=True), key=_rank):
            if limit.id in ends:
                results = {word: Result.of(limit, word) for word in _WORDS}
                held = _Held(reach(ends[limit.id], self._ruler), results, sets)
                self._held[_GOVERNS[limit.kind]].append(held)
            else:
                why = "" if limit.undefined is None else limit.sentence
                self._silent.append((Result.of(limit, "not judged", why), sets))

    def weigh(self, quantity: Quantity) -> Weighed:
        """The verdict on one quantity."""
        amount = quantity.amount
        if quantity.problem is not None or amount is None:
            others = tuple(limit.used("not judged") for limit in self._possible.limits)
            return Weighed("not judged", f"Not judged: {quantity.problem}.", None, others)
        place = self._ruler.place(amount.value, amount.unit)
        zone = self._timed_zone(place, amount, quantity.held_s) if self._timed else self._zone(place)
        if zone.governing is None:
            return Weighed(*zone)
        room = _refinishing(amount, zone.governing, zone.word)
        number = f"{quantity.words}{self._in_limit_unit(amount, zone.governing)}"
        start = f"{number} {_STATE[zone.word]}: {zone.governing.sentence} [{zone.governing.authority}]."
        return Weighed(zone.word, f"{start}{room}{zone.sentence}", zone.governing, zone.others)

    def _zone(self, place: int) -> _Zone:
        zone = self._zones.get(place)
        if zone is None:
            if len(self._zones) >= self._most_zones:
                self._zones.clear()
            zone = self._zones[place] = self._weighed(self._results(place))
        return zone

    def _timed_zone(self, place: int, lost: Amount, held_s: Fraction | None) -> _Zone:
        """Of a loss in a stated time: a limit for another time may say nothing."""
        speaking, silent = [], list(self._silent)
        for result, sets in self._speaking(place):
            why = _other_time(result, lost, held_s)
            if why is None:
                speaking.append((result, sets))
            else:
                silent.append((Result.of(result.limit, "not judged", why), sets))
        silent.sort(key=lambda one: _rank((one[0].limit, one[1])))
        return self._weighed([*speaking, *silent])

    def _results(self, place: int) -> list[tuple[Result, int]]:
        """Of each limit, who governs first."""
        return [*self._speaking(place), *self._silent]

    def _speaking(self, place: int) -> list[tuple[Result, int]]:
        """Shop, then maker, regulation, common practice; among equals the stricter result."""
        found: list[tuple[Result, int]] = []
        for kind in self._held:
            by_word: dict[VerdictWord, list[tuple[Result, int]]] = {word: [] for word in _WORDS}
            for held in kind:
                word = held.reach.word(place)
                by_word[word].append((held.results[word], held.sets))
            for same in by_word.values():
                found += same
        return found

    def _weighed(self, results: Sequence[tuple[Result, int]]) -> _Zone:
        outcomes = _outcomes(self._possible, results)
        ordered = [result for result, _ in results]
        if len(outcomes) != 1 or None in outcomes or "not judged" in outcomes:
            reason = _reason(self._possible, ordered, outcomes.values())
            return _Zone("not judged", f"Not judged: {reason}.", None, _used(ordered))
        governing, *others = ordered
        text = "".join(
            f" By {other.limit.source} it is {other.word} ({other.limit.allowed})."
            for other in others
            if other.word not in (governing.word, "not judged")
        )
        same = _SAME if self._possible.count > 1 else ""
        return _Zone(governing.word, text + same, governing.limit, _used(others))

    def _in_limit_unit(self, amount: Amount, limit: Limit) -> str:
        """The amount in the limit's unit, where that is another one than it was given in."""
        if amount.unit == limit.unit or limit.rim_angle:
            return ""
        value = convert(amount.value, amount.unit, limit.unit, difference=self._difference)
        exact = 10**4 % value.denominator == 0
        return f" ({'' if exact else 'about '}{plain(value)} {unit(limit.unit).words})"


def _rank(held: tuple[Limit, int]) -> tuple[int, str]:
    limit, _ = held
    return _GOVERNS[limit.kind], limit.id


def _used(results: Iterable[Result]) -> tuple[LimitUsed, ...]:
    return tuple([result.used for result in results])


def _other_time(result: Result, lost: Amount, held_s: Fraction | None) -> str | None:
    """Why a limit on a loss in a stated time says nothing of this one; None when it does."""
    limit = result.limit
    if limit.over_s is None or held_s is None:
        return None
    allowed = result.word != "beyond limit"
    why = loss_in_time(lost.value, held_s, limit.over_s, allowed=allowed)
    return None if why is None else f"{limit.sentence}, but {why}"


def _refinishing(amount: Amount, limit: Limit, word: VerdictWord) -> str:
    """What the limit says of refinishing a rotor or drum that is allowed; empty where it says nothing."""
    if limit.refinish is None or word == "beyond limit":
        return ""
    room = "not enough material left to be refinished" if word == "near limit" else "may be refinished"
    side = "more" if limit.low is not None else "less"
    if word == "within limit":
        stock = stock_per_side(amount, Amount(limit.refinish.value, limit.unit))
        off = "off each side" if limit.low is not None else "off the radius"
        room += f" by less than {plain(stock.value)} {unit(stock.unit).words} {off}"
    return f" Refinishing asks for {side} than {limit.refinish.text} {unit(limit.unit).words}: {room}."


def _reason(possible: Possible, results: Sequence[Result], outcomes: Iterable[int]) -> str:
    """Why no result is safe to give: the facts that decide, or what keeps the limits from saying anything."""
    names = possible.deciding(outcomes)
    if names:
        return "; ".join(f"it is not known {FACTS[n].words} ({FACTS[n].remedy})" for n in names)
    silent = [r.why for r in results if r.why]
    return "; ".join(silent) if silent else "no limit on file holds for this truck and place"


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
            if not left:
                break
    return found | ({None: left} if left else {})
