"""The age of a tire from a spoken or a printed date code; the inspection is of 5 October 2026."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest

from models.capture import Capture
from models.notes import Remark, SpokenFinding, SpokenNotes
from models.places import Position
from pipelines.pairing import pair

BEGIN = datetime(2026, 10, 5, 8, 0, tzinfo=UTC)
SOUND, PHOTO = "a" * 64, "b" * 64
SIDEWALL = ("TUBELESS", "DOT U2LL LMLR 3219")


def capture(sha256, kind, at):
    name = "note.flac" if kind == "audio" else "IMG_1.jpg"
    moment = BEGIN + timedelta(seconds=at)
    return Capture(
        sha256=sha256,
        kind=kind,
        original_name=name,
        size=1,
        captured_at=moment,
        time_source="exif",
        zone_known=True,
    )


def spoken(code, at=10, **more):
    return SpokenFinding(
        component="tire",
        position=Position(side="left", axle="front"),
        confidence=0.9,
        start_s=at,
        end_s=at + 2,
        text=f"date code {code}",
        date_code=code,
        **more,
    )


@pytest.fixture
def found():
    def run(codes, lines=None, photo_at=20):
        captures = [capture(SOUND, "audio", 0), capture(PHOTO, "photo", photo_at)]
        notes = [SpokenNotes(capture=SOUND, findings=tuple(codes))]
        return pair(captures, notes, [], prints=None if lines is None else {PHOTO: lines}).findings

    return run


def test_a_spoken_code_is_an_age_on_the_day_of_the_inspection(found):
    # week 32 of 2019 ends on 13 August (224 days from 1 January); 2610 days of 365.25 to the year
    (finding,) = found([spoken("3219")])
    reading = finding.reading
    assert (reading.measure, reading.value, reading.unit) == ("age", Decimal("7.14"), "a")
    assert reading.as_given == "date code 3219"
    assert finding.attention == ()
    assert finding.position == Position(side="left", axle="front")


@pytest.mark.parametrize(
    ("code", "doubt"),
    [("409", "before 2000"), ("5419", "week 54"), ("4826", "is after 2026-10-05"), ("", "could not be read")],
)
def test_a_code_that_gives_no_age_is_asked_about(found, code, doubt):
    (finding,) = found([spoken(code)])
    assert finding.reading is None
    assert len(finding.attention) == 1 and doubt in finding.attention[0]


def test_the_same_code_in_print_is_evidence(found):
    (finding,) = found([spoken("3219")], SIDEWALL)
    assert [(e.kind, e.text) for e in finding.evidence][1:] == [("photo", "DOT U2LL LMLR 3219")]
    assert finding.attention == ()


def test_another_code_in_print_is_asked_about_at_both(found):
    said, shown = found([spoken("3119")], SIDEWALL)
    assert said.attention == (
        "date code 3119 was said, but the photo IMG_1.jpg seems to show 3219: check which is right.",
    )
    assert shown.reading.value == Decimal("7.14")
    assert "say which tire it is" in shown.attention[0]


def test_a_code_in_print_that_nobody_said_asks_for_its_tire(found):
    (finding,) = found([], SIDEWALL)
    assert (finding.component, finding.position, finding.confidence) == ("tire", Position(), 0.0)
    assert finding.attention[0].startswith("Date code 3219 was read from print on IMG_1.jpg")


def test_a_whole_number_in_print_tells_plant_and_retread(found):
    (new,) = found([], ("DOT 1XY AB12CD 3219",))
    assert new.attention == (
        "Date code 3219 was read from print on IMG_1.jpg (plant code 1XY), and nobody said it: look at the"
        " photo, and say which tire it is.",
    )
    retread = "DOT 1XY 3219 has 7 symbols, as the number of a retread: the date is that of the retreading"
    (alone,) = found([], ("DOT 1XY 3219",))
    (said,) = found([spoken("3219")], ("DOT 1XY 3219",))
    assert [a for a in alone.attention if a.startswith(retread)] == list(alone.attention[1:])
    assert len(said.attention) == 1 and said.attention[0].startswith(retread)


def test_a_number_that_is_too_long_is_asked_about(found):
    (said,) = found([spoken("3219")], ("DOT 1XY AB12 CDE 3219",))
    assert "has 14 symbols, and no tire identification number has more than 13" in said.attention[0]
    (wrong,) = found([], ("DOT 1XY AB12CD 5419",))
    assert [a for a in wrong.attention if "week 54" in a] == [wrong.attention[-1]]
    assert len(wrong.attention) == 2


def test_a_photo_much_later_is_of_another_tire(found):
    said, shown = found([spoken("3119")], SIDEWALL, photo_at=300)
    assert said.attention == ()
    assert [e.kind for e in shown.evidence] == ["photo"]


@pytest.mark.parametrize("lines", [("MAX LOAD 3219 LB",), ("DOTTED LINE", "NO 12"), ("SERIAL 3219",), ()])
def test_four_digits_without_the_mark_are_no_date_code(found, lines):
    assert found([], lines) == ()


def test_sentences_that_go_with_a_finding_are_evidence_of_it(found):
    remark = Remark(text="The camber moves.", start_s=13.0, end_s=14.0)
    (finding,) = found([spoken("3219", remarks=(remark,))])
    assert [(e.text, e.start_s) for e in finding.evidence] == [
        ("date code 3219", 10),
        ("The camber moves.", 13.0),
    ]
