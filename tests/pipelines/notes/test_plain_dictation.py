"""Dictation as people speak it who have never seen the vocabulary.

How things are said is common practice of the trade with no published source.
"""

import pytest

from tests.pipelines.notes.saying import line, lines, notes

BEFORE_ITS_PART = [
    (
        "Four thou of end play, that's your left front wheel bearing.",
        ["hub_bearing left front | end_play 0.004 in"],
    ),
    (
        "Two and a quarter inches, that's the free play at the steering wheel.",
        ["steering_wheel | free_play 2.25 in"],
    ),
    ("Six thou, that's all the play I find in the front U-joint.", ["u_joint front | play 0.006 in"]),
    ("Minus thirty-seven Celsius, freeze point of the coolant.", ["coolant | freeze_point -37 °C"]),
    (
        "One point two millimeters end play, left front hub bearing, and she growls. Replace.",
        ["hub_bearing left front | end_play 1.2 mm | noise | replace"],
    ),
    (
        "Thickness one point four one eight and runout seven thousandths, that is the right front rotor.",
        ["brake_rotor right front | thickness 1.418 in", "brake_rotor right front | runout 0.007 in"],
    ),
    ("Two and a quarter inches of free play at the wheel.", ["steering_wheel | free_play 2.25 in"]),
    (
        "Leaking and to be replaced is the hub seal at the left rear.",
        ["hub_seal left rear | leak | replace"],
    ),
]

SEVERAL_AT_ONCE = [
    (
        "Right front tire. Inside, middle and outside, all three are seven thirty-seconds.",
        [
            "tire right front inside | tread_depth 0.21875 in",
            "tire right front middle | tread_depth 0.21875 in",
            "tire right front outside | tread_depth 0.21875 in",
        ],
    ),
    (
        "The left rear and right rear rotors are scored and shall be resurfaced.",
        ["brake_rotor left rear | scored | resurface", "brake_rotor right rear | scored | resurface"],
    ),
    (
        "Front brake hoses, cracked, both of them. Replace the pair.",
        ["brake_hose left front | cracked | replace", "brake_hose right front | cracked | replace"],
    ),
    (
        "Left front. Both pads have a quarter inch left.",
        ["brake_pad left front inner | thickness 0.25 in", "brake_pad left front outer | thickness 0.25 in"],
    ),
    (
        "Left front tread depth, eleven thirty-seconds. Right front, same as the left.",
        ["tire left front | tread_depth 0.34375 in", "tire right front | tread_depth 0.34375 in"],
    ),
    (
        "Low side thirty-four, high two twenty.",
        ["ac_low_side | pressure 34 psi", "ac_high_side | pressure 220 psi"],
    ),
    (
        "Left lower ball joint, up and down, forty thou. Same thing on the other side. "
        "Right lower ball joint goes sixty thou up and down.",
        ["ball_joint left lower | axial_play 0.040 in", "ball_joint right lower | axial_play 0.060 in"],
    ),
]

TAKEN_BACK = [
    (
        "High side, one ninety. Nope, that's Rolf's truck. High, one seventy-eight.",
        ["ac_high_side | pressure 178 psi"],
    ),
    (
        "Right front wheel bearing, nine thou of end play. Scratch that, I was leaning on the tire. "
        "It's six on the right front, not nine.",
        ["hub_bearing right front | end_play 0.006 in"],
    ),
    (
        "Alternator, thirteen point nine. Correction, that was with the headlights on. "
        "Everything off, the alternator charges at fourteen point two.",
        ["alternator | charging_voltage 14.2 V"],
    ),
    (
        "High side, two thirty-five. Hang on, needle's still climbing. High side is two fifty.",
        ["ac_high_side | pressure 250 psi"],
    ),
    (
        "Right front rotor, runout seven thousandths. With the nuts on it's three thousandths, "
        "so throw that seven out.",
        ["brake_rotor right front | runout 0.003 in"],
    ),
    (
        "King pins, left twelve thou, right nineteen. Other way round.",
        ["king_pin right | play 0.012 in", "king_pin left | play 0.019 in"],
    ),
    (
        "Idler arm moves thirty thousandths. I was all set to tell you to replace it, but no, "
        "don't replace it, just keep an eye on it.",
        ["idler_arm | play 0.030 in | monitor"],
    ),
    (
        "Right front pad, outer eight. Hang on, let me get the light. Right rear, seven.",
        ["brake_pad right front outer | thickness 8 mm", "brake_pad right rear | thickness 7 mm"],
    ),
]

