"""Dictation as people speak it who have never seen the vocabulary.

How things are said is common practice of the trade with no published source.
"""

import pytest

from tests.pipelines.notes.saying import lines, notes

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
