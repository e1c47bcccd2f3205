"""Readings of a note: which measure and unit, what is asked, what is kept out."""

import pytest

from tests.pipelines.notes.saying import line, lines, notes


@pytest.mark.parametrize(
    "said",
    [
        "Cooling system, pumped up to fifteen psi. After ten minutes it reads thirteen point eight.",
        "Cooling system pressure 15 psi, held for ten minutes, dropped to 13.8.",
    ],
)
def test_a_hold_test_has_start_duration_and_end(said: str) -> None:
    assert lines(said) == [
        "cooling_system | pressure 15 psi",
        "cooling_system | hold_time 10 min",
        "cooling_system | pressure_after_hold 13.8 psi",
    ]


def test_a_pair_of_temperatures_and_their_split() -> None:
    assert lines("Engine oil two oh five, coolant one ninety eight, seven degree split.") == [
        "engine_oil | temperature 205 °F",
        "coolant | temperature 198 °F",
        "oil_cooler | temperature_split 7 °F",
    ]


@pytest.mark.parametrize(
    ("said", "expected"),
    [
        ("Battery, twelve six.", "battery | voltage 12.6 V"),
        ("Alternator charging at fourteen point two volts.", "alternator | charging_voltage 14.2 V"),
        ("Brake fluid moisture three percent.", "brake_fluid | moisture 3 %"),
        ("Coolant good to minus thirty four.", "coolant | freeze_point -34 °F"),
        (
            "Right front lug nuts torqued to one fifty foot pounds.",
            "wheel_fastener right front | torque 150 lbf·ft",
        ),
        ("Left front tire, eighty pounds.", "tire left front | pressure 80 psi"),
        ("Steering wheel free play one and a half inches.", "steering_wheel | free_play 1.5 in"),
        ("Left front rotor runout three thousandths.", "brake_rotor left front | runout 0.003 in"),
        (
            "Right rear drum diameter fifteen and an eighth.",
            "brake_drum right rear | inside_diameter 15.125 in",
        ),
        ("Axle two left tire, nine thirty seconds.", "tire left axle 2 | tread_depth 0.28125 in"),
        ("AC low side thirty five psi.", "ac_low_side | pressure 35 psi"),
        ("Left outer tie rod end, no play.", "tie_rod_end left outer | play 0 in | ok"),
        ("Left lower ball joint, radial twenty thou.", "ball_joint left lower | radial_play 0.020 in"),
        ("Left front rotor, 29,8 mm.", "brake_rotor left front | thickness 29.8 mm"),
    ],
)
def test_the_part_and_the_words_choose_measure_and_unit(said: str, expected: str) -> None:
    (finding,) = notes(said).findings
    assert line(finding) == expected
    assert finding.attention == ()


@pytest.mark.parametrize(
    ("said", "expected"),
    [
        ("Left outer tie rod end is torn.", "tie_rod_end left outer | torn"),
        ("Left outer tyrant is torn.", "tie_rod_end left outer | torn"),
        ("Left outer tie rod end is not torn.", "tie_rod_end left outer | ok"),
        ("Left front rotor isn't scored.", "brake_rotor left front | ok"),
        ("Water pump, no leaks.", "water_pump | ok"),
        ("Passenger side outer tie rod end, torn boot.", "tie_rod_end right outer | torn"),
        ("Upper radiator hose is soft, replace it.", "radiator_hose upper | soft | replace"),
        ("The left front caliper is seized. Replace it.", "brake_caliper left front | seized | replace"),
        ("Parking brake's okay.", "parking_brake | ok"),
        ("Left frame rail, corroded. Monitor it.", "frame_rail left | corroded | monitor"),
    ],
)
def test_conditions_and_actions(said: str, expected: str) -> None:
    assert lines(said) == [expected]


def test_a_condition_and_an_action_join_their_reading() -> None:
    said = "Right front hub bearing, growling, four thousandths end play. Replace it."
    assert lines(said) == ["hub_bearing right front | end_play 0.004 in | noise | replace"]


def test_a_leak_at_a_part_belongs_to_that_part() -> None:
    said = "Radiator is good. There is a leak at the water pump."
    assert lines(said) == ["radiator | ok", "water_pump | leak"]


PAD = "brake_pad left front outer | thickness 6 mm"


@pytest.mark.parametrize(
    "said",
    [
        "Hey Walt, hand me the two ton jack. Left front outer pad, six millimeters.",
        "Left front outer pad six millimeters. Grab me the three quarter socket.",
        "What time is it, twelve thirty? Left front outer pad, six millimeters.",
        "Left front outer pad, six millimeters. Minimum is three.",
        "Left front outer pad. Spec is three millimeters. It measures six millimeters.",
        "Driver says it pulls to the left. Left front outer pad, six millimeters.",
        "Left front outer pad, six millimeters. Customer says it squeals at 40.",
    ],
)
def test_asides_limits_and_complaints_are_no_readings(said: str) -> None:
    assert lines(said) == [PAD]


