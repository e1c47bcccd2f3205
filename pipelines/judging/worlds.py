"""Which limits hold when not everything about the truck is known.

Every fact that a limit asks for and nobody gave is tried with values that stand for all it can be. Each
combination is a possible truck with its own set of limits. Where all possible trucks lead to the same result,
that result is safe to give; where they do not, the facts that make the difference are named.

Sets are bits of a whole number, because there may be thousands of trucks and of limits: limits with the same
conditions always hold together and share a bit among limits, trucks with the same limits a bit among sets.
"""

from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction
from functools import cached_property
from itertools import product
from math import prod

from models.limits import FACTS, Condition, Limit
from models.limits.facts import Known, samples

MOST_TRUCKS = 20_000

_Conditions = tuple[Condition, ...]


class Possible:
    """The limits that may hold.

    Attributes:
        limits: every limit that holds for some possible truck, once.
        members: for each limit the sets it belongs to, as bits.
        count: how many different sets there are, one for each kind of possible truck; 0 when there are more
            combinations of unknown facts than can be tried.
        missing: names of the facts that were tried.
    """

    def __init__(
        self,
        groups: Sequence[Sequence[Limit]],
        held: Sequence[int],
        missing: tuple[str, ...] = (),
        sizes: tuple[int, ...] = (),
        trucks: Sequence[int] = (),
    ) -> None:
        """Turns the sets round: from the limits of each set to the sets of each limit.

        Args:
            groups: limits that always hold together.
            held: for each set its groups, as bits.
            missing: names of the facts that were tried.
            sizes: with how many values each was tried.
            trucks: the number of the set of each combination of those values, the last fact going fastest.
        """
        in_sets = [0] * len(groups)
        for number, bits in enumerate(held):
            for group in _places(bits):
                in_sets[group] |= 1 << number
        found = [
            (limit, sets) for group, sets in zip(groups, in_sets, strict=True) if sets for limit in group
        ]
        self.limits = tuple(limit for limit, _ in found)
        self.members = tuple(sets for _, sets in found)
        self.count = len(held)
        self.missing = missing
        self._sizes = sizes
        self._trucks = trucks
        self._deciding: dict[frozenset[int], tuple[str, ...]] = {}

    @property
    def sets(self) -> tuple[tuple[Limit, ...], ...]:
        """The limits of each set."""
        found = list(zip(self.limits, self.members, strict=True))
        return tuple(tuple(r for r, sets in found if sets >> n & 1) for n in range(self.count))

    def deciding(self, outcomes: Iterable[int]) -> tuple[str, ...]:
        """The facts that change the outcome when they alone are changed.

        Args:
            outcomes: for each outcome the sets that have it, as bits; together all sets.
        """
        key = frozenset(outcomes)
        if key not in self._deciding:
            named = [
                name
                for name, alike in zip(self.missing, self._alike, strict=True)
                if not self.count or any(_differ(sets, key) for sets in alike)
            ]
            self._deciding[key] = tuple(named)
        return self._deciding[key]

    @cached_property
    def _alike(self) -> tuple[frozenset[int], ...]:
        """For each missing fact: the sets of the trucks that differ in nothing else, as bits."""
        if not self.count:
            return (frozenset(),) * len(self.missing)
        found = []
        for place, size in enumerate(self._sizes):
            step = prod(self._sizes[place + 1 :])
            blocks = range(0, len(self._trucks), step * size)
            rows = (self._trucks[at : at + step * size : step] for b in blocks for at in range(b, b + step))
            found.append(frozenset(_joined(1 << number for number in set(row)) for row in rows))
        return tuple(found)


def _differ(sets: int, outcomes: Iterable[int]) -> bool:
    """Whether the sets do not all have one outcome."""
    return all(sets & ~same for same in outcomes)


def _joined(sets: Iterable[int]) -> int:
    joined = 0
    for bits in sets:
        joined |= bits
    return joined


def _places(bits: int) -> Iterator[int]:
    while bits:
        lowest = bits & -bits
        yield lowest.bit_length() - 1
        bits ^= lowest


def _contradicted(when: _Conditions, known: Known) -> bool:
    return any(c.fact in known and not c.holds(known[c.fact]) for c in when)


def _agreeing(whens: Sequence[_Conditions], name: str, values: Sequence[str | Fraction]) -> list[int]:
    """For each value of a fact: the conditions that it leaves possible, as bits."""
    asking: dict[Condition, int] = {}
    for place, when in enumerate(whens):
        for condition in when:
            if condition.fact == name:
                asking[condition] = asking.get(condition, 0) | 1 << place
    every = (1 << len(whens)) - 1
    return [
        every & ~_joined(bits for condition, bits in asking.items() if not condition.holds(value))
        for value in values
    ]


def possible_limits(limits: Iterable[Limit], known: Known) -> Possible:
    """The sets of limits that the known facts leave possible.

    Args:
        limits: every limit on the quantity.
        known: what is known of truck, place and reading.
    """
    by_when: dict[_Conditions, list[Limit]] = {}
    for limit in limits:
        by_when.setdefault(limit.when, []).append(limit)
    whens = [when for when in by_when if not _contradicted(when, known)]
    groups = [by_when[when] for when in whens]
    asked = {c.fact for when in whens for c in when} - set(known)
    missing = tuple(name for name in FACTS if name in asked)
    if not missing:
        return Possible(groups, [(1 << len(groups)) - 1])
    tried = [samples({c for when in whens for c in when if c.fact == name}) for name in missing]
    sizes = tuple(len(values) for values in tried)
    if prod(sizes) > MOST_TRUCKS:
        return Possible(groups, (), missing)
    numbers: dict[int, int] = {}
    trucks = []
    agreeing = [_agreeing(whens, name, values) for name, values in zip(missing, tried, strict=True)]
    for truck in product(*agreeing):
        held = truck[0]
        for bits in truck[1:]:
            held &= bits
        trucks.append(numbers.setdefault(held, len(numbers)))
    return Possible(groups, list(numbers), missing, sizes, trucks)
