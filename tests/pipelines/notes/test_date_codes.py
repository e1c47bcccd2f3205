"""The date code of a tire, as it is said and as a recogniser writes it."""

import pytest

from tests.pipelines.notes.saying import lines, notes

TREAD = "tire left front | tread_depth 0.21875 in"


def codes(text: str) -> list[tuple[str, str | None]]:
    return [(f.position.words(), f.date_code) for f in notes(text).findings if f.date_code is not None]


@pytest.mark.parametrize(
    "said",
    [
        "date code thirty two nineteen",
        "date code thirty-two nineteen",
        "date code 3219",
        "date code 32 19",
        "date code 32-19",
        "date code 32, 19",
        "date code 3,219",
        "date code thirty-two, nineteen",
        "date code three two one nine",
        "date code is 3219",
        "date code reads 3 2 1 9",
        "DOT code 3219",
        "dot code thirty two nineteen",
        "D O T code thirty two nineteen",
        "date code 3119, scratch that, 3219",
        "date code 3119. Correction, thirty two nineteen",
    ],
)
def test_four_digits_are_a_date_code_and_no_reading(said: str) -> None:
    text = f"Left front tire, seven thirty-seconds, {said}."
    assert codes(text) == [("left front", "3219")]
    assert lines(text) == [TREAD, "tire left front"]


@pytest.mark.parametrize(
    ("said", "digits"),
    [("oh one nineteen", "0119"), ("0119", "0119"), ("zero one one nine", "0119"),
     ("twenty three oh nine", "2309"), ("five ten", "510"), ("409", "409")],
)  # fmt: skip
def test_leading_zeros_stay_and_three_digits_stay_three(said: str, digits: str) -> None:
    assert codes(f"Left front tire, date code {said}.") == [("left front", digits)]


@pytest.mark.parametrize("joint", [". ", ", ", " "])
def test_what_is_said_behind_it_is_read(joint: str) -> None:
    text = f"Left front tire, date code 3219{joint}tread seven thirty-seconds."
    assert lines(text) == ["tire left front", TREAD]


def test_one_code_for_each_tire() -> None:
    text = "Left front tire, date code 3219. Right front tire, date code 0420. Same on the left rear."
    assert codes(text)[:2] == [("left front", "3219"), ("right front", "0420")]
    assert codes("All four tires, date code 3219.") == [
        (corner, "3219") for corner in ("left front", "right front", "left rear", "right rear")
    ]


def test_without_a_place_somebody_is_asked() -> None:
    (found,) = notes("DOT code 3219.").findings
    assert found.component == "tire"
    assert found.attention == ("Nobody said which side and axle this is.",)


def test_digits_that_cannot_be_read_are_told() -> None:
    assert codes("Left front tire, date code 32 weeks 19. Tread seven thirty-seconds.") == [
        ("left front", "")
    ]


@pytest.mark.parametrize(
    "said", ["Battery, date code 3219, twelve point six volts.", "Battery date code 3219. 12.6 volts."]
)
def test_the_code_of_another_part_is_no_reading_of_it(said: str) -> None:
    assert lines(said) == ["battery | voltage 12.6 V"]


def test_talk_without_a_number_says_nothing() -> None:
    assert lines("Left front tire, date code is gone, seven thirty-seconds.") == [TREAD]


def test_two_codes_for_one_tire_are_asked_about_and_the_same_one_is_told_once() -> None:
    two = notes("Left front tire, date code 3219. Left front tire, date code 3119.").findings
    assert [f.date_code for f in two] == ["3219", "3119"]
    assert all("date code 3219 and date code 3119" in f.attention[0] for f in two)
    assert codes("Left front tire, date code 3219. Date code 3219.") == [("left front", "3219")]


def test_hypotheses_vote_on_the_digits() -> None:
    said = "Left front tire, date code {}."
    (found,) = notes(
        [(said.format("3219"), 0.5), (said.format("3290"), 0.3), (said.format("thirty two nineteen"), 0.2)]
    ).findings
    assert found.date_code == "3219"
    assert found.confidence == pytest.approx(0.7)
    (unsure,) = notes([(said.format("3219"), 0.55), (said.format("3290"), 0.45)]).findings
    assert "3290" in unsure.attention[0]