def test_a_complaint_is_kept_as_a_remark() -> None:
    said = notes("Driver says it pulls to the left. Left front outer pad, six millimeters.")
    assert any("pulls to the left" in sentence for sentence in said.attention)


@pytest.mark.parametrize("hedge", ["about", "roughly", "maybe", "just over"])
def test_a_hedge_stays_in_what_was_given(hedge: str) -> None:
    (finding,) = notes(f"Left front outer pad, {hedge} six millimeters.").findings
    assert finding.reading is not None
    assert (f"{finding.reading.value:f}", finding.reading.as_given) == ("6", "about six millimeters")


@pytest.mark.parametrize(
    ("said", "value"),
    [
        ("Left front outer pad, ninety millimeters.", "90"),
        ("Battery, one hundred and twenty volts.", "120"),
        ("Left front tire pressure, nine hundred psi.", "900"),
        ("Left front lower ball joint, six inches.", "6"),
        ("Coolant temperature, nine hundred degrees fahrenheit.", "900"),
    ],
)
def test_an_implausible_value_is_asked_about_and_not_changed(said: str, value: str) -> None:
    (finding,) = notes(said).findings
    assert finding.reading is not None
    assert f"{finding.reading.value:f}" == value
    assert any("outside" in sentence for sentence in finding.attention)
    assert finding.confidence <= 1


@pytest.mark.parametrize(
    "said",
    ["Lower ball joint, thirty thousandths.", "Front outer brake pad, 6 millimeters.", "Rotor, 29 mm."],
)
def test_a_side_that_nobody_said_is_asked_for(said: str) -> None:
    (finding,) = notes(said).findings
    assert finding.position.side is None
    assert any("side" in sentence for sentence in finding.attention)


@pytest.mark.parametrize(
    "said", ["Left lower ball joint, ten thousandths.", "Left lower ball joint 10 thousandths."]
)
def test_ten_thousandths_is_asked_and_both_are_offered(said: str) -> None:
    (finding,) = notes(said).findings
    assert finding.reading is not None
    values = {finding.reading.value, *(a.value for a in finding.alternatives)}
    assert {f"{value:f}" for value in values} >= {"0.010", "0.0001"}
    assert any("ten thousandths" in sentence for sentence in finding.attention)


def test_two_values_for_one_place_are_both_kept_and_asked() -> None:
    found = notes("Left front outer pad 6 millimeters. Left front outer pad 7 millimeters.").findings
    assert [line(f).split()[-2] for f in found] == ["6", "7"]
    assert all(any("Two values" in sentence for sentence in f.attention) for f in found)


def test_a_range_is_asked() -> None:
    (finding,) = notes("Left front lower ball joint, twenty five to thirty thousandths.").findings
    assert any("range" in sentence for sentence in finding.attention)


def test_exact_digits_reach_the_finding() -> None:
    (finding,) = notes("Left front rotor runout, point oh three oh inches.").findings
    assert finding.reading is not None
    assert f"{finding.reading.value:f}" == "0.030"


def test_a_freeze_point_is_no_decimal_point() -> None:
    assert lines("Coolant, freeze point thirty four below zero.") == ["coolant | freeze_point -34 °F"]


def test_a_duration_behind_in_is_no_inch() -> None:
    assert "cooling_system | pressure_after_hold 13.5 psi" in lines(
        "Cooling system fifteen psi, dropped to thirteen point five in two minutes."
    )


def test_a_named_measure_survives_talk_about_its_limit() -> None:
    (finding,) = notes("Left front rotor runout, spec is two thousandths, I've got five.").findings
    assert line(finding) == "brake_rotor left front | runout 0.005 in" or finding.attention


def test_a_bare_tread_number_is_asked_about() -> None:
    (finding,) = notes("Left front tire tread depth, four.").findings
    assert finding.attention or line(finding).endswith("0.125 in")


def test_what_a_customer_states_is_a_complaint() -> None:
    said = notes("Customer states vibration at fifty five. Left front outer pad, six millimeters.")
    assert [line(f) for f in said.findings] == [PAD]
    assert any("vibration" in sentence for sentence in said.attention)


def test_a_leak_at_a_part_that_opens_the_note() -> None:
    assert lines("Leak at the water pump.") == ["water_pump | leak"]


def test_a_tenth_behind_thousandths_is_not_dropped() -> None:
    (finding,) = notes("Left front rotor runout, three thousandths and a tenth.").findings
    assert finding.attention or line(finding).endswith("0.0031 in")


@pytest.mark.parametrize("bound", ["over", "more than", "under", "less than"])
def test_a_bound_is_not_taken_for_the_value(bound: str) -> None:
    (finding,) = notes(f"Left lower ball joint, {bound} sixty thou.").findings
    assert finding.reading is not None
    assert finding.attention or finding.reading.as_given != "sixty thou"


def test_a_reading_said_twice_is_one_finding() -> None:
    assert lines("Left front outer pad, six. Six millimeters.") == [PAD]


