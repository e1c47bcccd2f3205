"""Sentences that go with a reading: what its play moves."""

import pytest

from tests.pipelines.notes.saying import lines, notes

PLAY = "ball_joint left upper | axial_play 0.030 in"
READING = "Left upper ball joint, axial play thirty thousandths."


@pytest.mark.parametrize(
    "said",
    ["The camber moves when I pry it.", "It moves the toe.", "Toe changes with it.", "The alignment moves."],
)
def test_a_sentence_behind_the_reading_stays_with_it(said: str) -> None:
    (found,) = notes(f"{READING} {said}").findings
    assert [remark.text for remark in found.remarks] == [said]
    assert found.remarks[0].start_s >= found.end_s - 0.5


def test_what_follows_is_still_said_of_the_same_part() -> None:
    assert lines(f"{READING} The camber moves when I pry it. Boot torn.") == [f"{PLAY} | torn"]


def test_before_the_number_and_in_its_sentence_it_needs_no_remark_of_its_own() -> None:
    (found,) = notes("Left upper ball joint, the camber moves, axial play thirty thousandths.").findings
    assert "camber moves" in found.text
    assert found.remarks == ()


def test_a_sentence_in_front_of_the_reading_waits_for_it() -> None:
    (found,) = notes(
        "Left upper ball joint. The camber moves with it. Axial play thirty thousandths."
    ).findings
    assert found.reading is not None
    assert [remark.text for remark in found.remarks] == ["The camber moves with it."]


@pytest.mark.parametrize("said", ["No camber moves.", "The camber doesn't move.", "Camber was not moving."])
def test_a_denial_is_no_remark(said: str) -> None:
    (found,) = notes(f"{READING} {said}").findings
    assert found.remarks == ()


def test_another_part_named_between_takes_it() -> None:
    joint, rod = notes(f"{READING} Left outer tie rod end, ten thousandths. The toe moves.").findings
    assert joint.remarks == ()
    assert [remark.text for remark in rod.remarks] == ["The toe moves."]


def test_without_a_part_it_is_told() -> None:
    said = notes("The camber moves when I pry it.")
    assert said.findings == ()
    assert any("camber moves" in sentence for sentence in said.attention)


def test_in_the_next_window_it_still_belongs_to_the_part() -> None:
    (found,) = notes(READING, "The camber moves when I pry it.").findings
    assert [remark.text for remark in found.remarks] == ["The camber moves when I pry it."]


def test_a_wish_to_take_camber_readings_is_still_read() -> None:
    assert lines("Left front wheel, camber minus one point two degrees.") == [
        "wheel left front | camber -1.2 °"
    ]
