"""Word orders and turns of phrase of people who talk while they work.

How things are said is common practice of the trade with no published source.
"""

import pytest

from tests.pipelines.notes.saying import lines, notes

VALUE_FIRST = [
    ("Nine amps, the blower motor.", ["blower_motor | current 9 A"]),
    ("A sixteenth of movement, left rear shackle.", ["spring_shackle left rear | play 0.0625 in"]),
    (
        "Ten thou at the drag link. Four at the pitman arm.",
        ["drag_link | play 0.010 in", "pitman_arm | play 0.004 in"],
    ),
    (
        "Thirty four P S I low side, two hundred ten high side.",
        ["ac_low_side | pressure 34 psi", "ac_high_side | pressure 210 psi"],
    ),
    (
        "Twelve thirty seconds and seventy eight pounds, left front tire.",
        ["tire left front | tread_depth 0.375 in", "tire left front | pressure 78 psi"],
    ),
    (
        "Tires. Eleven thirty seconds and eighty pounds on the right front. Nine thirty seconds, right rear.",
        [
            "tire right front | tread_depth 0.34375 in",
            "tire right front | pressure 80 psi",
            "tire right rear | tread_depth 0.28125 in",
        ],
    ),
    ("Rusty but not leaking, left rear brake line.", ["brake_line left rear | corroded"]),
    ("Sloppy idler arm, three thirty seconds.", ["idler_arm | play 0.09375 in | loose"]),
    (
        "There's four millimeters left on the left rear shoes and three and a half on the right rear.",
        ["brake_shoe left rear | thickness 4 mm", "brake_shoe right rear | thickness 3.5 mm"],
    ),
]

LISTS = [
    (
        "Left front tire, from the outside in, eight, seven, and five thirty seconds.",
        [
            "tire left front outside | tread_depth 0.25 in",
            "tire left front middle | tread_depth 0.21875 in",
            "tire left front inside | tread_depth 0.15625 in",
        ],
    ),
    (
        "Left front rotor. At point one, thirty four point two. Point two, thirty four point one.",
        [
            "brake_rotor left front point 1 | thickness 34.2 mm",
            "brake_rotor left front point 2 | thickness 34.1 mm",
        ],
    ),
    (
        "On the right rear pads, the inner and the outer are both at five and a half.",
        [
            "brake_pad right rear inner | thickness 5.5 mm",
            "brake_pad right rear outer | thickness 5.5 mm",
        ],
    ),
    (
        "Left front wheel bearing, four thousandths end play, and five and a half at the right.",
        ["hub_bearing left front | end_play 0.004 in", "hub_bearing right front | end_play 0.0055 in"],
    ),
    (
        "Lug nuts on the left front and on the right front are torqued to a hundred and forty foot pounds.",
        ["wheel_fastener left front | torque 140 lbf·ft", "wheel_fastener right front | torque 140 lbf·ft"],
    ),
    (
        "Celsius. Coolant eighty nine, engine oil ninety six.",
        ["coolant | temperature 89 °C", "engine_oil | temperature 96 °C"],
    ),
    (
        "Left front tire, nine thirty seconds, ninety six pounds. Right front, ten, and ninety two.",
        [
            "tire left front | tread_depth 0.28125 in",
            "tire left front | pressure 96 psi",
            "tire right front | tread_depth 0.3125 in",
            "tire right front | pressure 92 psi",
        ],
    ),
]

CORRECTED = [
    ("Idler arm, six thousandths. No, five.", ["idler_arm | play 0.005 in"]),
    (
        "Alternator charging thirteen point one. I misread that. Thirteen point four.",
        ["alternator | charging_voltage 13.4 V"],
    ),
    ("Battery twelve point one. Twelve point two, sorry.", ["battery | voltage 12.2 V"]),
    (
        "Left rear tire, seventy one pounds. Seventy nine, not seventy one.",
        ["tire left rear | pressure 79 psi"],
    ),
    ("Left control arm bushing, cracked. I mean torn.", ["control_arm_bushing left | torn"]),
    (
        "Left rear shackle moves an eighth of an inch. No, hold on, I had the wrong edge. It's a sixteenth.",
        ["spring_shackle left rear | play 0.0625 in"],
    ),
    (
        "The right king pin has twenty thousandths. No, wait, that was the left king pin.",
        ["king_pin left | play 0.020 in"],
    ),
]

