from decimal import Decimal

import pytest

from models.record import Odometer


def photos_of(finding):
    return [e.text for e in finding.evidence if e.kind == "photo"]


def test_a_finding_without_photo_is_what_was_said(said, paired):
    spoken = said("6", "mm", 10, ("5", 0.1), side="left", axle="front", face="outer", words="outer six")
    (finding,) = paired([spoken]).findings
    assert finding.component == "brake_pad"
    assert finding.position == spoken.position
    assert finding.reading == spoken.reading
    assert finding.confidence == spoken.confidence
    assert finding.alternatives == spoken.alternatives
    assert [(e.kind, e.text, e.start_s, e.end_s) for e in finding.evidence] == [
        ("audio", "outer six", 10, 12)
    ]
    assert finding.verdict is None


def test_a_rounding_of_the_display_is_confirmed_and_the_spoken_value_stays(said, shown, paired):
    result = paired([said("6", "mm", 10, words="six millimeters")], [shown("6.02", "mm", 15)])
    (finding,) = result.findings
    assert str(finding.reading.value) == "6"
    assert finding.reading.as_given == "six millimeters"
    assert photos_of(finding) == ["6.02"]
    assert finding.evidence[1].box == (10, 20, 30, 40)
    assert finding.confidence == pytest.approx(0.8 + 0.2 * 0.98 / 2)
    assert finding.attention == ()
    assert result.notices == ()


def test_each_photo_goes_to_its_own_reading_even_when_another_is_nearer(said, shown, paired):
    spoken = [said("6", "mm", 10, face="outer"), said("4.5", "mm", 13, face="inner")]
    photos = [shown("6.02", "mm", 16), shown("4.5", "mm", 20)]
    outer, inner = paired(spoken, photos).findings
    assert (photos_of(outer), photos_of(inner)) == (["6.02"], ["4.5"])
    assert outer.attention == inner.attention == ()


def test_equal_readings_share_their_photos_in_the_best_way(said, shown, paired):
    spoken = [said("8", "mm", 10, side="left"), said("8", "mm", 40, side="right")]
    left, right = paired(spoken, [shown("8.1", "mm", 38), shown("8.0", "mm", 45)]).findings
    assert (photos_of(left), photos_of(right)) == (["8.1"], ["8.0"])


def test_a_second_photo_of_the_same_value_is_more_evidence_but_no_more_confidence(said, shown, paired):
    once = paired([said("6", "mm", 10)], [shown("6.02", "mm", 15)]).findings
    twice = paired([said("6", "mm", 10)], [shown("6.02", "mm", 15), shown("6.02", "mm", 18)]).findings
    assert len(twice) == 1
    assert photos_of(twice[0]) == ["6.02", "6.02"]
    assert twice[0].confidence == once[0].confidence


def test_a_display_in_another_unit_agrees_after_conversion(said, shown, paired):
    spoken = said(
        "0.21875", "[in_i]", 10, measure="tread_depth", words="seven thirty seconds", component="tire"
    )
    (finding,) = paired([spoken], [shown("5.6", "mm", 20)]).findings
    assert photos_of(finding) == ["5.6"]
    assert finding.attention == ()


def test_a_contradiction_keeps_both_values_and_asks(said, shown, paired):
    (finding,) = paired(
        [said("30.5", "[psi]", 10, measure="pressure")], [shown("13.5", "[psi]", 17)]
    ).findings
    assert finding.reading.value == Decimal("30.5")
    assert finding.attention == (
        "30.5 psi was heard, but the photo IMG_0.jpg taken 5 s later shows 13.5 psi; 13 and 30 sound alike:"
        " check which is right.",
    )
    assert (finding.alternatives[0].value, finding.alternatives[0].unit) == (Decimal("13.5"), "[psi]")
    assert finding.confidence < 0.8
    assert photos_of(finding) == ["13.5"]


@pytest.mark.parametrize(
    ("heard", "unit", "shows", "shown_unit", "why"),
    [
        ("0.30", "[in_i]", "0.030", "[in_i]", "the decimal point or the sign is not"),
        ("6", "[in_i]", "6", "mm", "the number is the same, the unit is not"),
        ("6.02", "mm", "-6.02", "mm", "the decimal point or the sign is not"),
        ("1", "mm", "1.4", "mm", "check which is right"),
    ],
)
def test_usual_slips_are_named(said, shown, paired, heard, unit, shows, shown_unit, why):
    (finding,) = paired([said(heard, unit, 10)], [shown(shows, shown_unit, 20)]).findings
    assert why in finding.attention[0]


