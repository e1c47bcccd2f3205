"""Drawn sentences: what is said and the two ways it is written belong together."""

import re
from random import Random

import pytest

from pipelines.speech.training.saying import by_pairs, decimal, mixed, whole
from pipelines.speech.training.sentences import Speaker


@pytest.mark.parametrize(
    ("number", "words"),
    [
        (0, "zero"),
        (40, "forty"),
        (417, "four hundred seventeen"),
        (112306, "one hundred twelve thousand three hundred six"),
    ],
)
def test_whole_numbers_in_words(number: int, words: str) -> None:
    assert whole(number) == words


def test_numbers_said_in_pairs() -> None:
    assert [by_pairs(n) for n in (195, 105, 1450, 200)] == [
        "one ninety five",
        "one oh five",
        "fourteen fifty",
        "two hundred",
    ]


def test_a_fraction_is_not_reduced() -> None:
    said = mixed(0, 6, 32, Random(1))
    assert (said.say, said.words, said.digits) == ("six thirty seconds", "six thirty-seconds", "6/32")


def test_decimals_keep_their_zeros() -> None:
    said = decimal("0.030", Random(2))
    assert said.digits == "0.030"
    assert re.sub("zero|oh", "0", said.words).endswith("point 0 three 0")


def test_a_thousand_sentences_are_written_without_gaps_and_digits_stand_only_where_asked() -> None:
    speaker = Speaker(Random(3))
    for _ in range(1000):
        said = speaker.sentence()
        for text in (said.say, said.words, said.digits):
            assert text
            assert "  " not in text
            assert text[0] == text[0].upper()
        assert not re.search(r"\d", said.words.replace("A/C", "")), said.words
        assert not re.search(r"\d", said.say), said.say


def test_the_same_seed_draws_the_same_sentences() -> None:
    first, second = Speaker(Random(4)), Speaker(Random(4))
    assert [first.sentence() for _ in range(50)] == [second.sentence() for _ in range(50)]
