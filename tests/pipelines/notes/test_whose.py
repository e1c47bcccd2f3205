"""Whose a reading is, and what is taken back.

How things are said is common practice of the trade with no published source.
"""

import pytest

from tests.pipelines.notes.saying import line, lines, notes

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

WHOSE = [
    (
        "Right rear tire, eleven thirty seconds in the middle of the tread, pressure seventy eight psi.",
        ["tire right rear middle | tread_depth 0.34375 in", "tire right rear | pressure 78 psi"],
    ),
    (
        "I pumped the cooling system up to sixteen psi and after the hold it was down to fourteen point"
        " five psi.",
        ["cooling_system | pressure 16 psi", "cooling_system | pressure_after_hold 14.5 psi"],
    ),
    (
        "Eighty five foot pounds on the left rear u-bolt, and seventy on the right rear one, tighten"
        " that right one.",
        ["u_bolt left rear | torque 85 lbf·ft", "u_bolt right rear | torque 70 lbf·ft | tighten"],
    ),
    ("Battery, twelve point four volts, corroded, clean.", ["battery | voltage 12.4 V | corroded | clean"]),
    (
        "Left front tire, seven thirty seconds, it's a worn one, sixty psi.",
        ["tire left front | tread_depth 0.21875 in | worn", "tire left front | pressure 60 psi"],
    ),
    ("On that left front tire I have 68 psi.", ["tire left front | pressure 68 psi"]),
    (
        "Eleven and a quarter inches is the length of the left front coil spring, and eleven and five eighths"
        " that of the right.",
        ["coil_spring left front | length 11.25 in", "coil_spring right front | length 11.625 in"],
    ),
    (
        "Rear U joint 8 thousandths. No play at all, that's the front U joint.",
        ["u_joint rear | play 0.008 in", "u_joint front | play 0 in | ok"],
    ),
    (
        "At the front wheels the camber comes to half a degree left and three quarters of a degree right.",
        ["wheel left front | camber 0.5 °", "wheel right front | camber 0.75 °"],
    ),
    (
        "Seventy foot pounds is all I got on the left rear U bolt, it's loose.",
        ["u_bolt left rear | torque 70 lbf·ft | loose"],
    ),
    (
        "Left rear lamp is broken. Two hundred and fifty millivolts of voltage drop over at the right"
        " rear lamp.",
        ["lamp left rear | broken", "lamp right rear | voltage_drop 250 mV"],
    ),
    (
        "Right front lamp 12 volts. Broken is how I find the left rear lamp, replace it.",
        ["lamp right front | voltage 12 V", "lamp left rear | broken | replace"],
    ),
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


@pytest.mark.parametrize(("text", "expected"), TWO_THINGS + OF_THE_PART_MEANT + WHOSE + SAID_OF_THE_ONE_MEANT)
def test_said_of_the_part_that_is_meant(text: str, expected: list[str]) -> None:
    assert lines(text) == expected


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

TAKEN_BACK = [
    (
        "Right front rotor, runout zero point one two millimeters. Sorry, runout was zero point one"
        " five, not one two.",
        ["brake_rotor right front | runout 0.15 mm"],
    ),
    (
        "Right rear tire, middle, ten thirty seconds. Sorry, wrong side, that was the left rear tire.",
        ["tire left rear middle | tread_depth 0.3125 in"],
    ),
    (
        "Right front rotor, point one, thirty five point nine millimeters. Point three on the same"
        " rotor, thirty five point seven. Sorry, point three should be thirty five point eight millimeters.",
        [
            "brake_rotor right front point 1 | thickness 35.9 mm",
            "brake_rotor right front point 3 | thickness 35.8 mm",
        ],
    ),
    (
        "Cold pressure in the front tires, left seventy eight psi, right seventy one. Change the right"
        " to seventy four.",
        ["tire left front | pressure 78 psi", "tire right front | pressure 74 psi"],
    ),
    ("Pedal free play, one eighth inch. Wrong. Quarter inch.", ["brake_pedal | free_play 0.25 in"]),
    (
        "Battery, cold cranking amps six hundred forty. Hold on, wrong setting on the tester, the cold"
        " cranking amps are six hundred fifteen.",
        ["battery | cold_cranking_current 615 A"],
    ),
    (
        "I watched the thermostat start to open at a hundred and ninety two degrees. I am sorry, I"
        " misread the display there, because it was really a hundred and ninety seven when it opened.",
        ["thermostat | temperature 197 °F"],
    ),
    (
        "Right inner tie rod end, fourteen thousandths play. Hold up, my dial had slipped, make that last one"
        " sixteen.",
        ["tie_rod_end right inner | play 0.016 in"],
    ),
]


@pytest.mark.parametrize(("text", "expected"), SAID_ANEW + TAKEN_BACK)
def test_what_is_said_anew_takes_the_place_of_the_first(text: str, expected: list[str]) -> None:
    assert lines(text) == expected


def test_a_bare_number_of_another_kind_corrects_nothing() -> None:
    (finding,) = notes(
        "Battery, six hundred ten cold cranking amps. Sorry, minus three. That's six hundred and forty"
        " cranking amps."
    ).findings
    assert finding.reading is not None and str(finding.reading.value) == "640"


WINDOWS = [
    (
        ["Left front tire 68 psi.", "Scratch that.", "Same on the right."],
        [],
    ),
    (
        ["Left front tire, date code thirty two nineteen.", "Correction, on that tire, 68."],
        ["tire left front", "tire left front | pressure 68 psi"],
    ),
    (
        ["Left rear shock, leaking.", "The left rear shock is not leaking. Right front tire, 68 psi."],
        ["shock_absorber left rear | ok", "tire right front | pressure 68 psi"],
    ),
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