def test_what_is_said_of_two_parts_holds_for_both() -> None:
    assert lines("Drag link and pitman arm, no play.") == [
        "drag_link | play 0 in | ok",
        "pitman_arm | play 0 in | ok",
    ]


def test_the_condition_of_an_unknown_part_is_not_given_to_the_last() -> None:
    found = notes("Right front caliper leaking, hose cracked.").findings
    assert not any(
        "cracked" in f.conditions and f.component == "brake_caliper" and not f.attention for f in found
    )


def test_a_fraction_is_never_taken_for_millimeters() -> None:
    # "Shoes" was not heard: three eighths are no reading of a drum.
    said = "Left rear drum, sixteen point five eight one. Left rear, three eighths."
    assert lines(said) == ["brake_drum left rear | inside_diameter 16.581 in"]
    (asked,) = notes(said).attention
    assert "“three eighths” was heard, but not of which part" in asked


@pytest.mark.parametrize("counts", ["one stud is broken", "two axles to do", "three bolts are loose"])
def test_what_is_counted_is_no_reading(counts: str) -> None:
    said = notes("Left rear lug nuts, 450 foot pounds.", f"Right rear, {counts}.")
    assert [f.reading.value for f in said.findings if f.reading is not None] == [450]


@pytest.mark.parametrize(
    "limit", ["Two pounds is all I'd let it lose.", "Sixteen is the limit.", "Thirteen psi is the least."]
)
def test_a_limit_told_behind_its_number_is_no_reading(limit: str) -> None:
    (finding,) = notes(f"Cooling system, fifteen psi. {limit}").findings
    assert line(finding) == "cooling_system | pressure 15 psi"


def test_a_list_goes_on_with_what_was_read_last() -> None:
    found = notes(
        "Left front tire pressure sixty five.",
        "Right front. Outside five thirty seconds, middle nine, inside ten.",
    ).findings
    assert [line(f) for f in found[1:]] == [
        "tire right front outside | tread_depth 0.15625 in",
        "tire right front middle | tread_depth 0.28125 in",
        "tire right front inside | tread_depth 0.3125 in",
    ]


def test_another_place_of_a_part_is_counted_in_the_same_unit() -> None:
    found = notes(
        "Left front hub bearing, two thousandths end play. Right front hub bearing, three."
    ).findings
    assert [line(f) for f in found] == [
        "hub_bearing left front | end_play 0.002 in",
        "hub_bearing right front | end_play 0.003 in",
    ]


@pytest.mark.parametrize(
    ("said", "lines"),
    [
        ("Sixteenth of an inch", ["drag_link | play 0.0625 in"]),
        ("Loose, sixteenth of an inch", ["drag_link | play 0.0625 in | loose"]),
    ],
)
def test_a_part_of_an_inch_needs_no_article(said: str, lines: list[str]) -> None:
    assert [line(f) for f in notes(f"Drag link. {said}.").findings] == lines


@pytest.mark.parametrize("said", ["twenty eight below", "twenty eight below zero", "negative twenty eight"])
def test_below_is_minus_for_a_freeze_point(said: str) -> None:
    (finding,) = notes(f"Coolant freeze point is {said}.").findings
    assert line(finding) == "coolant | freeze_point -28 °F"


def test_a_spot_far_deeper_than_the_rest_of_its_tire_is_asked_about() -> None:
    found = notes("Left rear tire tread seven thirty-seconds outside, sixteen middle, five inside.").findings
    assert [bool(f.attention) for f in found] == [False, True, False]
    even = notes("Left rear tire tread seven thirty-seconds outside, six middle, five inside.").findings
    assert [bool(f.attention) for f in even] == [False, False, False]


@pytest.mark.parametrize(
    ("said", "findings"),
    [
        (
            "Steering wheel free play comes to an inch, and a quarter of a rim.",
            ["steering_wheel | free_play 1.25 in"],
        ),
        ("Steering wheel free play two inches, and a quarter.", ["steering_wheel | free_play 2.25 in"]),
        (
            "Coil spring left front eleven inches and three eighths.",
            ["coil_spring left front | length 11.375 in"],
        ),
    ],
)
def test_inches_and_a_part_of_one(said: str, findings: list[str]) -> None:
    assert lines(said) == findings


def test_hundreds_before_a_pause_and_an_and_are_asked() -> None:
    cut, *_ = notes("Battery, the tester gives me six hundred cold cranking.", "And ten more.").findings
    assert not cut.attention
    cut, *_ = notes(
        "Battery cold cranking amps, the tester says six hundred.", "And tank hold amps."
    ).findings
    assert any("does the number go on" in doubt for doubt in cut.attention)


@pytest.mark.parametrize(
    ("said", "asked"),
    [
        ("Right rear tire pressure eighty seven.", True),
        ("Right rear tire pressure eighty seven psi.", False),
        ("Right rear tire pressure eighty six.", False),
    ],
)
def test_psi_as_a_word_may_have_become_seven(said: str, asked: bool) -> None:
    (found,) = notes(said).findings
    assert any("may be “80 psi”" in doubt for doubt in found.attention) == asked