NOT_OF_THE_PART = [
    ("Hitch is loose on the frame. Tighten the hitch.", ["hitch | loose | tighten"]),
    (
        "Hub seal, left rear, leaking down the inside of the wheel. Replace the seal.",
        ["hub_seal left rear | leak | replace"],
    ),
    (
        "The bushing of the right lower control arm is torn, needs a new one.",
        ["control_arm_bushing right lower | torn | replace"],
    ),
    ("The upper radiator hose has gone soft. Get a new one.", ["radiator_hose upper | soft | replace"]),
    (
        "Brake fluid tests at three percent water. We change it at three and a half around here.",
        ["brake_fluid | moisture 3 %"],
    ),
    ("Battery. Twelve five eight. Sticker, eight hundred.", ["battery | voltage 12.58 V"]),
    ("Blower motor, nine amps. Sorry, the fan was on three.", ["blower_motor | current 9 A"]),
    ("Right shoes on axle three, a quarter inch.", ["brake_shoe right axle 3 | thickness 0.25 in"]),
]

MEASURED_ANYHOW = [
    (
        "Left rear hub bearing, sixty one degrees Celsius. Right one, a hundred and eighteen.",
        ["hub_bearing left rear | temperature 61 °C", "hub_bearing right rear | temperature 118 °C"],
    ),
    ("Radiator, temperature split, twenty-two degrees.", ["radiator | temperature_split 22 °F"]),
    ("Water pump, eight thousandths of radial play.", ["water_pump | radial_play 0.008 in"]),
]

UNITS_OF_THE_SPEAKER = [
    (
        "Hub bearings, end play, in millimeters. Left front, point one zero.",
        ["hub_bearing left front | end_play 0.10 mm"],
    ),
    (
        "Drums. Axle one, left sixteen fifty two, right sixteen fifty five.",
        [
            "brake_drum left axle 1 | inside_diameter 16.52 in",
            "brake_drum right axle 1 | inside_diameter 16.55 in",
        ],
    ),
    (
        "Everything in millimeters. Shoes, axle two, left nine five, right nine four.",
        ["brake_shoe left axle 2 | thickness 9.5 mm", "brake_shoe right axle 2 | thickness 9.4 mm"],
    ),
    ("Left front rotor at 0.1, 32.15 mm.", ["brake_rotor left front point 1 | thickness 32.15 mm"]),
]


@pytest.mark.parametrize(
    ("said", "read"),
    BEFORE_ITS_PART + SEVERAL_AT_ONCE + TAKEN_BACK + NOT_OF_THE_PART + MEASURED_ANYHOW + UNITS_OF_THE_SPEAKER,
)
def test_what_is_said_is_read(said: str, read: list[str]) -> None:
    assert lines(said) == read


def test_two_digits_for_one_number_are_asked() -> None:
    finding = notes("Everything in millimeters. Shoes, axle two, left nine five.").findings[0]
    assert "“nine five” was taken as 9.5 mm." in finding.attention


def test_degrees_without_a_scale_are_asked_where_they_can_be_either() -> None:
    finding = notes("The coolant is at ninety-one degrees.").findings[0]
    assert finding.attention == ("No scale was said: 91 °C or °F?",)
    assert not notes("The coolant is at one ninety five degrees.").findings[0].attention


def test_metric_from_what_was_said_before_is_asked() -> None:
    said = notes("Unit five, ninety seven thousand kilometers on the clock.", "Center vent, forty.")
    vent = next(f for f in said.findings if f.component == "cab_vent")
    assert vent.reading is not None
    assert (vent.reading.unit, bool(vent.attention)) == ("Cel", True)


def test_what_is_said_to_somebody_by_name_is_told_not_read() -> None:
    said = notes("Battery, twelve point six.", "Renee, keep her at fifteen hundred.")
    assert [f.component for f in said.findings] == ["battery"]
    assert any("fifteen hundred" in told for told in said.attention)


def test_the_first_word_of_a_note_is_the_trucks_name() -> None:
    said = notes(
        "Seventy seven, brakes.", "Left front outer pad, six millimeters.", "That's it, seventy seven."
    )
    assert [f.component for f in said.findings] == ["brake_pad"]
    assert any("Seventy seven" in told for told in said.attention)


