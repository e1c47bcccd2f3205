"""What of a plan is done, missing, or must be measured again."""

import json
from collections.abc import Callable
from datetime import UTC, datetime
from decimal import Decimal
from itertools import count

import pytest

from models.places import Position
from models.plans_check import checked
from models.record import Finding, Inspection, PlanItem, Reading, Record, Review

AT = datetime(2026, 11, 20, 9, 30, tzinfo=UTC)
Say = Callable[..., Finding]


@pytest.fixture
def say() -> Say:
    numbers = count()

    def make(
        component: str | None, what: str = "", place: dict[str, object] | None = None, **more: object
    ) -> Finding:
        reading = None
        if what:
            measure, value, unit = what.split()
            reading = Reading(measure=measure, value=Decimal(value), unit=unit, as_given=what)
        position = Position.model_validate(place or {})
        made = {"id": f"f{next(numbers)}", "component": component, "position": position, "reading": reading}
        return Finding.model_validate({**made, "confidence": 0.9, **more})

    return make


def check(items: list[PlanItem], *findings: Finding) -> Record:
    head = Inspection(id="x", started_at=AT, ended_at=AT)
    return checked(Record(inspection=head, findings=findings, plan=tuple(items)))


def states(record: Record) -> list[tuple[str, str]]:
    return [(item.state, item.why) for item in record.plan]


OUTER = {"side": "left", "axle": "front", "face": "outer"}
PAD = PlanItem(component="brake_pad", position=Position(**OUTER), measure="thickness")  # type: ignore[arg-type]
HUB = PlanItem(component="hub_bearing", position=Position(side="left", axle="front"), measure="play")
HOSE = PlanItem(component="brake_hose", position=Position(side="left", axle="front"))
FRONT = {"side": "left", "axle": "front"}


def test_nothing_said_means_missing() -> None:
    assert states(check([PAD, HOSE])) == [("missing", "not measured yet"), ("missing", "not looked at yet")]


def test_a_clean_reading_at_the_place_is_done(say: Say) -> None:
    pad = say("brake_pad", "thickness 6.0 mm", OUTER)
    record = check([PAD], pad)
    assert states(record) == [("done", "")]
    assert record.plan[0].findings == (pad.id,)
    assert record.call_back == ()


@pytest.mark.parametrize("place", [{**OUTER, "face": "inner"}, {**OUTER, "side": "right"}])
def test_another_place_is_not_this_one(say: Say, place: dict[str, object]) -> None:
    assert states(check([PAD], say("brake_pad", "thickness 6.0 mm", place))) == [
        ("missing", "not measured yet")
    ]


def test_another_measure_is_not_this_one(say: Say) -> None:
    rotor = PlanItem(component="brake_rotor", measure="thickness")
    assert states(check([rotor], say("brake_rotor", "runout 0.002 [in_i]")))[0][0] == "missing"


@pytest.mark.parametrize("axle", ["front", "axle_1"])
def test_the_front_axle_is_axle_one(say: Say, axle: str) -> None:
    assert states(check([PAD], say("brake_pad", "thickness 6.0 mm", {**OUTER, "axle": axle})))[0][0] == "done"


@pytest.mark.parametrize("measure", ["play", "end_play", "axial_play", "radial_play"])
def test_play_in_any_direction_answers_play(say: Say, measure: str) -> None:
    assert states(check([HUB], say("hub_bearing", f"{measure} 0 [in_i]", FRONT)))[0][0] == "done"


def test_a_doubt_asks_to_measure_again(say: Say) -> None:
    doubtful = say("brake_pad", "thickness 13.5 mm", OUTER, attention=("13.5 or 30.5 was heard.",))
    assert states(check([PAD], doubtful)) == [("measure again", "13.5 or 30.5 was heard.")]


def test_a_later_reading_without_a_doubt_answers_it(say: Say) -> None:
    doubtful = say("brake_pad", "thickness 30.5 mm", OUTER, attention=("13.5 or 30.5 was heard.",))
    again = say("brake_pad", "thickness 13.5 mm", OUTER)
    assert states(check([PAD], doubtful, again)) == [("done", "")]
    assert states(check([PAD], again, doubtful))[0][0] == "measure again"


@pytest.mark.parametrize(
    ("state", "expected"),
    [("confirmed", "done"), ("corrected", "done"), ("proposed", "measure again"), ("rejected", "missing")],
)
def test_what_a_reviewer_decided_is_not_asked_again(say: Say, state: str, expected: str) -> None:
    review = Review.model_validate({"state": state})
    pad = say("brake_pad", "thickness 6.0 mm", OUTER, attention=("It may be 16.",), review=review)
    assert [i.state for i in check([PAD], pad).plan] == [expected]


def test_measure_again_is_taken_at_its_word(say: Say) -> None:
    pad = say("brake_pad", "thickness 6.0 mm", OUTER, action="measure_again")
    assert states(check([PAD], pad))[0] == ("measure again", "to be measured again was said of it")


