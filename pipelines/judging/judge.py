"""Findings against limits: a verdict for every reading, and the calculations that several readings allow."""

import gc
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from decimal import Decimal
from fractions import Fraction

from models.limits import Limit, Limits
from models.limits.facts import Known, place_facts, truck_facts
from models.limits.from_settings import with_settings
from models.measures import DIFFERENCES, DIMENSIONS
from models.record import Finding, Reading, Verdict
from models.rules import Rules
from models.settings import TruckSettings
from models.units import UNITS, plain, unit
from pipelines.judging.checks import Amount, rim_arc
from pipelines.judging.combining import suggest
from pipelines.judging.computed import Computed, amount_of, computed, facts_said, say, tread
from pipelines.judging.weighing import Quantity, Scale, Weighed
from pipelines.judging.worlds import possible_limits

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


_Allowed = tuple[tuple[Decimal | None, Decimal | None], str]


def _allowed(limit: Limit, wheel_in: Fraction | None) -> _Allowed:
    """The allowed range and its unit, for drawing; a steering wheel's angle becomes a length at its rim."""
    low, high = (None if b is None else b.value for b in (limit.low, limit.high))
    code = limit.unit
    if limit.rim_angle and wheel_in is not None:
        low, high = (None if v is None else rim_arc(v, wheel_in).value for v in (low, high))
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
        wheel = self._truck.get("steering_wheel_in")
        self._wheel_in = wheel if isinstance(wheel, Fraction) else None
        self._scales: dict[tuple[object, ...], Scale | None] = {}
        self._computable: dict[tuple[str, str], frozenset[str]] = {}
        self._drawn: dict[str, _Allowed] = {}
        self._said: dict[str, Known] = {}

    def judge(self, findings: Sequence[Finding]) -> tuple[Finding, ...]:
        """The same findings with a verdict on every reading and the suggestions of the rules."""
        with _many(len(findings)):
            amounts = [amount_of(f) for f in findings]
            together = computed(findings, amounts)
            self._said = facts_said(findings)
            judged = tuple(
                self._finding(f, a, together.get(f.id, ())) for f, a in zip(findings, amounts, strict=True)
            )
        return suggest(judged, self._rules, self._limits, self._truck) if self._rules else judged

    def _finding(self, finding: Finding, amount: Amount | None, together: Sequence[Computed]) -> Finding:
        if finding.reading is None:
            return finding
        update: dict[str, object] = {"verdict": self._verdict(finding, finding.reading, amount, together)}
        doubts = tuple(c.doubt for c in together if c.doubt and c.doubt not in finding.attention)
        if doubts:
            update["attention"] = (*finding.attention, *doubts)
        return finding.model_copy(update=update)

    def _verdict(
        self, finding: Finding, reading: Reading, amount: Amount | None, together: Sequence[Computed]
    ) -> Verdict:
        if finding.component is None:
            return Verdict(word="not judged", sentence="Not judged: nobody said what was measured.")
        if amount is None:
            known_unit = reading.unit in UNITS and reading.measure in DIMENSIONS
            why = f"{reading.unit} does not measure {reading.measure.replace('_', ' ')}"
            if not known_unit:
                why = f"{reading.measure} in {reading.unit} is not something records know"
            return Verdict(word="not judged", sentence=f"Not judged: {why}.")
        here = place_facts(finding.position, reading.measure)
        here |= self._said.get(finding.component, {})
        own = self._own(finding.component, reading, amount, together, here)
        further = self._further(finding.component, reading, together, here)
        if own is not None and not further and not together:
            return self._alone(own)
        said = [c.words for c in together if c.words and not c.instead]
        return self._joined(own, further, said)

    def _own(
        self, component: str, reading: Reading, amount: Amount, together: Sequence[Computed], here: Known
    ) -> Weighed | None:
        """The reading itself, or the value that stands in for it; None when no limit speaks of it."""
        stand_in = next((c for c in together if c.instead and c.amount is not None), None)
        words = _words(reading)
        if stand_in is not None and stand_in.amount is not None:
            amount, words = stand_in.amount, f"{stand_in.words}: it"
        scale = self._scale(component, reading.measure, "reading", here)
        return None if scale is None else scale.weigh(Quantity(amount, words))

    def _further(
        self, component: str, reading: Reading, together: Sequence[Computed], here: Known
    ) -> list[tuple[str, Weighed]]:
        """Everything computed that a limit speaks of, each with the words of its calculation."""
        found = []
        done: set[str] = set()
        for one in together:
            if one.instead or (one.amount is None and one.problem is None):
                continue
            done.add(one.of)
            scale = self._scale(one.component, one.measure, one.of, here)
            if scale is not None:
                quantity = Quantity(one.amount, f"{one.words}: this", one.problem, one.held_s)
                found.append((one.words, scale.weigh(quantity)))
        for of in self._asked(component, reading.measure) - done:
            scale = self._scale(component, reading.measure, of, here)
            if scale is not None:
                found.append(("", scale.weigh(Quantity(None, "", _NEEDS[of]))))
        return found

    def _asked(self, component: str, measure: str) -> frozenset[str]:
        """The computed quantities that some limit on this reading asks for."""
        key = (component, measure)
        if key not in self._computable:
            asked = {r.of for r in self._limits.find(component, measure)} & set(_NEEDS)
            self._computable[key] = frozenset(asked)
        return self._computable[key]

    def _allowed_by(self, limit: Limit) -> _Allowed:
        if limit.id not in self._drawn:
            self._drawn[limit.id] = _allowed(limit, self._wheel_in)
        return self._drawn[limit.id]

    def _scale(self, component: str, measure: str, of: str, here: Known) -> Scale | None:
        """The limits that may hold for a quantity; None when there is none on file."""
        # The measure gives the direction of play.
        key = (component, measure, of, here.get("axle"), *self._said.get(component, {}).items())
        if key not in self._scales:
            rules = [r for r in self._limits.find(component, measure) if r.of == of]
            possible = possible_limits(rules, self._truck | here)
            held = not possible.count or possible.limits
            difference = measure in DIFFERENCES
            self._scales[key] = Scale(possible, self._wheel_in, difference=difference) if held else None
        return self._scales[key]

    def _alone(self, own: Weighed) -> Verdict:
        """The verdict where nothing but the reading itself was weighed."""
        if own.governing is None:
            others = own.others if len(own.others) <= _MOST_LISTED else ()
            return Verdict(word=own.word, sentence=own.sentence, others=others)
        bounds, code = self._allowed_by(own.governing)
        used = own.governing.used(own.word)
        return Verdict(
            word=own.word,
            sentence=own.sentence,
            limit=used,
            others=own.others,
            bounds=bounds,
            bounds_unit=code,
        )

    def _joined(self, own: Weighed | None, further: list[tuple[str, Weighed]], said: list[str]) -> Verdict:
        """One verdict from everything that bears on a reading: the worst word, its sentence first."""
        weighed = ([] if own is None else [own]) + [w for _, w in further]
        told = {words for words, w in further if w.governing is not None}
        extra = [f"{words}." for words in said if words not in told]
        if not weighed:
            sentence = " ".join(["Not judged: there is no limit on file for it.", *extra])
            return Verdict(word="not judged", sentence=sentence)
        weighed.sort(key=_severity)
        worst, *rest = weighed
        others = worst.others
        for one in rest:
            front = () if one.governing is None else (one.governing.used(one.word),)
            others = (*others, *front, *one.others)
        if worst.governing is None and len(others) > _MOST_LISTED:
            others = ()
        drawn = worst.governing if worst is own else None
        bounds, code = (None, None) if drawn is None else self._allowed_by(drawn)
        return Verdict(
            word=worst.word,
            sentence=" ".join([*(w.sentence for w in weighed), *extra]),
            limit=None if worst.governing is None else worst.governing.used(worst.word),
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