def test_a_number_like_a_guessed_name_is_never_lost_without_a_word() -> None:
    said = notes("Eighty, tires.", "Left front, seventy eight.", "Eighty.")
    assert sum("ighty”" in told for told in said.attention) == 2


def test_a_correction_of_another_part_leaves_the_first_in_doubt() -> None:
    said = notes(
        "Driveshaft runout, half a millimeter.", "Correction, carrier bearing, one point two millimeters."
    )
    shaft = next(f for f in said.findings if f.component == "driveshaft")
    assert any("correction" in doubt for doubt in shaft.attention)


def test_what_is_taken_back_of_an_earlier_window_stays_in_the_text() -> None:
    said = notes(
        "U-bolts, left rear, one hundred and fifty foot pounds. Right rear, one twenty.", "No, backwards."
    )
    assert len(said.findings) == 2
    swapped = notes(
        "U-bolts, left rear, one hundred and fifty foot pounds. Right rear, one twenty.",
        "I had that backwards.",
    )
    torques = {f.position.side: f.reading.value for f in swapped.findings if f.reading}
    assert torques == {"left": 120, "right": 150}
    moved = notes("Left front outer pad, six and a half millimeters.", "Correction, right.")
    assert [f.position.side for f in moved.findings] == ["right"]


@pytest.mark.parametrize("said", ["It wouldn't hurt to replace it.", "Don't forget to replace it."])
def test_what_is_asked_for_with_a_no_is_asked_for(said: str) -> None:
    assert lines(f"Idler arm is worn. {said}") == ["idler_arm | worn | replace"]


def test_a_number_thrown_out_in_the_next_breath_goes() -> None:
    assert notes("Right front rotor, runout seven thousandths.", "Throw that seven out.").findings == ()


def test_hundreds_written_apart_are_one_number() -> None:
    assert lines("Battery, 500 and 80 cold cranking amps.") == ["battery | cold_cranking_current 580 A"]


def test_one_that_is_somebody_is_no_reading() -> None:
    said = notes("Engine oil pressure, forty psi.", "Tell one tell if he can have this back after lunch.")
    assert [f.reading.value for f in said.findings if f.reading] == [40]


POINTS_BEHIND = [
    (
        "Left front rotor mikes one point four one eight inches at point one and one point four one six at"
        " point four.",
        [
            "brake_rotor left front point 1 | thickness 1.418 in",
            "brake_rotor left front point 4 | thickness 1.416 in",
        ],
    ),
    (
        "Left front rotor, 1.418 inches at 0.1 1.416 at 0.4. Runout 4 thousandths.",
        [
            "brake_rotor left front point 1 | thickness 1.418 in",
            "brake_rotor left front point 4 | thickness 1.416 in",
            "brake_rotor left front | runout 0.004 in",
        ],
    ),
]

TWO_THINGS = [
    (
        "The drive belt is glazed and the belt tensioner is noisy, and both of those are to be replaced.",
        ["drive_belt | glazed | replace", "belt_tensioner | noise | replace"],
    ),
    (
        "Right rear shock absorber is leaking, left rear leaf spring is broken, replace the two of them.",
        ["shock_absorber right rear | leak | replace", "leaf_spring left rear | broken | replace"],
    ),
    (
        "Left front pads are three millimeters, rotor is scored. Replace both.",
        ["brake_pad left front | thickness 3 mm | replace", "brake_rotor left front | scored | replace"],
    ),
    (
        "Left front tire is cracked, the hub seal is leaking, replace it.",
        ["tire left front | cracked", "hub_seal left front | leak | replace"],
    ),
]