def test_a_place_that_was_not_said_is_asked_for(say: Say) -> None:
    pad = say("brake_pad", "thickness 6.0 mm", {"side": "left", "axle": "front"})
    assert states(check([PAD], pad)) == [("measure again", "6.0 mm was said, but not whether inner or outer")]


def test_two_values_of_one_thing_cannot_both_hold(say: Say) -> None:
    six, five = (say("brake_pad", f"thickness {v} mm", OUTER) for v in ("6.0", "5.0"))
    assert states(check([PAD], six, five)) == [
        ("measure again", "6.0 mm and 5.0 mm were both said: measure it once more")
    ]
    assert states(check([PAD], six, five, say("brake_pad", "thickness 0.5 cm", OUTER)))[0][0] == "done"
    assert states(check([PAD], six, say("brake_pad", "thickness 6.00 mm", OUTER)))[0][0] == "done"


def test_a_hold_without_its_time_means_nothing(say: Say) -> None:
    hold = PlanItem(
        component="cooling_system", measure="pressure_after_hold", together=("pressure", "hold_time")
    )
    end, start = (
        say("cooling_system", "pressure_after_hold 13.8 [psi]"),
        say("cooling_system", "pressure 15 [psi]"),
    )
    assert states(check([hold], start, end)) == [("measure again", "the hold time was not said")]
    assert states(check([hold], end)) == [("measure again", "the pressure and the hold time was not said")]
    assert states(check([hold], start, end, say("cooling_system", "hold_time 10 min"))) == [("done", "")]


def test_one_of_two_diagonals(say: Say) -> None:
    both = [PlanItem(component="frame", position=Position(index=n), measure="diagonal") for n in (1, 2)]  # type: ignore[arg-type]
    assert states(check(both, say("frame", "diagonal 142.25 [in_i]", {"index": 1}))) == [
        ("done", ""),
        ("missing", "only one of the two diagonals was measured"),
    ]


def test_a_rotor_takes_its_number_of_spots(say: Say) -> None:
    rotor = PlanItem(component="brake_rotor", position=Position(**FRONT), measure="thickness", readings=3)  # type: ignore[arg-type]
    points = [say("brake_rotor", f"thickness 29.{n} mm", {**FRONT, "spot": f"point_{n}"}) for n in (1, 2, 3)]
    assert states(check([rotor], *points[:2])) == [("missing", "2 of 3 spots measured")]
    assert states(check([rotor], *points)) == [("done", "")]
    assert states(check([rotor], points[0], points[0], points[1]))[0][0] == "missing"


@pytest.mark.parametrize(
    ("said", "expected"),
    [
        ({"conditions": ("ok",)}, ("missing", "only 'ok' was said, without a number")),
        ({"action": "replace"}, ("done", "no number, but 'replace' was said")),
        ({"conditions": ("missing",)}, ("done", "no number, but 'missing' was said")),
        ({"action": "replace", "attention": ("Hardly heard.",)}, ("missing", "not measured yet")),
    ],
)
def test_words_without_a_number(say: Say, said: dict[str, object], expected: tuple[str, str]) -> None:
    assert states(check([PAD], say("brake_pad", "", OUTER, **said)))[0] == expected


def test_a_look_is_answered_by_what_is_seen(say: Say) -> None:
    assert states(check([HOSE], say("brake_hose", "", FRONT, conditions=("ok",)))) == [("done", "")]
    doubtful = say("brake_hose", "", FRONT, conditions=("leak",), attention=("Leak or leaf?",))
    assert states(check([HOSE], doubtful)) == [("measure again", "Leak or leaf?")]


def test_doubts_outside_of_the_plan_follow_it(say: Say) -> None:
    photo = say(None, "length 6.02 mm", attention=("Nobody said what this photo shows.",))
    record = check([PAD], say("brake_pad", "thickness 6.0 mm", OUTER), photo, say("starter", "current 180 A"))
    assert [(i.planned, i.component, i.why) for i in record.plan] == [
        (True, "brake_pad", ""),
        (False, None, "Nobody said what this photo shows."),
    ]
    assert record.call_back == (record.plan[1],)
    assert record.plan[1].words() == "length on a photo"


def test_checking_again_changes_nothing_and_forgets_answered_doubts(say: Say) -> None:
    record = check([PAD, HUB], say("starter", "current 180 A", attention=("180 or 118?",)))
    assert checked(record) == record
    assert len(checked(record.model_copy(update={"findings": ()})).plan) == 2


def test_a_plan_survives_the_published_format(say: Say) -> None:
    record = check([PAD, HOSE], say("brake_pad", "thickness 6.0 mm", OUTER))
    record = record.model_copy(update={"plan_name": "mine"})
    data = json.loads(json.dumps(record.to_json()))
    assert data["plan"][0]["position"] == OUTER
    assert Record.from_json(data) == record


def test_a_record_without_a_plan_says_nothing_of_plans() -> None:
    assert not {"plan", "plan_name"} & set(check([]).to_json())