NO_READINGS = [
    ("Battery twelve point four. The sticker on it says seven hundred.", ["battery | voltage 12.4 V"]),
    ("Idler arm, a sixteenth. Three sixteenths is where they'd park you.", ["idler_arm | play 0.0625 in"]),
    ("Pintle, a sixteenth of play. I'd pull it at three eighths.", ["hitch | play 0.0625 in"]),
    (
        "Blower motor draws fourteen amps. The other van we had in here was pulling twenty two.",
        ["blower_motor | current 14 A"],
    ),
    (
        "Left lower ball joint, up and down, forty eight thousandths, but last summer it was thirty one.",
        ["ball_joint left lower | axial_play 0.048 in"],
    ),
    ("Center vent fifty three degrees, with eighty eight in the shop.", ["cab_vent | temperature 53 °F"]),
    ("Low side is at thirty two P S I, three two.", ["ac_low_side | pressure 32 psi"]),
    (
        "Battery shows twelve point six volts, and it's an eight hundred amp battery.",
        ["battery | voltage 12.6 V"],
    ),
    (
        "Frame, left front two right rear, one hundred forty two inches.",
        ["frame left front to right rear | diagonal 142 in"],
    ),
]

MEANT = [
    (
        "Carrier bearing moves a sixteenth. Replace the bearing.",
        ["carrier_bearing | play 0.0625 in | replace"],
    ),
    ("Top hose is mushy, change it.", ["radiator_hose upper | soft | replace"]),
    (
        "The left front shock is leaking and so is the right front.",
        ["shock_absorber left front | leak", "shock_absorber right front | leak"],
    ),
    ("Left front hub growls. New hub for that side.", ["hub_bearing left front | noise | replace"]),
    ("I stuck the tester in the brake fluid and it reads two percent.", ["brake_fluid | moisture 2 %"]),
    ("Right rear leaf spring, nothing broken.", ["leaf_spring right rear | ok"]),
    ("The left frame rail is rusty by the spring hanger.", ["frame_rail left | corroded"]),
    ("Steering stabilizer, rod's bent.", ["steering_damper | bent"]),
    (
        "Right front camber, plus a quarter degree.",
        ["wheel right front | camber 0.25 °"],
    ),
    (
        "Right rear drum, sixteen point six inches. Wheel seal, same spot, leaking.",
        ["brake_drum right rear | inside_diameter 16.6 in", "hub_seal right rear | leak"],
    ),
    ("Left rear shock, oil running down it.", ["shock_absorber left rear | leak"]),
]


@pytest.mark.parametrize(
    ("said", "expected"), [*VALUE_FIRST, *LISTS, *CORRECTED, *NO_READINGS, *MEANT], ids=lambda v: str(v)[:40]
)
def test_what_is_said_in_any_order_is_one_thing(said: str, expected: list[str]) -> None:
    assert lines(said) == expected


def test_an_unknown_part_takes_nothing_from_the_part_before_it() -> None:
    said = notes("Rear U joint, eight thousandths. Hanger bearing growls, and it moves a sixteenth.")
    assert [finding.component for finding in said.findings] == ["u_joint"]
    assert any("a sixteenth" in sentence for sentence in said.attention)


def test_what_another_truck_had_is_told_and_not_read() -> None:
    said = notes("Left front rotor, one point one three. The sister truck had one point oh six on hers.")
    assert [str(finding.reading.value) for finding in said.findings if finding.reading] == ["1.13"]
    assert any("one point oh six" in sentence for sentence in said.attention)


def test_a_condition_between_two_parts_is_asked_about() -> None:
    said = notes(
        "Right front hub, four thousandths end play. Rusty, the receiver hitch, a sixteenth of play."
    )
    hitch = next(finding for finding in said.findings if finding.component == "hitch")
    assert hitch.conditions == ("corroded",)
    assert any("between two parts" in sentence for sentence in hitch.attention)


def test_thirty_seconds_that_nobody_said_are_asked_about() -> None:
    (finding,) = notes("Left front tire, tread, outside nine.").findings
    assert finding.reading is not None
    assert (str(finding.reading.value), finding.reading.unit) == ("0.28125", "[in_i]")
    assert any("No unit was said" in sentence for sentence in finding.attention)


@pytest.mark.parametrize("said", ["seventy. Four thousandths", "seventy, 4 thousandths"])
def test_a_number_torn_apart_is_put_together_and_asked_about(said: str) -> None:
    (finding,) = notes(f"Right lower ball joint, {said}.").findings
    assert finding.reading is not None
    assert str(finding.reading.value) == "0.074"
    assert any("was taken as one number" in sentence for sentence in finding.attention)


def test_tens_and_degrees_torn_apart_are_put_together() -> None:
    (finding,) = notes("Center vent. Fifty. Three degrees.").findings
    assert finding.reading is not None
    assert str(finding.reading.value) == "53"
    assert any("was taken as one number" in sentence for sentence in finding.attention)


