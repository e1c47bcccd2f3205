"""Which of several groups of digits is the reading, with the reading itself played."""

from dataclasses import replace

import numpy as np
import pytest

from models.display import DisplayReading
from pipelines.displays import choosing, quality, reader
from pipelines.displays.choosing import Choice, ReadGroup, choose
from pipelines.displays.decoding import Heard
from pipelines.displays.locate import Found, Group, main_first
from pipelines.displays.straighten import Photo, rectangle
from pipelines.displays.voting import Vote

PIXELS = np.zeros((600, 800, 3), np.uint8)
PHOTO = Photo(PIXELS)


def group(left: float, top: float, height: float = 60, width: float = 200) -> Group:
    return Group(rectangle(left, top, width, height), 0.9)


def played(monkeypatch: pytest.MonkeyPatch, says: dict[tuple[float, float], tuple[str, float]]) -> None:
    """Each group says what stands under its upper left corner."""

    def read(photo: Photo, one: Group, before: object = None) -> ReadGroup:
        text, confidence = says[tuple(one.quad[0])]
        vote = Vote(text, confidence, (confidence,) * len(text), ())
        return ReadGroup(one, vote, np.full((48, 200, 3), 90, np.uint8), [])

    monkeypatch.setattr(choosing, "_read", read)


def chosen(*groups: Group) -> Choice:
    choice = choose(PHOTO, Found(tuple(main_first(list(groups))), 1.0))
    assert choice is not None
    return choice


def texts(reads: tuple[ReadGroup, ...]) -> list[str]:
    return [r.vote.text for r in reads]


def test_the_top_line_of_one_display_is_taken(monkeypatch: pytest.MonkeyPatch) -> None:
    played(monkeypatch, {(100, 100): ("12.50", 0.98), (100, 180): ("3.125", 0.98)})
    choice = chosen(group(100, 180), group(100, 100))
    assert choice.main.vote.text == "12.50"
    assert texts(choice.lines) == ["3.125"]
    assert not choice.rivals and not choice.missed


def test_a_tilted_display_keeps_its_lines(monkeypatch: pytest.MonkeyPatch) -> None:
    turn = np.array([[np.cos(0.5), np.sin(0.5)], [-np.sin(0.5), np.cos(0.5)]])
    upper, lower = (Group(group(0, top).quad @ turn + 300, 0.9) for top in (0, 80))
    played(monkeypatch, {tuple(upper.quad[0]): ("12.50", 0.98), tuple(lower.quad[0]): ("3.125", 0.98)})
    choice = chosen(lower, upper)
    assert (choice.main.vote.text, texts(choice.lines)) == ("12.50", ["3.125"])


@pytest.mark.parametrize("second", [(450, 100), (100, 300)])
def test_two_displays_alike_are_a_question(
    monkeypatch: pytest.MonkeyPatch, second: tuple[float, float]
) -> None:
    played(monkeypatch, {(100, 100): ("12.50", 0.98), second: ("3.125", 0.98)})
    choice = chosen(group(100, 100), group(*second))
    assert texts(choice.rivals) == ["3.125"]
    assert not choice.lines


def test_a_plainly_larger_display_is_no_question(monkeypatch: pytest.MonkeyPatch) -> None:
    played(monkeypatch, {(100, 100): ("12.50", 0.98), (450, 100): ("3.125", 0.98)})
    choice = chosen(group(100, 100, 90), group(450, 100, 50))
    assert choice.main.vote.text == "12.50" and not choice.rivals


@pytest.mark.parametrize(("text", "confidence"), [("3.125", 0.4), ("?L", 0.95), ("", 0.9)])
def test_what_is_no_clear_number_is_no_rival(
    monkeypatch: pytest.MonkeyPatch, text: str, confidence: float
) -> None:
    played(monkeypatch, {(100, 100): ("12.50", 0.98), (450, 100): (text, confidence)})
    assert not chosen(group(100, 100), group(450, 100)).rivals