OF_THE_PART_MEANT = [
    (
        "With the wheels straight ahead I get two and a quarter inches of free play at the steering wheel.",
        ["steering_wheel | free_play 2.25 in"],
    ),
    (
        "Left front outer pad eight. Inner pad in that same caliper has three point two millimeters left, so"
        " that pad gets replaced.",
        [
            "brake_pad left front outer | thickness 8 mm",
            "brake_pad left front inner | thickness 3.2 mm | replace",
        ],
    ),
    (
        "Left front wheel bearing, end play three thousandths. Right front bearing shows end play of eleven"
        " thousandths.",
        ["hub_bearing left front | end_play 0.003 in", "hub_bearing right front | end_play 0.011 in"],
    ),
    (
        "Somebody left us a broken lamp at the right rear, replace it, and the left rear lamp is okay.",
        ["lamp right rear | broken | replace", "lamp left rear | ok"],
    ),
    (
        "Starter cold's a hundred and sixty five amps. And I get a voltage drop of a hundred and eighty"
        " millivolts on it.",
        ["starter | current 165 A", "starter | voltage_drop 180 mV"],
    ),
    (
        "Left rear tire, 4.5 millimeters in the middle. The side wall is cracked on it. Replace that tire.",
        ["tire left rear middle | tread_depth 4.5 mm | cracked | replace"],
    ),
]


POINTS_AHEAD = [
    (
        "Right front rotor, thickness, point one has twenty seven point eight millimeters, point two has"
        " twenty seven point seven five. Point three comes in at twenty seven point seven one millimeters.",
        [
            "brake_rotor right front point 1 | thickness 27.8 mm",
            "brake_rotor right front point 2 | thickness 27.75 mm",
            "brake_rotor right front point 3 | thickness 27.71 mm",
        ],
    ),
    (
        "Left front rotor, 0.1 is 28.42 mm. 0.2 reads 28.40, 0.3 reads 28.39. And at 0.4 I get 28.44 mm.",
        [
            "brake_rotor left front point 1 | thickness 28.42 mm",
            "brake_rotor left front point 2 | thickness 28.40 mm",
            "brake_rotor left front point 3 | thickness 28.39 mm",
            "brake_rotor left front point 4 | thickness 28.44 mm",
        ],
    ),
    (
        "Frame diagonal one is a hundred sixty three and five eighths inches, diagonal two is a hundred sixty"
        " three and a half.",
        [
            "frame left front to right rear | diagonal 163.625 in",
            "frame right front to left rear | diagonal 163.5 in",
        ],
    ),
]

LISTS = [
    (
        "Ten, ten, nine thirty seconds, right rear tire, inside, middle and outside.",
        [
            "tire right rear inside | tread_depth 0.3125 in",
            "tire right rear middle | tread_depth 0.3125 in",
            "tire right rear outside | tread_depth 0.28125 in",
        ],
    ),
    (
        "Left front tire 78 psi. Eight, eight, seven thirty seconds, going inside, middle, outside on the"
        " left rear.",
        [
            "tire left front | pressure 78 psi",
            "tire left rear inside | tread_depth 0.25 in",
            "tire left rear middle | tread_depth 0.25 in",
            "tire left rear outside | tread_depth 0.21875 in",
        ],
    ),
    (
        "Nine thirty seconds inside, nine in the middle, eight outside, that's the left front tire.",
        [
            "tire left front inside | tread_depth 0.28125 in",
            "tire left front middle | tread_depth 0.28125 in",
            "tire left front outside | tread_depth 0.25 in",
        ],
    ),
    (
        "Right rear tire, inside, middle and outside are ten thirty seconds. Sixty six psi in it.",
        [
            "tire right rear inside | tread_depth 0.3125 in",
            "tire right rear middle | tread_depth 0.3125 in",
            "tire right rear outside | tread_depth 0.3125 in",
            "tire right rear | pressure 66 psi",
        ],
    ),
    (
        "Left front tire, tread seven thirty seconds. Right front, same tread, but only twenty nine pounds.",
        [
            "tire left front | tread_depth 0.21875 in",
            "tire right front | tread_depth 0.21875 in",
            "tire right front | pressure 29 psi",
        ],
    ),
]

