"""Limits as data: what is allowed, where it holds, and who says so."""

from collections.abc import Mapping
from fractions import Fraction
from functools import cached_property
from typing import Literal

from pydantic import ConfigDict

from models.frozen import Frozen
from models.limits.facts import PLAY_DIRECTIONS, Condition
from models.record import LimitUsed, VerdictWord
from models.units import plain, unit

Kind = Literal["shop rule", "maker", "regulation", "common practice"]
Seen = Literal["stored copy", "secondary source", "not published"]
Quantity = Literal[
    "reading",
    "inner_outer_difference",
    "left_right_difference",
    "pressure_lost",
    "diagonal_difference",
    "sum_of_two",
    "under_load",
]

KINDS: tuple[Kind, ...] = ("shop rule", "maker", "regulation", "common practice")  # who governs first
_SEEN: dict[Seen, str] = {
    "stored copy": " (read in a copy of the text)",
    "secondary source": " (read at second hand)",
    "not published": "",
}
_NAMED = {"unit": "unit", "vin": "VIN"}
PI = Fraction(3141592653589793238462643383279502884197, 10**39)


class Bound(Frozen):
    """One end of what is allowed.

    Attributes:
        value: in the limit's unit.
        text: as written in the file ("3/16").
        included: the end itself is allowed ("at least", "at most").
    """

    model_config = ConfigDict(arbitrary_types_allowed=True)

    value: Fraction
    text: str
    included: bool


class Limit(Frozen):
    """One rule about one quantity of one part.

    Attributes:
        id: unique name.
        component: identifier of the vocabulary.
        measure: identifier of the vocabulary.
        of: ``reading`` for the measured value itself, else the quantity computed from several readings.
        subject: what the limit speaks of, in words.
        kind: who says so.
        source: citation.
        seen: where the number was read.
        jurisdiction: where it holds.
        as_of: state of the text that was read.
        when: all must hold.
        unit: UCUM code of the bounds; it governs.
        low: lower end of what is allowed.
        high: upper end of what is allowed.
        near_low: values at or below it, yet allowed, are near the limit.
        near_high: values at or above it, yet allowed, are near the limit.
        rim_angle: the bounds are degrees of turn of the steering wheel, the reading is a length at its rim.
        over_s: for ``pressure_lost``: how long the pressure is held (seconds).
        refinish: a rotor may be refinished while thicker, a drum while narrower than this (limit's unit).
        undefined: the rule names this case and gives no number; the sentence says so.
        where: file and line it was read from.
    """

    model_config = ConfigDict(arbitrary_types_allowed=True)

    id: str
    component: str
    measure: str
    of: Quantity = "reading"
    subject: str
    kind: Kind
    source: str
    seen: Seen
    jurisdiction: str
    as_of: str
    when: tuple[Condition, ...] = ()
    unit: str
    low: Bound | None = None
    high: Bound | None = None
    near_low: Fraction | None = None
    near_high: Fraction | None = None
    rim_angle: bool = False
    over_s: Fraction | None = None
    refinish: Bound | None = None
    undefined: str | None = None
    where: str

    @cached_property
    def allowed(self) -> str:
        """What is allowed, in words: ``at least 3/16 in``."""
        if self.undefined is not None:
            return self.undefined
        words = " of turn" if self.rim_angle else ""
        size = unit(self.unit).words
        parts = []
        if self.low is not None:
            parts.append(f"{'at least' if self.low.included else 'more than'} {self.low.text}")
        if self.high is not None:
            parts.append(f"{'at most' if self.high.included else 'less than'} {self.high.text}")
        gap = "" if size == "°" else " "
        time = f" in {plain(self.over_s / 60)} min" if self.over_s is not None else ""
        return f"{' and '.join(parts)}{gap}{size}{words}{time}"

    @cached_property
    def sentence(self) -> str:
        """The rule in words, with the trucks that it names, its number and its unit."""
        named = [f"{_NAMED[c.fact]} {' or '.join(c.patterns)}" for c in self.when if c.patterns]
        return f"{', '.join([self.subject, *named])}: {self.allowed}"

    @cached_property
    def authority(self) -> str:
        """Who says so, where it holds, and as of when."""
        source = self.used("not judged").source
        kind = "" if source.startswith(self.kind) else f"{self.kind}: "
        place = "" if self.jurisdiction == "none" else f"; {self.jurisdiction}"
        return f"{kind}{source}{place}; as of: {self.as_of}"

    @cached_property
    def _used(self) -> Mapping[VerdictWord, LimitUsed]:
        words: tuple[VerdictWord, ...] = ("within limit", "near limit", "beyond limit", "not judged")
        source = f"{self.source}{_SEEN[self.seen]}"
        return {
            word: LimitUsed(
                id=self.id,
                sentence=self.sentence,
                kind=self.kind,
                source=source,
                jurisdiction=self.jurisdiction,
                as_of=self.as_of,
                result=word,
            )
            for word in words
        }

    def used(self, result: VerdictWord) -> LimitUsed:
        """The limit as it goes into a record, with its own result."""
        return self._used[result]


class Limits:
    """All limits of a shop, found by part and measure. Not changed after it was made.

    Attributes:
        rules: every limit, in the order of the files.
    """

    def __init__(self, rules: tuple[Limit, ...]) -> None:
        self.rules = rules
        self._index: dict[tuple[str, str], list[Limit]] = {}
        for rule in rules:
            self._index.setdefault((rule.component, rule.measure), []).append(rule)
        self._by_id = {rule.id: rule for rule in rules}

    def by_id(self, id: str) -> Limit | None:
        """The limit of this name."""
        return self._by_id.get(id)

    def find(self, component: str, measure: str) -> tuple[Limit, ...]:
        """The limits that may speak of such a reading.

        A limit on ``play`` speaks of play in any direction; play whose direction nobody said may fall under a
        limit on any direction.
        """
        measures = [measure]
        if measure in PLAY_DIRECTIONS:
            measures.append("play")
        elif measure == "play":
            measures.extend(PLAY_DIRECTIONS)
        found: list[Limit] = []
        for name in measures:
            found.extend(self._index.get((component, name), ()))
        return tuple(found)
