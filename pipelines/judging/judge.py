"""Findings against limits: a verdict for every reading, and the calculations that several readings allow."""

import gc
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from decimal import Decimal
from fractions import Fraction

from models.limits import Limit, Limits
from models.limits.facts import Known, place_facts, truck_facts
from models.limits.from_settings import with_settings
from models.limits.rules import PI
from models.measures import DIFFERENCES, DIMENSIONS
from models.record import Finding, Reading, Verdict
from models.rules import Rules
from models.settings import TruckSettings
from models.units import UNITS, plain, unit
from pipelines.judging.checks import Amount
from pipelines.judging.combining import suggest
from pipelines.judging.computed import Computed, amount_of, battery_degf, computed, say, tread
from pipelines.judging.weighing import Quantity, Weighed, weigh
from pipelines.judging.worlds import Possible, possible_limits

_MOST_LISTED = 12
_MANY = 5_000
_NEEDS = {
    "inner_outer_difference": "the difference of inner and outer takes one reading of each",
    "left_right_difference": "the difference of left and right takes one reading of each",
    "diagonal_difference": "it takes exactly one reading of each of the two diagonals",
    "pressure_lost": "it takes exactly one pressure before and one after the hold",
    "sum_of_two": "it takes two readings of this play",
}


def _words(reading: Reading) -> str:
    """The reading with the digits that were given: ``6.0 mm``; ``7/32 in`` for a fraction."""
    if reading.unit == "[in_i]":
        told = tread if reading.measure == "tread_depth" else say
        as_fraction = told(Amount(Fraction(reading.value), reading.unit))
        if "/" in as_fraction:
            return as_fraction
    size = unit(reading.unit).words
    return f"{reading.value:f}{'' if size == '°' else ' '}{size}"


def _exact(value: Fraction) -> Decimal:
    return Decimal(plain(value, 6))


_Scale = tuple[tuple[Decimal | None, Decimal | None], str]


def _scale(limit: Limit, known: Known) -> _Scale:
    """The allowed range and its unit, for drawing; a steering wheel's angle becomes a length at its rim."""
    low, high = (None if b is None else b.value for b in (limit.low, limit.high))
    code = limit.unit
    diameter = known.get("steering_wheel_in")
    if limit.rim_angle and isinstance(diameter, Fraction):
        low, high = (None if v is None else PI * diameter * v / 360 for v in (low, high))
        code = "[in_i]"
    return (None if low is None else _exact(low), None if high is None else _exact(high)), code


def _severity(weighed: Weighed) -> int:
    """What stands in front when several quantities bear on one finding: the worst, then the unknown."""
    return ("beyond limit", "near limit", "not judged", "within limit").index(weighed.word)


@contextmanager
def _many(count: int) -> Iterator[None]:
    """While very many findings are judged the garbage collector rests.

    Judging makes no reference cycles, and the collector would go through everything made so far again and
    again, which costs a quarter of the time.
    """
    rest = count >= _MANY and gc.isenabled()
    if rest:
        gc.disable()
    try:
        yield
    finally:
        if rest:
            gc.enable()