PAIRS = [
    (
        "Seven sixteenths of an inch, left rear brake shoe, three eighths, right rear brake shoe.",
        ["brake_shoe left rear | thickness 0.4375 in", "brake_shoe right rear | thickness 0.375 in"],
    ),
    (
        "Twelve thousandths radial play in the left king pin, nine thousandths radial in the right.",
        ["king_pin left | radial_play 0.012 in", "king_pin right | radial_play 0.009 in"],
    ),
    (
        "Left front tire 60 psi. Fourteen thirty seconds of tread, left front tire, middle. Thirteen thirty"
        " seconds at the same spot on the right front.",
        [
            "tire left front | pressure 60 psi",
            "tire left front middle | tread_depth 0.4375 in",
            "tire right front middle | tread_depth 0.40625 in",
        ],
    ),
    (
        "Front tires first, the left has seven thirty seconds of tread in the middle and the right has"
        " six thirty seconds, also in the middle.",
        [
            "tire left front middle | tread_depth 0.21875 in",
            "tire right front middle | tread_depth 0.1875 in",
        ],
    ),
    (
        "Left rear tire 78 psi. Left rear has eleven thirty seconds of tread at all three spots, inside,"
        " middle and outside. Right rear tire, same tread at all three spots.",
        [
            "tire left rear | pressure 78 psi",
            "tire left rear inside | tread_depth 0.34375 in",
            "tire left rear middle | tread_depth 0.34375 in",
            "tire left rear outside | tread_depth 0.34375 in",
            "tire right rear inside | tread_depth 0.34375 in",
            "tire right rear middle | tread_depth 0.34375 in",
            "tire right rear outside | tread_depth 0.34375 in",
        ],
    ),
    (
        "Left outer tie rod end, a sixteenth of an inch of play. I do the same on the right and see"
        " three thirty seconds of an inch.",
        ["tie_rod_end left outer | play 0.0625 in", "tie_rod_end right outer | play 0.09375 in"],
    ),
    (
        "Front rotors. For thickness variation I have zero point zero one five millimeters left, zero"
        " point zero two eight millimeters right.",
        [
            "brake_rotor left front | thickness_variation 0.015 mm",
            "brake_rotor right front | thickness_variation 0.028 mm",
        ],
    ),
    (
        "Rear rotors. Runout on these two, left four hundredths of a millimeter, right nine hundredths.",
        ["brake_rotor left rear | runout 0.04 mm", "brake_rotor right rear | runout 0.09 mm"],
    ),
    (
        "Left front shock, leaking. Right front likewise. Replace the pair.",
        ["shock_absorber left front | leak | replace", "shock_absorber right front | leak | replace"],
    ),
    (
        "Rear leaf springs, both sides, worn. Monitor.",
        ["leaf_spring left rear | worn | monitor", "leaf_spring right rear | worn | monitor"],
    ),
    (
        "Left front, outer pad eight point five millimeters, inner seven. Sorry, wrong side, both of"
        " those pads are right front.",
        ["brake_pad right front outer | thickness 8.5 mm", "brake_pad right front inner | thickness 7 mm"],
    ),
    (
        "At the left front my caliper gauge gives eight point five millimeters for the outer pad and"
        " seven for the inner pad.",
        ["brake_pad left front outer | thickness 8.5 mm", "brake_pad left front inner | thickness 7 mm"],
    ),
]

WHOSE = [
    (
        "A hundred and ninety five degrees Fahrenheit is the temperature where the thermostat opened.",
        ["thermostat | temperature 195 °F"],
    ),
    (
        "I hold a ruler against the rim of the steering wheel and measure one and five eighths inches of free"
        " play.",
        ["steering_wheel | free_play 1.625 in"],
    ),
    (
        "Worn spring shackle, left rear. Right rear has a broken U bolt, replace that too.",
        ["spring_shackle left rear | worn", "u_bolt right rear | broken | replace"],
    ),
    (
        "Wheel nuts, left rear, 475 foot pounds. Keep that blade up off the floor, will you.",
        ["wheel_fastener left rear | torque 475 lbf·ft"],
    ),
    (
        "Somebody took care of the coolant at least, its freeze point is minus twenty nine degrees"
        " Fahrenheit.",
        ["coolant | freeze_point -29 °F"],
    ),
    (
        "Blower motor, one point two ohms. Scrap that reading, my lead had slipped, it's one point eight"
        " ohms, and the motor is seized, so replace it.",
        ["blower_motor | resistance 1.8 Ω | seized | replace"],
    ),
    (
        "Left front wheel nuts 140 foot pounds. One hundred twenty foot pounds was all the right front wheel"
        " nuts held.",
        ["wheel_fastener left front | torque 140 lbf·ft", "wheel_fastener right front | torque 120 lbf·ft"],
    ),
    (
        "Rear calipers are okay. Of the two front brake hoses, the left is cracked and gets replaced, while"
        " the right is okay.",
        [
            "brake_caliper rear | ok",
            "brake_hose left front | cracked | replace",
            "brake_hose right front | ok",
        ],
    ),
    (
        "At the rear, the left lamp has a voltage drop of four hundred ten millivolts.",
        ["lamp left rear | voltage_drop 410 mV"],
    ),
    (
        "Oil cooler by itself on the tester, hold time five minutes, pressure after hold thirty psi.",
        ["oil_cooler | hold_time 5 min", "oil_cooler | pressure_after_hold 30 psi"],
    ),
    ("Bent at the lip, that's the right rear wheel, replace it.", ["wheel right rear | bent | replace"]),
    (
        "Leaking shocks at the front, left as well as right.",
        ["shock_absorber left front | leak", "shock_absorber right front | leak"],
    ),
    (
        "What's left on the brake shoe, left side of axle three, is three eighths of an inch.",
        ["brake_shoe left axle 3 | thickness 0.375 in"],
    ),
    ("Right outer tie rod end is loose. That's the sedan, next one in.", ["tie_rod_end right outer | loose"]),
]

