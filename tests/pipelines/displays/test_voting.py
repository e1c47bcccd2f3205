"""Votes: agreement makes sure, and no disagreement stays hidden."""

from dataclasses import replace
from decimal import Decimal

import numpy as np
import pytest

from pipelines.displays.alphabet import CHARACTERS
from pipelines.displays.decoding import Heard, _as_often, hear, most_agreed, places, prefix_search, together
from pipelines.displays.voting import (
    LEAST,
    SURE,
    Vote,
    cut_end,
    first_one_in_doubt,
    join,
    number,
    overload,
    perhaps_cut,
    with_far_minus,
    with_first_one,
)


def steps(text: str, sure: float = 0.998, blanks: int = 1) -> np.ndarray:
    """Log probabilities of a recogniser that says ``text``."""
    classes = len(CHARACTERS) + 1
    codes = [c for char in text for c in (*[0] * blanks, CHARACTERS.index(char) + 1)] + [0]
    out = np.full((len(codes), classes), (1 - sure) / (classes - 1), np.float32)
    out[np.arange(len(codes)), codes] = sure
    return np.log(out)


def heard(text: str, share: float, *others: tuple[str, float]) -> Heard:
    return Heard(((text, share), *others), (text,) * 4, (share,) * len(text))


def test_prefix_search_keeps_double_digits() -> None:
    found = prefix_search(np.exp(steps("1005")))
    assert max(found, key=lambda text: found[text]) == "1005"


def test_looks_that_agree_are_sure_and_looks_that_differ_are_not() -> None:
    same = join(hear([steps("12.45")] * 4), None)
    split = join(hear([steps("12.45"), steps("12.45"), steps("12.46"), steps("12.46")]), None)
    assert same.text == "12.45" and same.confidence > SURE
    assert split.confidence < SURE and "12.46" in dict(split.others)


def test_geometry_that_agrees_raises_and_one_that_differs_takes_sureness_away() -> None:
    alone = join(heard("13.5", 0.9), None)
    agreed = join(heard("13.5", 0.9), "13.5")
    against = join(heard("13.5", 0.999), "18.5")
    assert agreed.confidence > alone.confidence
    assert LEAST <= against.confidence < SURE
    assert "18.5" in dict(against.others)


@pytest.mark.parametrize("other", ["135", "1.35", "13.57", "-13.5"])
def test_a_faint_second_point_or_further_character_is_doubt_enough(other: str) -> None:
    vote = join(heard("13.5", 0.97, (other, 0.02)), None)
    assert vote.confidence < SURE


def test_a_point_seen_by_some_looks_is_taken_and_stays_in_doubt() -> None:
    vote = join(heard("0350", 0.8, ("035.0", 0.15)), None)
    assert vote.text == "035.0" and LEAST <= vote.confidence < SURE
    assert vote.point_doubted() and "0350" in dict(vote.others)
    assert len(vote.marks) == len(vote.text)


@pytest.mark.parametrize(
    "others",
    [(("035.0", 0.05),), (("035.1", 0.15),), (("0.3.50", 0.15),), ((".0350", 0.3),), (("0350.", 0.3),), ()],
)
def test_a_faint_point_or_one_among_other_digits_moves_nothing(others: tuple[tuple[str, float], ...]) -> None:
    assert join(heard("0350", 0.8, *others), None).text == "0350"


def test_what_looks_a_little_like_a_piece_of_a_digit_is_no_doubt_and_what_looks_more_so_is() -> None:
    assert join(heard("13.5", 0.97, ("13.5?", 0.02)), None).confidence > SURE
    assert join(heard("13.5", 0.94, ("?13.5", 0.05)), "13.5").confidence < SURE


@pytest.mark.parametrize(
    ("text", "end"),
    [("?2.03", "left"), ("12.?", "right"), ("-1?", "right"), ("12.5", None), ("?", None), ("?L?", None)],
)
def test_a_number_that_goes_on_beyond_the_edge(text: str, end: str | None) -> None:
    assert cut_end(text) == end


def test_point_in_doubt_is_known() -> None:
    assert join(heard("135", 0.9, ("13.5", 0.05)), None).point_doubted()
    assert not join(heard("135", 0.9, ("138", 0.05)), None).point_doubted()


def test_a_minus_far_off_is_taken_and_never_sure() -> None:
    vote = with_far_minus(join(heard("82.5", 0.999), "82.5"), ("82.5", "-82.5"))
    assert vote.text == "-82.5" and vote.confidence < SURE and "82.5" in dict(vote.others)
    near = join(heard("82.5", 0.999), "82.5")
    assert with_far_minus(near, ("82.5", "-32.5")) is near


@pytest.mark.parametrize(
    ("text", "other", "share", "taken"),
    [
        ("?0.79", "10.79", 0.3, "10.79"),
        ("?0.79", "10.79", 0.1, "?0.79"),
        ("?0.79", "70.79", 0.3, "?0.79"),
        ("0.79?", "0.791", 0.3, "0.79?"),
        ("?L", "1L", 0.3, "?L"),
    ],
)
def test_a_piece_of_a_first_digit_that_may_be_a_1_is_one_and_asked(
    text: str, other: str, share: float, taken: str
) -> None:
    vote = with_first_one(join(heard(text, 0.95, (other, share)), None))
    assert vote.text == taken and len(vote.marks) == len(taken)
    if taken != text:
        assert vote.confidence <= LEAST and text in dict(vote.others) and first_one_in_doubt(vote)


def test_one_lucky_trial_is_not_certain() -> None:
    lucky = most_agreed([heard("77", 0.3), heard("11", 0.99), heard("17", 0.2)])
    agreed = most_agreed([heard("11", 0.97), heard("11", 0.99), heard("17", 0.2)])
    assert lucky.shares[0][0] == "11" and lucky.shares[0][1] < 0.6
    assert agreed.shares[0] == ("11", pytest.approx(0.98))