def test_the_contradicted_reading_is_the_one_of_like_value(said, shown, paired):
    spoken = [said("6", "mm", 10), said("29.8", "mm", 13, component="brake_rotor")]
    pad, rotor = paired(spoken, [shown("6.9", "mm", 17)]).findings
    assert pad.attention
    assert rotor.attention == ()


def test_a_photo_unlike_anything_near_is_a_finding_of_its_own(said, shown, paired):
    spoken = said("29.8", "mm", 10, component="brake_rotor", side="left", axle="front")
    result = paired([spoken], [shown("4.5", "mm", 30)])
    rotor, alone = result.findings
    assert rotor.attention == ()
    assert alone.component is None
    assert (alone.reading.measure, alone.reading.value, alone.reading.unit) == (
        "length",
        Decimal("4.5"),
        "mm",
    )
    assert alone.confidence == 0
    assert alone.attention == (
        "Nobody said what this photo shows: IMG_0.jpg shows 4.5 mm. Nearest in time, the left front brake"
        " rotor was spoken of; the photo was taken 18 s later.",
    )


def test_a_photo_taken_at_once_contradicts_whatever_its_value(said, shown, paired):
    (finding,) = paired([said("29.8", "mm", 10, component="brake_rotor")], [shown("4.5", "mm", 14)]).findings
    assert "4.5 mm" in finding.attention[0]


@pytest.mark.parametrize(
    ("unit", "measure"),
    [
        ("[psi]", "pressure"),
        ("V", "voltage"),
        ("Cel", "temperature"),
        ("N.m", "torque"),
        ("[in_i]", "length"),
    ],
)
def test_a_photo_without_words_is_measured_by_its_unit(shown, paired, unit, measure):
    (finding,) = paired([], [shown("12.5", unit, 5)]).findings
    assert finding.reading.measure == measure
    assert finding.attention[0].startswith("Nobody said what this photo shows: IMG_0.jpg shows 12.5 ")


@pytest.mark.parametrize("unit", [None, "%", "furlong"])
def test_a_photo_whose_quantity_is_not_known_is_a_notice(shown, paired, unit):
    result = paired([], [shown("12.5", unit, 5)])
    assert result.findings == ()
    assert len(result.notices) == 1
    assert "nothing said near it fits: say what it is" in result.notices[0]


def test_an_overload_mark_is_a_notice(said, shown, paired):
    result = paired([said("12.4", "V", 10, measure="voltage")], [shown("OL", "V", 12)])
    assert result.notices == ("IMG_0.jpg shows OL, which is no number.",)
    assert photos_of(result.findings[0]) == []


def test_no_reading_adds_nothing(said, paired, shown):
    display, at = shown("1", "V", 12)
    blank = display.model_copy(update={"text": None, "value": None, "reason": "glare: shade it"})
    result = paired([said("12.4", "V", 10, measure="voltage")], [(blank, at)])
    assert photos_of(result.findings[0]) == []
    assert result.notices == ()


def test_a_photo_of_another_kind_of_quantity_is_left_alone(said, shown, paired):
    volts, photo = paired([said("12", "mm", 10)], [shown("12.0", "V", 11)]).findings
    assert volts.attention == ()
    assert photo.component is None


def test_the_display_decides_between_two_hearings_and_says_so(said, shown, paired):
    spoken = said("30.5", "[psi]", 10, ("13.5", 0.3), measure="pressure_after_hold", confidence=0.6)
    (finding,) = paired([spoken], [shown("13.5", "[psi]", 40)]).findings
    assert (finding.reading.value, finding.reading.as_given) == (Decimal("13.5"), "13.5 psi")
    assert finding.reading.measure == "pressure_after_hold"
    assert finding.alternatives[0].value == Decimal("30.5")
    assert finding.alternatives[0].weight == 0.6
    assert finding.confidence == 0.85  # what is asked is never nearly sure, however clear the display
    assert finding.attention == (
        "Heard as 30.5 psi or 13.5 psi; the photo IMG_0.jpg taken 28 s later shows 13.5 psi, so that value is"
        " taken: check it.",
    )


@pytest.mark.parametrize("doubt", [{"confidence": 0.7}, {"reason": "glare over the second digit"}])
def test_an_unsure_display_never_confirms_and_never_overrules(said, shown, paired, doubt):
    agreeing = paired([said("6", "mm", 10)], [shown("6.02", "mm", 15, **doubt)]).findings[0]
    assert agreeing.confidence == 0.8
    assert photos_of(agreeing) == ["6.02"]
    spoken = said("30.5", "[psi]", 10, ("13.5", 0.3), measure="pressure")
    overruling = paired([spoken], [shown("13.5", "[psi]", 15, **doubt)]).findings[0]
    assert overruling.reading.value == Decimal("30.5")
    assert "seems to show 13.5 psi (not read with certainty" in overruling.attention[0]
    alone = paired([], [shown("6.02", "mm", 15, **doubt)]).findings[0]
    assert "seems to show 6.02 mm" in alone.attention[0]