SAID_ANEW = [
    (
        "Coolant freeze point is minus thirty four Fahrenheit. I looked again against the light, and the"
        " freeze point is really minus thirty one.",
        ["coolant | freeze_point -31 °F"],
    ),
    (
        "Frame, right front to left rear, a hundred sixty three and seven eighths. Let me pull that second"
        " diagonal again, okay, it's one sixty three and three quarters.",
        ["frame right front to left rear | diagonal 163.75 in"],
    ),
    (
        "Brake fluid boils at 385 degrees Fahrenheit, moisture two and a half percent. Make the moisture"
        " three percent.",
        ["brake_fluid | boiling_point 385 °F", "brake_fluid | moisture 3 %"],
    ),
    (
        "Brake fluid boils at 385 degrees Fahrenheit, moisture two and a half percent. Make the boiling point"
        " 380.",
        ["brake_fluid | moisture 2.5 %", "brake_fluid | boiling_point 380 °F"],
    ),
    (
        "The starter pulls a hundred and eighty, er, a hundred and eighty five amps.",
        ["starter | current 185 A"],
    ),
    ("Drive belt is cracked, um, no, not cracked, it's glazed.", ["drive_belt | glazed"]),
    ("Drive belt is cracked. No, not cracked. It's glazed.", ["drive_belt | glazed"]),
    (
        "The voltage drop on the alternator's positive cable. Two hundred, wait, two hundred ten millivolts.",
        ["alternator | voltage_drop 210 mV"],
    ),
    ("Battery voltage at rust 12.5. No, 12.58 volts.", ["battery | voltage 12.58 V"]),
    (
        "Right front rotor, point three, 27.71 millimeters. Sorry, I held the micrometer crooked, point three"
        " is 27.78.",
        ["brake_rotor right front point 3 | thickness 27.78 mm"],
    ),
    (
        "Left front tire 68 psi. I checked the gauge again. Right front tire 70 psi.",
        ["tire left front | pressure 68 psi", "tire right front | pressure 70 psi"],
    ),
]

SAID_OF_THE_ONE_MEANT = [
    (
        "Left lower ball joint, forty two thousandths axial play. Radial play on the same joint, eighteen"
        " thousandths.",
        ["ball_joint left lower | axial_play 0.042 in", "ball_joint left lower | radial_play 0.018 in"],
    ),
    (
        "There is no axial play at all in the right upper ball joint.",
        ["ball_joint right upper | axial_play 0 in | ok"],
    ),
    (
        "A lug nut is missing on the left rear wheel, replace it.",
        ["wheel_fastener left rear | missing | replace"],
    ),
    (
        "Right front wheel bearing, eleven thousandths end play, and it makes noise as it turns, adjust it.",
        ["hub_bearing right front | end_play 0.011 in | noise | adjust"],
    ),
    (
        "Cooling system held ten minutes. After the hold, the cooling system pressure stood at thirteen and a"
        " half psi.",
        ["cooling_system | hold_time 10 min", "cooling_system | pressure_after_hold 13.5 psi"],
    ),
]


@pytest.mark.parametrize(("text", "expected"), LISTS + PAIRS + WHOSE)
def test_lists_that_tell_their_numbers_first_and_parts_named_behind(text: str, expected: list[str]) -> None:
    assert lines(text) == expected