def test_a_line_below_an_unread_one_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    played(monkeypatch, {(100, 100): ("1.5", 0.3), (100, 180): ("3.125", 0.98)})
    choice = chosen(group(100, 100), group(100, 180))
    assert choice.main.vote.text == "3.125" and choice.missed


def test_small_digits_beside_larger_unread_ones_say_so(monkeypatch: pytest.MonkeyPatch) -> None:
    played(monkeypatch, {(100, 100): ("1.5", 0.3), (100, 400): ("3.125", 0.98)})
    choice = chosen(group(100, 100, 90), group(100, 400, 40))
    assert choice.main.vote.text == "3.125" and choice.missed


def test_small_shapes_beside_larger_unread_ones_count_only_when_read_at_once(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    played(monkeypatch, {(100, 100): ("", 0.3), (100, 400): ("58", 0.9)})
    groups = Found(tuple(main_first([group(100, 100, 90), group(100, 400, 40)])), 1.0)
    choice = choose(PHOTO, groups)
    assert choice is not None and choice.main.vote.text == "58"
    alone = choosing._read

    def wavering(image: np.ndarray, one: Group, before: object = None) -> ReadGroup:
        return replace(alone(image, one), heard=[Heard((("58", 0.5),), ("58",), ())] * 3)

    monkeypatch.setattr(choosing, "_read", wavering)
    assert choose(PHOTO, groups) is None


@pytest.mark.parametrize(
    ("text", "confidence", "asked"), [("59.03", 0.4, True), ("59.03", 0.1, False), ("4??L?", 0.4, False)]
)
def test_a_display_beside_an_unread_number_says_so(
    monkeypatch: pytest.MonkeyPatch, text: str, confidence: float, asked: bool
) -> None:
    """Two displays of one size, of which the upper could not be read: it may be the one that was meant."""
    played(monkeypatch, {(100, 100): (text, confidence), (450, 400): ("21.567", 0.98)})
    choice = chosen(group(100, 100), group(450, 400))
    assert choice.main.vote.text == "21.567" and choice.missed is asked


@pytest.mark.parametrize(("side", "read"), [("left", None), ("right", "66.6"), (None, "66.6")])
def test_glare_where_a_look_saw_something_cut_off_gives_no_reading(
    monkeypatch: pytest.MonkeyPatch, side: str | None, read: str | None
) -> None:
    strip = np.full((48, 200, 3), 90, np.uint8)
    if side:
        strip[:, :30] = 255
        strip = strip if side == "left" else strip[:, ::-1]
    vote = Vote("66.6", 0.85, (0.8,) * 4, (("?66.6", 0.2),))
    alone = ReadGroup(group(100, 100), vote, strip, [])
    monkeypatch.setattr(choosing, "_read", lambda image, one, before=None: alone)
    monkeypatch.setattr(reader, "find", lambda image: Found((group(100, 100),), 1.0))
    monkeypatch.setattr(reader, "read_unit", lambda image, quad: None)
    reading = reader.read_display(PIXELS, "0")
    assert reading.text == read and reading.reason is not None
    assert ("left end" in reading.reason) is (read is None)


def test_nothing_shown_is_nothing_chosen(monkeypatch: pytest.MonkeyPatch) -> None:
    played(monkeypatch, {(100, 100): ("", 0.9)})
    assert choose(PHOTO, Found((group(100, 100),), 1.0)) is None
    assert choose(PHOTO, Found((), 0.0)) is None


def test_the_question_names_both_and_is_not_sure(monkeypatch: pytest.MonkeyPatch) -> None:
    """In the reading itself: text of the first, the other as an alternative, and a sentence."""
    played(monkeypatch, {(100, 100): ("12.50", 0.98), (450, 100): ("3.125", 0.98)})
    monkeypatch.setattr(reader, "find", lambda image: Found((group(100, 100), group(450, 100)), 1.0))
    monkeypatch.setattr(reader, "read_unit", lambda image, quad: "V")
    reading = reader.read_display(PIXELS, "0")
    assert reading.text == "12.50" and reading.confidence < 0.5
    assert reading.alternatives[0].text == "3.125"
    assert reading.reason is not None and "12.50" in reading.reason and "3.125" in reading.reason


@pytest.mark.parametrize(("text", "words"), [("?2.03", "left end"), ("12.?", "right end")])
def test_half_a_digit_gives_no_reading_and_says_where(
    monkeypatch: pytest.MonkeyPatch, text: str, words: str
) -> None:
    played(monkeypatch, {(100, 100): (text, 0.98)})
    monkeypatch.setattr(reader, "find", lambda image: Found((group(100, 100),), 1.0))
    reading = reader.read_display(PIXELS, "0")
    assert reading.text is None
    assert reading.reason is not None and words in reading.reason


def one_group(monkeypatch: pytest.MonkeyPatch, at: Group, vote: Vote) -> DisplayReading:
    """The reading of a photo with one group of digits that says this."""
    alone = ReadGroup(at, vote, np.full((48, 200, 3), 90, np.uint8), [])
    monkeypatch.setattr(choosing, "_read", lambda photo, one, before=None: alone)
    monkeypatch.setattr(reader, "find", lambda photo: Found((at,), 1.0))
    monkeypatch.setattr(reader, "read_unit", lambda photo, quad: None)
    return reader.read_display(PIXELS, "0")


@pytest.mark.parametrize(("left", "side"), [(10, "left"), (790 - 200, "right"), (25, None), (300, None)])
def test_digits_close_to_the_edge_are_a_question(
    monkeypatch: pytest.MonkeyPatch, left: float, side: str | None
) -> None:
    """A photo cut between two digits shows nothing of the one that is lost."""
    reading = one_group(monkeypatch, group(left, 100), Vote("12.50", 0.98, (0.98,) * 5, ()))
    assert reading.text == "12.50"
    if side is None:
        assert reading.reason is None and reading.confidence > 0.9
    else:
        assert reading.reason is not None and f"{side} edge" in reading.reason and reading.confidence < 0.9


@pytest.mark.parametrize(("inner", "read"), [(60, "12.50"), (5, None), (-20, None)])
def test_corners_beyond_the_photo_cut_nothing_off_where_the_digits_are_seen_within(
    monkeypatch: pytest.MonkeyPatch, inner: float, read: str | None
) -> None:
    monkeypatch.setattr(reader, "drawn_in", lambda photo, quad: group(inner, 100).quad)
    reading = one_group(monkeypatch, group(-40, 100, width=300), Vote("12.50", 0.98, (0.98,) * 5, ()))
    assert reading.text == read
    assert reading.reason is not None and "left edge" in reading.reason and reading.confidence < 0.9


def test_a_1_that_may_be_a_piece_of_a_digit_is_said_so(monkeypatch: pytest.MonkeyPatch) -> None:
    vote = Vote("10.79", 0.6, (0.3, 0.9, 0.9, 0.9, 0.9), (("?0.79", 0.7),))
    monkeypatch.setattr(quality, "cause", lambda strip, quad, which: None)
    reading = one_group(monkeypatch, group(300, 100), vote)
    assert (reading.text, reading.reason) == ("10.79", quality.FIRST_ONE)


@pytest.mark.parametrize(("whole", "taken"), [("12.50", "12.50"), ("12.507", "12.507")])
def test_a_cut_out_that_shows_more_than_was_found_in_it_is_read_whole(
    monkeypatch: pytest.MonkeyPatch, whole: str, taken: str
) -> None:
    """A picture cut to its digits, on which the last one was not found; both are read clearly."""
    image = np.zeros((100, 500, 3), np.uint8)
    played(monkeypatch, {(30, 20): ("12.50", 0.98), (15, 16): ("12.507", 0.8)})
    monkeypatch.setattr(choosing, "first_look", lambda image, quad: Heard(((whole, 0.8),), (whole,), ()))
    choice = choose(Photo(image), Found((group(30, 20),), 1.0))
    assert choice is not None and choice.main.vote.text == taken