def test_two_networks_that_differ_are_less_sure_than_two_that_agree() -> None:
    first = [heard("13.5", 0.96), heard("13.5", 0.94)]
    same = [replace(trial, by="again") for trial in first]
    other = [replace(heard("18.5", 0.9), by="again")] * 2
    assert most_agreed(first + same).shares[0] == ("13.5", pytest.approx(0.95))
    text, share = most_agreed(first + other).shares[0]
    assert text == "13.5" and share == pytest.approx(0.95 / 2)


def test_a_number_beside_which_something_is_cut_off_counts_for_its_digits() -> None:
    """Two networks take 59.07 for more likely than 59.03, one of them with something before it."""
    trials = [heard("59.03", 0.5, ("59.07", 0.3)), replace(heard("?59.07", 0.5, ("59.07", 0.4)), by="again")]
    vote = join(most_agreed(trials), None)
    assert vote.text in ("59.07", "?59.07") and vote.confidence < SURE


def test_a_narrow_cut_does_not_outvote_one_that_shows_more() -> None:
    wide, narrow = [heard("011616", 0.6)] * 2, [heard("11616", 0.9)] * 2
    assert together(wide, narrow) == wide
    assert together(narrow, wide) == narrow + wide
    assert together(wide, []) == wide


def test_looks_that_see_something_cut_off_count_for_less() -> None:
    """A third as often in photos as in drawn strips: 0.6 against 0.4 there is 0.34 against 0.66."""
    texts = _as_often({"?12.5": 0.6, "12.5": 0.4})
    assert texts["12.5"] == pytest.approx(0.4 / (0.4 + 0.35 * 0.6))
    assert sum(texts.values()) == pytest.approx(1)


@pytest.mark.parametrize(
    ("other", "end"), [("?13.5", "left"), ("135?", "right"), ("?18.5", None), ("13.57", None)]
)
def test_an_end_that_some_looks_saw_cut_off_is_known(other: str, end: str | None) -> None:
    assert perhaps_cut(Vote("13.5", 0.85, (), ((other, 0.1),))) == end
    assert perhaps_cut(Vote("13.5", 0.85, (), ((other, 0.01),))) is None


def test_places_are_the_middles_of_the_digits() -> None:
    """Steps of -1.5 with one blank before each: digits at steps 3 and 7 of 9."""
    assert places(steps("-1.5")) == pytest.approx((3.5 / 9, 7.5 / 9))


def test_nothing_said_stays_nothing() -> None:
    assert most_agreed([heard("", 0.9), heard("", 0.8)]).shares[0][0] == ""


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("0.060", "0.060"),
        ("-12.450", "-12.450"),
        ("007", "7"),
        (".5", "0.5"),
        ("13.", "13"),
        ("-0.0", "-0.0"),
    ],
)
def test_numbers_keep_their_decimals(text: str, value: str) -> None:
    found = number(text)
    assert found is not None and str(found) == str(Decimal(value))


@pytest.mark.parametrize("text", ["", "-", ".", "1.2.3", "--", "1:20", "0L", "12?", "E", "1-2"])
def test_what_is_no_number(text: str) -> None:
    assert number(text) is None


@pytest.mark.parametrize(
    ("text", "mark"),
    [("0L", "OL"), ("0.L", "OL"), (".0L", "OL"), ("-0L", "-OL"), ("Err", "Err"), ("E", "Err"), ("E02", "Err"),
     ("12.5", None), ("L0", None), ("--", None)],
)  # fmt: skip
def test_overload_marks(text: str, mark: str | None) -> None:
    assert overload(text) == mark


def test_trials_that_differ_in_the_point_alone_count_together_and_stay_a_question() -> None:
    trials = [heard("519.1", 0.45, ("5191", 0.4)), heard("5191", 0.45, ("519.1", 0.4)), heard("579.1", 0.6)]
    vote = join(most_agreed(trials), None)
    assert vote.text in ("519.1", "5191")
    assert LEAST <= vote.confidence < SURE and vote.point_doubted()


def test_two_points_are_taken_only_when_there_is_no_other_text() -> None:
    both = [heard("0.77.63", 0.5, ("077.63", 0.3))] * 2
    assert most_agreed(both).shares[0][0] == "077.63"
    assert most_agreed([heard("0.77.63", 0.5)] * 2).shares[0][0] == "0.77.63"


@pytest.mark.parametrize(
    ("said", "text"),
    [("005:083", "005083"), ("12:45", "12:45"), ("1:02:33", "1:02:33"), ("00:5693", "005693")],
)
def test_specks_between_digits_are_no_colon_but_in_a_time(said: str, text: str) -> None:
    found = hear([steps(said)] * 4)
    assert found.shares[0][0] == text and set(found.best) == {text}
    assert len(found.marks) == len(text)


def test_a_number_that_ends_in_a_point_is_never_sure() -> None:
    """What stood behind the point has most likely been lost."""
    assert join(heard("0105.", 0.999), "0105.").confidence < SURE


def test_what_goes_on_behind_a_point_outweighs_what_ends_in_it() -> None:
    trials = [heard("0105.", 0.6, ("0105.1", 0.4)), heard("0105.1", 0.5, ("0105.", 0.4))]
    assert most_agreed(trials).shares[0][0] == "0105.1"
    assert most_agreed([heard("13.", 0.9)] * 2).shares[0] == ("13.", pytest.approx(0.9))


def test_marks_alone_are_nothing() -> None:
    assert most_agreed([heard("", 0.5, (".", 0.4)), heard(".", 0.5)]).shares[0][0] == ""