def test_a_display_that_can_be_read_as_what_was_said_asks_to_look(said, shown, paired):
    (finding,) = paired(
        [said("8", "mm", 10)], [shown("6.0", "mm", 15, ("8.0", 0.4), confidence=0.6)]
    ).findings
    assert finding.reading.value == 8
    assert "it can also be read as the 8 mm that was heard: look at the photo" in finding.attention[0]


def test_an_unseen_unit_confirms_nothing_but_a_slip_is_asked_about(said, shown, paired):
    same = paired([said("6", "mm", 10)], [shown("6.02", None, 15)]).findings[0]
    assert (same.confidence, photos_of(same), same.attention) == (0.8, ["6.02"], ())
    slipped = paired([said("0.30", "[in_i]", 10)], [shown("0.030", None, 30)]).findings[0]
    assert "0.030 (unit not seen)" in slipped.attention[0]
    far = paired([said("12.4", "V", 10, measure="voltage")], [shown("10.1", None, 30)])
    assert far.findings[0].attention == ()
    assert len(far.notices) == 1


def test_a_photo_outside_the_window_belongs_to_nothing_said(said, shown, paired):
    result = paired([said("6", "mm", 10)], [shown("6.02", "mm", 12 + 91)])
    assert [f.component for f in result.findings] == ["brake_pad", None]
    assert result.findings[0].confidence == 0.8
    assert "compare the clocks" in result.notices[0]
    assert paired([said("6", "mm", 10)], [shown("6.02", "mm", 12 + 90)]).findings[0].confidence > 0.8


def test_a_photo_given_to_a_distant_reading_puts_the_one_beside_it_in_doubt(said, shown, paired):
    spoken = [said("6", "mm", 10, face="outer"), said("4.5", "mm", 70, face="inner")]
    outer, inner = paired(spoken, [shown("6.02", "mm", 73)]).findings
    assert photos_of(outer) == ["6.02"]
    assert "which fits what was said 61 s away from it" in inner.attention[0]


def test_a_split_is_not_held_against_a_thermometer(said, shown, paired):
    split = said("4", "[degF]", 10, measure="temperature_split", component="oil_cooler")
    result = paired([split], [shown("198.2", "[degF]", 13)])
    assert result.findings[0].attention == ()
    assert result.findings[1].component is None


def test_the_odometer_is_compared_with_its_photo(shown, paired):
    odometer = Odometer(value=Decimal(112306), unit="[mi_i]")
    same = paired([], [shown("112306", "[mi_i]", 5)], odometer=odometer)
    assert (same.findings, same.notices) == ((), ("IMG_0.jpg shows the odometer as it was said: 112306 mi.",))
    other = paired([], [shown("12306", "[mi_i]", 5)], odometer=odometer)
    assert other.findings == ()
    assert "The odometer was heard as 112306 mi, but IMG_0.jpg shows 12306 mi" in other.notices[0]


def test_findings_stand_in_order_of_time(said, shown, paired):
    spoken = [said("6", "mm", 10), said("29.8", "mm", 200, component="brake_rotor")]
    result = paired(spoken, [shown("12.5", "V", 100)])
    assert [f.component for f in result.findings] == ["brake_pad", None, "brake_rotor"]


def test_ids_stay_when_drafted_again_and_differ_for_things_said_twice(said, shown, paired):
    spoken = [
        said("6", "mm", 10),
        said("6", "mm", 10),
        said("6", "mm", 10, side="left"),
        said(None, None, 10),
    ]
    first, again = (paired(spoken, [shown("12.5", "V", 5)]).findings for _ in range(2))
    ids = [f.id for f in first]
    assert len(set(ids)) == 5
    spoken_ids = [f.id for f in first if f.component]
    assert spoken_ids == [f.id for f in again if f.component]
    alone = paired([said("7", "mm", 10)]).findings[0]
    assert alone.id == paired([said("6", "mm", 10)]).findings[0].id, "another decoding keeps the id"


def test_a_finding_without_number_takes_no_photo(said, shown, paired):
    torn, photo = paired([said(None, None, 10, words="torn boot")], [shown("6.02", "mm", 11)]).findings
    assert photos_of(torn) == []
    assert photo.component is None
