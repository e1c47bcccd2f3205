"""A text as a row of names, numbers and breaks."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from models.vocabulary import load_vocabulary
from pipelines.notes.items import items
from pipelines.notes.lexicon import Lexicon

LEXICON = Lexicon(load_vocabulary())
_WORDS = """
left front outer pad rotor tie rod end six 4.5 30,000ths millimeters thou point scratch that same side . , ;
and seven thirty-seconds outside in the middle torn replace it hand me axle two no play -
"""


def row(text: str) -> list[str]:
    """The words of each item; a break as its mark."""
    return [text[item.start : item.end] for item in items(text, LEXICON)]


def test_names_numbers_and_breaks_in_order() -> None:
    assert row("Left front pads. Outer six, inner 4.5 mm.") == [
        "Left", "front", "pads", ".", "Outer", "six", ",", "inner", "4.5 mm", ".",
    ]  # fmt: skip


def test_the_point_of_a_number_is_no_break() -> None:
    assert row("Pad is 6.5.") == ["Pad", "6.5", "."]


def test_the_end_of_a_sentence_is_stronger_than_a_comma() -> None:
    breaks = [item.strong for item in items("left, right. lower", LEXICON) if item.is_break]
    assert breaks == [False, True]


def test_a_name_takes_the_number_in_it() -> None:
    found = items("axle two left", LEXICON)
    assert [item.number for item in found] == [None, None]


@pytest.mark.parametrize("text", ["", " ", "...", ", , ,", "\n"])
def test_text_without_words_has_no_names(text: str) -> None:
    assert all(item.is_break for item in items(text, LEXICON))


@given(st.lists(st.sampled_from(_WORDS.split()), max_size=25), st.sampled_from([" ", "  ", "\n"]))
def test_items_never_overlap(words: list[str], blank: str) -> None:
    found = items(blank.join(words), LEXICON)
    assert all(one.end <= other.start for one, other in pairwise(found))
    assert all(item.start < item.end for item in found)
