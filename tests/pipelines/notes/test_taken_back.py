"""What is taken back, put right or denied.

How things are said is common practice of the trade with no published source.
"""

import pytest

from tests.pipelines.notes.saying import lines


def test_excuse_me_corrects_before_a_number_only() -> None:
    assert lines("Left front tire pressure is ninety five, excuse me, ninety three psi.") == [
        "tire left front | pressure 93 psi"
    ]
    assert lines("Left front tire ninety five psi.", "Excuse me, can you move that creeper.") == [
        "tire left front | pressure 95 psi"
    ]


@pytest.mark.parametrize(
    ("said", "findings"),
    [
        (["Left front shock leaking, replace it.", "Scratch that."], []),
        (
            [
                "Rotor left front nine millimeters.",
                "Left front shock leaking.",
                "Scratch that. Right one torn.",
            ],
            ["brake_rotor left front | thickness 9 mm", "shock_absorber right front | torn"],
        ),
        (
            [
                "Rotor left front nine millimeters.",
                "Lower control arm bushing on the right looks worn.",
                "Nope, take that back, the bushing isn't worn, it's torn, replace it.",
            ],
            ["brake_rotor left front | thickness 9 mm", "control_arm_bushing right lower | torn | replace"],
        ),
        (
            ["Left front pad six millimeters, worn.", "Scratch that, five millimeters."],
            ["brake_pad left front | thickness 5 mm | worn"],
        ),
        (
            ["Left front pad six millimeters.", "Rotor is scored.", "Scratch that, the pad is five."],
            ["brake_pad left front | thickness 5 mm", "brake_rotor left front | scored"],
        ),
    ],
)
def test_what_was_said_last_is_scratched(said: list[str], findings: list[str]) -> None:
    assert sorted(lines(*said)) == findings


def test_a_second_look_at_play_keeps_its_direction() -> None:
    said = (
        "On the right lower ball joint I'm getting forty five thousandths axial play.",
        "Hang on, the jack slipped, let me zero this again. Forty thousandths, that's the real number.",
    )
    assert lines(*said) == ["ball_joint right lower | axial_play 0.040 in"]


@pytest.mark.parametrize(
    ("said", "findings"),
    [
        (
            [
                "Right front shock bent. Brake pads on this side are down to three millimeters inner and four"
                " outer, so both get replaced."
            ],
            [
                "shock_absorber right front | bent",
                "brake_pad right front inner | thickness 3 mm",
                "brake_pad right front outer | thickness 4 mm | replace",
            ],
        ),
        (
            [
                "Right outer tie rod end has fifty thousandths of play.",
                "No play in the inner one on that side.",
            ],
            ["tie_rod_end right outer | play 0.050 in", "tie_rod_end right inner | play 0 in | ok"],
        ),
        (
            [
                "Left lower ball joint boot's torn.",
                "Hold on, did I say left? I meant right, the right lower.",
            ],
            ["ball_joint right lower | torn"],
        ),
        (
            [
                "Left shoe on axle two five millimeters.",
                "And where's the grease from? The hub seal is leaking.",
            ],
            ["brake_shoe left axle 2 | thickness 5 mm", "hub_seal left axle 2 | leak"],
        ),
        (
            ["Right hub seal on axle two.", "I wiped it off and oil ran right out again, so it's a leak."],
            ["hub_seal right axle 2 | leak"],
        ),
        (
            ["The left frame rail is corroded, and I want it cleaned before the paint shop sees it."],
            ["frame_rail left | corroded | clean"],
        ),
        (
            ["Steering gear is leaking. Replace the gear.", "Actually, I shouldn't say replace."],
            ["steering_gear | leak"],
        ),
        (
            [
                "Left front outer pad seven millimeters, inner pad six and a half.",
                "Correction, the outer is eight millimeters and the inner stays six and a half.",
            ],
            ["brake_pad left front inner | thickness 6.5 mm", "brake_pad left front outer | thickness 8 mm"],
        ),
        (
            [
                "Tire tread, right front, nine thirty seconds in the middle.",
                "Sorry, make that the right rear, same number.",
            ],
            ["tire right rear middle | tread_depth 0.28125 in"],
        ),
        (
            [
                "Tire tread, right front, nine thirty seconds in the middle.",
                "Sorry, make that the right rear. Same number.",
            ],
            ["tire right rear middle | tread_depth 0.28125 in"],
        ),
        (
            ["The water pump is leaking.", "Not a leak, I should say a seep, so monitor it."],
            ["water_pump | seep | monitor"],
        ),
        (
            ["The water pump is leaking. Not a leak. I should say a seep so monitor it."],
            ["water_pump | seep | monitor"],
        ),
        (
            ["Idler arm moves, forty five thousandths.", "Let me change that idler arm to thirty five."],
            ["idler_arm | play 0.035 in"],
        ),
        (
            ["Leaf spring, left front, fifty six and a quarter inches long.", "Same on the right front."],
            ["leaf_spring left front | length 56.25 in", "leaf_spring right front | length 56.25 in"],
        ),
    ],
)
def test_what_is_taken_back_and_put_right(said: list[str], findings: list[str]) -> None:
    assert lines(*said) == findings


@pytest.mark.parametrize(
    ("said", "findings"),
    [
        ("I didn't find any cracks in the frame.", ["frame | ok"]),
        ("There's no sign of a leak at the rear differential.", ["differential rear | ok"]),
        ("The left front shock does not appear to be leaking.", ["shock_absorber left front | ok"]),
        ("Left front shock is neither leaking nor bent.", ["shock_absorber left front | ok"]),
        ("Drive belt isn't cracked or glazed.", ["drive_belt | ok"]),
        ("The drive belt is not cracked but it is glazed.", ["drive_belt | glazed"]),
        ("Drive belt is not only cracked, it's glazed.", ["drive_belt | cracked | glazed"]),
        ("Nothing leaking on the transmission.", ["transmission | ok"]),
        # What a denial does not reach.
        ("Left front shock is no good leaking.", ["shock_absorber left front | leak"]),
        ("Left front shock not bad leaking a little.", ["shock_absorber left front | leak"]),
        ("Left front shock doesn't look good cracked.", ["shock_absorber left front | cracked"]),
        ("Left front pad is not badly worn.", ["brake_pad left front | worn"]),
        ("Left front shock okay. That won't work.", ["shock_absorber left front | ok"]),
        ("Radiator, I can't find anything leaking.", ["radiator | ok"]),
        ("No leaks at the water pump or the radiator.", ["water_pump | ok", "radiator | ok"]),
        (
            "Replace left front pads and rotor.",
            ["brake_pad left front | replace", "brake_rotor left front | replace"],
        ),
        ("Left front shock won't hold, it's leaking.", ["shock_absorber left front | leak"]),
        ("Slack on the left front hub is three thou.", ["hub_bearing left front | end_play 0.003 in"]),
    ],
)
def test_what_is_denied_is_in_order(said: str, findings: list[str]) -> None:
    assert lines(said) == findings
