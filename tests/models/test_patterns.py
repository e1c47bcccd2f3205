"""Patterns of units and VINs, checked against the standard library's matching."""

from fnmatch import fnmatchcase

import pytest
from hypothesis import given
from hypothesis import strategies as st

from models.patterns import common, examples, matches

patterns = st.text("AB1*?", min_size=1, max_size=5)


@pytest.mark.parametrize(
    ("name", "pattern", "fits"),
    [("417", "4*", True), ("b-17", "B-1?", True), ("417", "41", False), ("1M8GDM9AXKP042788", "1m8*", True)],
)
def test_a_name_fits_its_pattern(name: str, pattern: str, fits: bool) -> None:
    assert matches(name, pattern) is fits


@given(patterns, patterns, st.text("AB1", max_size=6))
def test_two_patterns_have_a_name_in_common_when_any_name_fits_both(one: str, other: str, name: str) -> None:
    both = common(one, other)
    if both is not None:
        assert fnmatchcase(both, one) and fnmatchcase(both, other)
    elif fnmatchcase(name, one):
        assert not fnmatchcase(name, other)


@given(st.lists(patterns, min_size=1, max_size=3))
def test_examples_hold_one_of_each_two_and_one_of_none(found: list[str]) -> None:
    names = examples(found)
    for pattern in found:
        assert any(fnmatchcase(name, pattern) for name in names)
    if not any(set(pattern) <= {"*", "?"} for pattern in found):
        assert any(not any(fnmatchcase(name, p) for p in found) for name in names)