@pytest.mark.parametrize(("text", "expected"), POINTS_AHEAD + SAID_ANEW + SAID_OF_THE_ONE_MEANT)
def test_points_second_looks_and_the_one_that_is_meant(text: str, expected: list[str]) -> None:
    assert lines(text) == expected


@pytest.mark.parametrize(("text", "expected"), POINTS_BEHIND + TWO_THINGS + OF_THE_PART_MEANT)
def test_points_pairs_of_parts_and_parts_named_elsewhere(text: str, expected: list[str]) -> None:
    assert lines(text) == expected


def test_one_before_a_number_may_be_a_pronoun_and_is_asked() -> None:
    (outer, inner) = notes(
        "Right outer tie rod end fifteen thousandths of play, and the inner one twelve thousandths."
    ).findings
    assert not outer.attention and inner.reading is not None
    assert (str(inner.reading.value), inner.position.face) == ("0.012", "inner")
    assert any("one twelve thousandths” may be one number" in doubt for doubt in inner.attention)


def test_a_bare_number_of_another_kind_corrects_nothing() -> None:
    (finding,) = notes(
        "Battery, six hundred ten cold cranking amps. Sorry, minus three. That's six hundred and forty"
        " cranking amps."
    ).findings
    assert finding.reading is not None and str(finding.reading.value) == "640"


WINDOWS = [
    (
        ["Left front CV boot is torn, replace it.", "Same on the right."],
        ["cv_boot left front | torn | replace", "cv_boot right front | torn | replace"],
    ),
    (
        [
            "Left front CV boot is torn, replace it. Same on the right.",
            "Correction, the right boot is not torn, it is cracked, but replace it all the same.",
        ],
        ["cv_boot left front | torn | replace", "cv_boot right front | cracked | replace"],
    ),
    (
        [
            "Right rear drum, inside diameter thirteen point oh six one inches, heat checked, replace it.",
            "Make that thirteen point oh seven one, I read the gauge wrong.",
        ],
        ["brake_drum right rear | inside_diameter 13.071 in | heat_checked | replace"],
    ),
    (
        ["Right front hub bearing, end play eleven thousandths and it's noisy, change it out. Scratch that"
         " number, make it fourteen thousandths."],
        ["hub_bearing right front | end_play 0.014 in | noise | replace"],
    ),
    (
        ["Unit four forty one. Right front lamp is broken, replace it.", "Four four one complete."],
        ["lamp right front | broken | replace"],
    ),
    (
        ["Cooling system pumped to fifteen pounds.", "It is protected to minus thirty four."],
        ["cooling_system | pressure 15 psi", "coolant | freeze_point -34 °F"],
    ),
    (
        ["Left rear shock is leaking.", "No leaks on the right rear."],
        ["shock_absorber left rear | leak", "shock_absorber right rear | ok"],
    ),
]  # fmt: skip


@pytest.mark.parametrize(("windows", "expected"), WINDOWS)
def test_what_was_said_holds_and_is_taken_back_across_windows(
    windows: list[str], expected: list[str]
) -> None:
    assert [line(finding) for finding in notes(*windows).findings] == expected


def test_a_part_of_an_inch_without_its_number_opens_a_note() -> None:
    assert notes("Sixteenths. Left front tire 68 psi.").findings[0].component == "tire"


ASKED = [
    ("Right rear tire, eight thirty seconds on the left.", "Two places were said"),
    (
        "Battery voltage 12.45. And temperature forty one degrees Fahrenheit.",
        "Nobody said here what was this warm",
    ),
]


@pytest.mark.parametrize(("text", "doubt"), ASKED)
def test_what_contradicts_its_name_or_may_have_lost_it_is_asked(text: str, doubt: str) -> None:
    finding = notes(text).findings[-1]
    assert any(doubt in attention for attention in finding.attention)


@pytest.mark.parametrize(
    "text",
    [
        "Rear tire pressures, forty one psi on the left, thirty eight on the right.",
        "Battery temperature forty one degrees Fahrenheit.",
        "Engine oil pressure 40 psi. Temperature one ninety eight.",
    ],
)
def test_lists_of_sides_and_temperatures_of_what_was_named_are_not_asked(text: str) -> None:
    assert not any(finding.attention for finding in notes(text).findings)
