"""Which limits hold when not everything about the truck is known.

Every fact that a limit asks for and nobody gave is tried with values that stand for all it can be. Each
combination is a possible truck with its own set of limits. Where all possible trucks lead to the same result,
that result is safe to give; where they do not, the facts that make the difference are named.
"""

from collections.abc import Mapping, Sequence
from fractions import Fraction
from itertools import product

from models.limits import FACTS, Limit
from models.limits.facts import Known, samples

MOST_TRUCKS = 20_000

_Values = tuple[str | Fraction, ...]


class Possible:
    """The limits that may hold.

    Attributes:
        sets: the different sets of limits, one for each kind of possible truck; empty when there are more
            combinations of unknown facts than can be tried.
        ids: the names of the limits of each set.
        limits: every limit of any set, once.
        missing: names of the facts that were tried.
    """

    def __init__(
        self,
        sets: tuple[tuple[Limit, ...], ...],
        missing: tuple[str, ...] = (),
        trucks: Mapping[_Values, int] | None = None,
    ) -> None:
        self.sets = sets
        self.ids = tuple(frozenset(limit.id for limit in held) for held in sets)
        self.limits = tuple({limit.id: limit for held in sets for limit in held}.values())
        self.missing = missing
        self._trucks = trucks or {}
        self._deciding: dict[tuple[object, ...], tuple[str, ...]] = {}

    def deciding(self, outcomes: Sequence[object]) -> tuple[str, ...]:
        """The facts that change the outcome when they alone are changed.

        Args:
            outcomes: the outcome of each set.
        """
        key = tuple(outcomes)
        if key not in self._deciding:
            places = range(len(self.missing))
            changing = [self.missing[i] for i in places if not self.sets or self._changes(i, outcomes)]
            self._deciding[key] = tuple(changing)
        return self._deciding[key]

    def _changes(self, place: int, outcomes: Sequence[object]) -> bool:
        seen: dict[_Values, object] = {}
        for values, number in self._trucks.items():
            rest = values[:place] + values[place + 1 :]
            if seen.setdefault(rest, outcomes[number]) != outcomes[number]:
                return True
        return False


def _contradicted(limit: Limit, known: Known) -> bool:
    return any(c.fact in known and not c.holds(known[c.fact]) for c in limit.when)


def possible_limits(limits: Sequence[Limit], known: Known) -> Possible:
    """The sets of limits that the known facts leave possible.

    Args:
        limits: every limit on the quantity.
        known: what is known of truck, place and reading.
    """
    left = tuple(r for r in limits if not _contradicted(r, known))
    asked = {c.fact for r in left for c in r.when} - set(known)
    missing = tuple(name for name in FACTS if name in asked)
    if not missing:
        return Possible((left,))
    tried = [samples([c for r in left for c in r.when if c.fact == name]) for name in missing]
    count = 1
    for values in tried:
        count *= len(values)
    if count > MOST_TRUCKS:
        return Possible((), missing)
    numbers: dict[tuple[int, ...], int] = {}
    trucks: dict[_Values, int] = {}
    for values in product(*tried):
        facts = known | dict(zip(missing, values, strict=True))
        held = tuple(i for i, r in enumerate(left) if all(c.holds(facts[c.fact]) for c in r.when))
        trucks[values] = numbers.setdefault(held, len(numbers))
    return Possible(tuple(tuple(left[i] for i in held) for held in numbers), missing, trucks)