class Judge:
    """Judges the findings of one shop's trucks; keeps what it worked out about limits and trucks.

    Args:
        limits: every limit on file.
        truck: what the settings say about the trucks.
        rules: what several findings together suggest.
        head: what the head of the record says, from :func:`models.limits.facts.head_facts`.
    """

    def __init__(
        self, limits: Limits, truck: TruckSettings, rules: Rules = (), head: Known | None = None
    ) -> None:
        self._limits = with_settings(limits, truck)
        self._rules = rules
        self._truck = (head or {}) | truck_facts(truck)
        self._possible: dict[tuple[object, ...], Possible | None] = {}
        self._computable: dict[tuple[str, str], frozenset[str]] = {}
        self._scales: dict[str, _Scale] = {}
        self._battery: Known = {}

    def judge(self, findings: Sequence[Finding]) -> tuple[Finding, ...]:
        """The same findings with a verdict on every reading and the suggestions of the rules."""
        with _many(len(findings)):
            together = computed(findings)
            warmth = battery_degf(findings)
            self._battery = {} if warmth is None else {"battery_degF": warmth}
            judged = tuple(self._finding(f, together.get(f.id, ())) for f in findings)
        return suggest(judged, self._rules, self._limits, self._truck) if self._rules else judged

    def _finding(self, finding: Finding, together: Sequence[Computed]) -> Finding:
        if finding.reading is None:
            return finding
        update: dict[str, object] = {"verdict": self._verdict(finding, finding.reading, together)}
        doubts = tuple(c.doubt for c in together if c.doubt and c.doubt not in finding.attention)
        if doubts:
            update["attention"] = (*finding.attention, *doubts)
        return finding.model_copy(update=update)

    def _verdict(self, finding: Finding, reading: Reading, together: Sequence[Computed]) -> Verdict:
        if finding.component is None:
            return Verdict(word="not judged", sentence="Not judged: nobody said what was measured.")
        amount = amount_of(finding)
        if amount is None:
            known_unit = reading.unit in UNITS and reading.measure in DIMENSIONS
            why = f"{reading.unit} does not measure {reading.measure.replace('_', ' ')}"
            if not known_unit:
                why = f"{reading.measure} in {reading.unit} is not something records know"
            return Verdict(word="not judged", sentence=f"Not judged: {why}.")
        known = self._truck | place_facts(finding.position, reading.measure)
        if finding.component == "battery":
            known |= self._battery
        own = self._own(finding.component, reading, amount, together, known)
        further = self._further(finding.component, reading, together, known)
        said = [c.words for c in together if c.words and not c.instead]
        return self._joined(own, further, said, known)

    def _own(
        self, component: str, reading: Reading, amount: Amount, together: Sequence[Computed], known: Known
    ) -> Weighed | None:
        """The reading itself, or the value that stands in for it; None when no limit speaks of it."""
        stand_in = next((c for c in together if c.instead and c.amount is not None), None)
        words = _words(reading)
        if stand_in is not None and stand_in.amount is not None:
            amount, words = stand_in.amount, f"{stand_in.words}: it"
        possible = self._holding(component, reading.measure, "reading", known)
        if possible is None:
            return None
        return weigh(Quantity(amount, words, difference=reading.measure in DIFFERENCES), possible, known)

    def _further(
        self, component: str, reading: Reading, together: Sequence[Computed], known: Known
    ) -> list[tuple[str, Weighed]]:
        """Everything computed that a limit speaks of, each with the words of its calculation."""
        found = []
        done: set[str] = set()
        for one in together:
            if one.instead or (one.amount is None and one.problem is None):
                continue
            done.add(one.of)
            possible = self._holding(one.component, one.measure, one.of, known)
            if possible is not None:
                words = f"{one.words}: this"
                difference = one.measure in DIFFERENCES
                quantity = Quantity(one.amount, words, one.problem, one.held_s, difference=difference)
                found.append((one.words, weigh(quantity, possible, known)))
        for of in self._asked(component, reading.measure) - done:
            possible = self._holding(component, reading.measure, of, known)
            if possible is not None:
                found.append(("", weigh(Quantity(None, "", _NEEDS[of]), possible, known)))
        return found

    def _asked(self, component: str, measure: str) -> frozenset[str]:
        """The computed quantities that some limit on this reading asks for."""
        key = (component, measure)
        if key not in self._computable:
            asked = {r.of for r in self._limits.find(component, measure)} & set(_NEEDS)
            self._computable[key] = frozenset(asked)
        return self._computable[key]

    def _scale_of(self, limit: Limit, known: Known) -> _Scale:
        if limit.id not in self._scales:
            self._scales[limit.id] = _scale(limit, known)
        return self._scales[limit.id]

    def _holding(self, component: str, measure: str, of: str, known: Known) -> Possible | None:
        """The limits that may hold for a quantity; None when there is none on file."""
        key = (
            component,
            measure,
            of,
            known.get("axle"),
            known.get("battery_degF"),
        )  # the measure gives the direction of play
        if key not in self._possible:
            rules = [r for r in self._limits.find(component, measure) if r.of == of]
            possible = possible_limits(rules, known)
            self._possible[key] = possible if not possible.count or possible.limits else None
        return self._possible[key]

    def _joined(
        self,
        own: Weighed | None,
        further: list[tuple[str, Weighed]],
        said: list[str],
        known: Known,
    ) -> Verdict:
        """One verdict from everything that bears on a reading: the worst word, its sentence first."""
        weighed = ([] if own is None else [own]) + [w for _, w in further]
        told = {words for words, w in further if w.governing is not None}
        extra = [f"{words}." for words in said if words not in told]
        if not weighed:
            sentence = " ".join(["Not judged: there is no limit on file for it.", *extra])
            return Verdict(word="not judged", sentence=sentence)
        weighed.sort(key=_severity)
        worst = weighed[0]
        results = [r for w in weighed for r in (w.governing, *w.others) if r is not None]
        others = tuple(r.limit.used(r.word) for r in results if r is not worst.governing)
        if worst.governing is None and len(others) > _MOST_LISTED:
            others = ()
        front = worst.governing
        drawn = front is not None and worst is own
        bounds, code = self._scale_of(front.limit, known) if front is not None and drawn else (None, None)
        return Verdict(
            word=worst.word,
            sentence=" ".join([*(w.sentence for w in weighed), *extra]),
            limit=front.limit.used(front.word) if front is not None else None,
            others=others,
            bounds=bounds,
            bounds_unit=code,
        )


def judge(
    findings: Sequence[Finding],
    limits: Limits,
    truck: TruckSettings,
    rules: Rules = (),
    head: Known | None = None,
) -> tuple[Finding, ...]:
    """Gives every reading a verdict.

    Limits are compared exactly, in the unit of the limit. Where several hold, the shop's own governs, then
    the maker's, regulation, common practice, and among equals the stricter result; the others are listed.
    Where a fact that decides is not known, the verdict is "not judged" and names it, unless every limit that
    may hold says the same. When several quantities bear on one reading, such as a thickness and a difference,
    the worst result stands in front.

    Args:
        findings: the findings of one inspection.
        limits: from :func:`models.limits.load_limits`.
        truck: what the settings say about the trucks.
        rules: what several findings together suggest, from :func:`models.rules.load_rules`.
        head: what the head of the record says of the truck, from :func:`models.limits.facts.head_facts`.
    """
    return Judge(limits, truck, rules, head).judge(findings)
