"""Where a finding is: places that are corrected, gone to, or the same again.

How things are said is common practice of the trade with no published source.
"""

import pytest

from tests.pipelines.notes.saying import line, lines, notes


@pytest.mark.parametrize(
    ("said", "findings"),
    [
        (
            "Left rear tire measures six thirty seconds in the middle, and it's holding seventy pounds. Same"
            " on the right rear, six thirty seconds in the middle.",
            [
                "tire left rear middle | tread_depth 0.1875 in",
                "tire left rear | pressure 70 psi",
                "tire right rear middle | tread_depth 0.1875 in",
            ],
        ),
        (
            "Left rear pad seven millimeters, glazed. Same on the right, seven.",
            [
                "brake_pad left rear | thickness 7 mm | glazed",
                "brake_pad right rear | thickness 7 mm | glazed",
            ],
        ),
        (
            "Right front, the outer pad is eight and a half millimeters, and the inner pad is the same.",
            [
                "brake_pad right front outer | thickness 8.5 mm",
                "brake_pad right front inner | thickness 8.5 mm",
            ],
        ),
    ],
)
def test_what_is_the_same(said: str, findings: list[str]) -> None:
    assert lines(said) == findings


ELSEWHERE = [
    (
        ["Left outer tie rod end is loose, needs replacing.", "Make that the right outer tie rod end."],
        ["tie_rod_end right outer | loose | replace"],
    ),
    (
        ["Left outer tie rod end is loose. Make that the right outer tie rod end, left one is fine."],
        ["tie_rod_end right outer | loose", "tie_rod_end left outer | ok"],
    ),
    (
        ["Left front shock is leaking.", "No, that's the right front shock."],
        ["shock_absorber right front | leak"],
    ),
    (
        ["Left front shock is leaking, replace it.", "Sorry, it's the right one that's leaking."],
        ["shock_absorber right front | leak | replace"],
    ),
    (
        [
            "Right front shock is leaking, replace that.",
            "Sorry, I got turned around, not the right one, it's the left front shock that's leaking.",
        ],
        ["shock_absorber left front | leak | replace"],
    ),
    (
        ["Left front pad six millimeters, cracked, replace it.", "Correction, right front pad."],
        ["brake_pad right front | thickness 6 mm | cracked | replace"],
    ),
    (
        ["Left front pad eight millimeters.", "No, that's the right front."],
        ["brake_pad right front | thickness 8 mm"],
    ),
]


@pytest.mark.parametrize(("said", "findings"), ELSEWHERE)
def test_what_was_said_of_the_wrong_place_moves(said: list[str], findings: list[str]) -> None:
    assert lines(*said) == findings


def test_what_moves_without_being_told_to_is_asked() -> None:
    (found,) = notes("Left front shock is leaking.", "Actually the right front shock is leaking.").findings
    assert line(found) == "shock_absorber right front | leak"
    assert any("may be said of left front as well" in doubt for doubt in found.attention)


@pytest.mark.parametrize(
    ("said", "findings"),
    [
        (
            ["Left front shock is leaking.", "No. Right front shock torn."],
            ["shock_absorber left front | leak", "shock_absorber right front | torn"],
        ),
        (
            ["Left front shock is leaking.", "Wait, the right front shock is leaking too."],
            ["shock_absorber left front | leak", "shock_absorber right front | leak"],
        ),
        (
            ["Left front shock is leaking.", "Actually the right front shock is leaking too."],
            ["shock_absorber left front | leak", "shock_absorber right front | leak"],
        ),
        (
            ["Left front shock is leaking.", "No leaks on the right front shock."],
            ["shock_absorber left front | leak", "shock_absorber right front | ok"],
        ),
    ],
)
def test_what_is_said_of_another_place_as_well_moves_nothing(said: list[str], findings: list[str]) -> None:
    assert lines(*said) == findings


@pytest.mark.parametrize(
    ("said", "findings"),
    [
        (
            ["Right rear shoe eight.", "I'm starting at the left front. Outer pad is seven millimeters."],
            ["brake_shoe right rear | thickness 8 mm", "brake_pad left front outer | thickness 7 mm"],
        ),
        (
            [
                "Left frame rail has corrosion, clean it.",
                "Nothing wrong with the right frame rail, it's good.",
            ],
            ["frame_rail left | corroded | clean", "frame_rail right | ok"],
        ),
        (
            ["Unit 12, brakes all around. Left front outer pad eight millimeters."],
            ["brake_pad left front outer | thickness 8 mm"],
        ),
        (
            ["Left front shock leaking. Somebody should replace the right front sway bar link."],
            ["shock_absorber left front | leak", "sway_bar_link right front | replace"],
        ),
        (
            ["Battery 12 volts. The starter draws three hundred forty amps while cranking."],
            ["battery | voltage 12 V", "starter | current 340 A"],
        ),
    ],
)
def test_where_the_talk_goes_on(said: list[str], findings: list[str]) -> None:
    assert lines(*said) == findings


def test_a_place_to_which_something_is_moved_is_no_heading() -> None:
    found = lines(
        "Right front pad eight.", "I need to get the drain pan over to the left rear.", "Rotor scored."
    )
    assert found == ["brake_pad right front | thickness 8 mm", "brake_rotor right front | scored"]


@pytest.mark.parametrize(
    "going",
    [
        "I'm starting at the right front.",
        "We're at the right front now.",
        "I'm over at the right front.",
        "Let me do the right front next.",
        "I'll look at the right front now.",
        "Let's head to the right front.",
    ],
)
def test_the_corner_that_somebody_goes_to_holds_for_what_follows(going: str) -> None:
    assert (
        lines("Left rear pad six.", f"{going} Outer pad five.")[-1]
        == "brake_pad right front outer | thickness 5 mm"
    )


@pytest.mark.parametrize(
    "talk", ["I'll look at the right front later.", "I need to get the drain pan over to the right front."]
)
def test_a_corner_in_other_talk_holds_for_nothing(talk: str) -> None:
    assert (
        lines("Left rear pad six.", f"{talk} Outer pad five.")[-1]
        == "brake_pad left rear outer | thickness 5 mm"
    )


@pytest.mark.parametrize("too", ["Right one too.", "Right side as well.", "The right one is, too."])
def test_a_place_to_which_the_same_applies(too: str) -> None:
    assert lines("Left front shock is leaking.", too) == [
        "shock_absorber left front | leak",
        "shock_absorber right front | leak",
    ]