@pytest.mark.parametrize("said", ["three hundred, thirty point four", "300. 30.4"])
def test_hundreds_and_the_rest_torn_apart_are_put_together(said: str) -> None:
    (finding,) = notes(f"Left rear drum, inside diameter {said} millimeters.").findings
    assert finding.reading is not None
    assert str(finding.reading.value) == "330.4"
    assert any("was taken as one number" in sentence for sentence in finding.attention)


def test_two_numbers_that_can_each_be_a_reading_stay_two() -> None:
    said = notes("Left front tire, one hundred, ninety five psi.")
    values = [str(f.reading.value) for f in said.findings if f.reading is not None]
    assert values == ["100", "95"]
    assert all(finding.attention for finding in said.findings)


def test_a_measure_that_the_part_has_not_makes_its_number_a_question() -> None:
    (finding,) = notes("Pitman arm, nine thirty-seconds thick at the worst spot.").findings
    assert any("“thick” was said of it" in sentence for sentence in finding.attention)


def test_a_condition_right_before_a_number_may_be_its_beginning() -> None:
    (finding,) = notes("Dirty one pounds of oil pressure, hot.").findings
    assert any("may be the beginning of this number" in sentence for sentence in finding.attention)


def test_faces_told_behind_a_rotor_are_of_the_pads_and_asked_about() -> None:
    rotor, outer, inner = notes("Left front rotor, 29.8 millimeters. Outer eight, inner seven.").findings
    assert rotor.component == "brake_rotor"
    assert [(f.component, f.position.face) for f in (outer, inner)] == [
        ("brake_pad", "outer"),
        ("brake_pad", "inner"),
    ]
    assert all(any("not named outright" in sentence for sentence in f.attention) for f in (outer, inner))
    assert notes("Left front rotor, outer face is scored.").findings[0].component == "brake_rotor"


def test_a_value_that_is_denied_stays_where_it_was_said_of_another_corner() -> None:
    said = lines(
        "Left rear tire, seventy one pounds. Right rear, eighty pounds. Seventy nine, not seventy one."
    )
    assert "tire left rear | pressure 71 psi" in said


def test_an_order_across_one_tire_is_no_place_on_the_next() -> None:
    said = lines("Left front tire, from the outside in, eight thirty seconds, seven. Right front tire, nine.")
    assert "tire right front | tread_depth 0.28125 in" in said


def test_a_reading_that_equals_the_number_of_the_truck_is_kept() -> None:
    said = lines("Unit two oh eight. Engine oil temperature two oh eight.")
    assert said == ["engine_oil | temperature 208 °F"]


def test_a_number_behind_going_back_is_told() -> None:
    said = notes("Left front tire, eighty pounds. Back at fifteen.")
    assert any("fifteen" in sentence for sentence in said.attention)


def test_a_dirty_fluid_says_nothing_of_the_part_before_it() -> None:
    assert lines("Radiator is fine, engine oil dirty.") == ["radiator | ok", "engine_oil | contaminated"]


def test_the_size_of_a_tool_is_told_and_not_read() -> None:
    said = notes("Left front pads, outer six millimeters. I need the ten millimeter socket.")
    assert [str(f.reading.value) for f in said.findings if f.reading] == ["6"]


def test_a_dropped_number_goes_though_a_condition_came_between() -> None:
    assert lines("Left front rotor, 29.8 millimeters, scored. Scratch that, 29.6.") == [
        "brake_rotor left front | thickness 29.6 mm | scored"
    ]


def test_we_will_written_as_wheel() -> None:
    assert lines("Water pump has a seep, wheel monitor it.") == ["water_pump | seep | monitor"]
    assert lines("Water pump has a seep. Wheel just monitor that.") == ["water_pump | seep | monitor"]
    assert lines("Right rear wheel, monitor it.") == ["wheel right rear | monitor"]


@pytest.mark.parametrize(
    ("said", "asked"),
    [
        ("Left rear U bolt only came up two hundred and ten foot pounds.", True),
        ("I charge the left front brake line 210 psi and let it sit.", True),
        ("AC high side came up to 210 psi.", False),
        ("Left rear U bolt torqued at 210 foot pounds.", False),
    ],
)
def test_to_a_hundred_may_have_become_two_hundred(said: str, asked: bool) -> None:
    (found,) = notes(said).findings
    assert found.reading is not None
    assert found.reading.value == 210
    assert any("may be “to 110”" in doubt for doubt in found.attention) == asked
