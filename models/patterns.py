"""Patterns of names: ``*`` stands for any characters, ``?`` for one; capitals or not is the same."""

from collections.abc import Iterable
from fnmatch import fnmatchcase
from functools import lru_cache
from itertools import combinations

_ANY_ONE = "A"
# Matches no pattern of letters and digits; a pattern of stars alone matches everything.
_NOTHING = "-"


def matches(name: str, pattern: str) -> bool:
    """Whether a name fits a pattern."""
    return fnmatchcase(name.upper(), pattern.upper())


def examples(patterns: Iterable[str]) -> tuple[str, ...]:
    """Names that stand for all names: one for each pattern, for each two that fit one name, and for none."""
    distinct = sorted({p.upper() for p in patterns})
    found = {_filled(p) for p in distinct} | {_NOTHING}
    for one, other in combinations(distinct, 2):
        both = common(one, other)
        found |= set() if both is None else {both}
    return tuple(sorted(found))


def _filled(pattern: str) -> str:
    return pattern.replace("*", "").replace("?", _ANY_ONE)


@lru_cache(maxsize=100_000)
def common(one: str, other: str) -> str | None:
    """A name that fits both patterns; None when there is none.

    Args:
        one: in capitals.
        other: in capitals.
    """
    if not one and not other:
        return ""
    for first, second in ((one, other), (other, one)):
        if first.startswith("*"):
            rest = common(first[1:], second)
            if rest is None and second:
                rest = common(first, second[1:])
                return None if rest is None else _filled(second[0]) + rest
            return rest
    if not one or not other or (one[0] != other[0] and "?" not in (one[0], other[0])):
        return None
    rest = common(one[1:], other[1:])
    letter = other[0] if one[0] == "?" else one[0]
    return None if rest is None else _filled(letter) + rest
