"""Of which part something is said, and what is not carried over to another.

How things are said is common practice of the trade with no published source.
"""

import pytest

from tests.pipelines.notes.saying import line, lines, notes


def test_cleaning_up_the_shop_is_no_action() -> None:
    assert lines("Belt tensioner making noise. Okay, let's clean up and go get some lunch.") == [
        "belt_tensioner | noise"
    ]


@pytest.mark.parametrize(
    ("said", "findings"),
    [
        (
            "Left front coil spring length eleven inches. Cracked, one leaf of the right rear spring, put a"
            " new leaf spring in.",
            ["coil_spring left front | length 11 in", "leaf_spring right rear | cracked | replace"],
        ),
        (
            "Drag link okay. Soft is what the left body mount is.",
            ["drag_link | ok", "body_mount left | soft"],
        ),
        (
            "Drag link good. A crack right behind the flange, on the exhaust that is, repair it.",
            ["drag_link | ok", "exhaust | cracked | repair"],
        ),
        (
            "Ninety degrees at the rear differential, and a seep, only a small one, on the transfer case.",
            ["differential rear | temperature 90 °F", "transfer_case | seep"],
        ),
    ],
)
def test_conditions_before_their_part(said: str, findings: list[str]) -> None:
    assert lines(said) == findings


def test_an_action_for_both_of_a_pause_before() -> None:
    said = ("Drive belt is cracked, and the belt tensioner is making noise.", "Go ahead and replace both.")
    assert lines(*said) == ["drive_belt | cracked | replace", "belt_tensioner | noise | replace"]


@pytest.mark.parametrize(
    ("said", "findings"),
    [
        (
            [
                "Lug nuts on axle one right five hundred foot pounds.",
                "Found a loose lug nut on axle three right.",
            ],
            ["wheel_fastener right axle 1 | torque 500 lbf·ft", "wheel_fastener right axle 3 | loose"],
        ),
        (
            ["Right front lamp is corroded.", "Somebody broke the right rear lamp, replace it."],
            ["lamp right front | corroded", "lamp right rear | broken | replace"],
        ),
        (
            ["Left rear drum sixteen point five six inches, I had the gauge crooked."],
            ["brake_drum left rear | inside_diameter 16.56 in"],
        ),
        (
            ["Starter voltage drop point three eight volts, and the most I allow is half a volt."],
            ["starter | voltage_drop 0.38 V"],
        ),
        (
            [
                "Left tire axle one nine thirty seconds.",
                "Axle two left there's ten in the middle of the tread.",
            ],
            ["tire left axle 1 | tread_depth 0.28125 in", "tire left axle 2 middle | tread_depth 0.3125 in"],
        ),
    ],
)
def test_of_what_it_is_said(said: list[str], findings: list[str]) -> None:
    assert lines(*said) == findings


@pytest.mark.parametrize(
    ("said", "findings"),
    [
        (
            "Both left ball joints are tight.",
            ["ball_joint left upper | ok", "ball_joint left lower | ok"],
        ),
        (
            "Upper and lower ball joints on the left are tight.",
            ["ball_joint left upper | ok", "ball_joint left lower | ok"],
        ),
        (
            "Replace the upper and lower radiator hoses.",
            ["radiator_hose upper | replace", "radiator_hose lower | replace"],
        ),
        (
            "Both front pads on the left are six millimeters.",
            ["brake_pad left front inner | thickness 6 mm", "brake_pad left front outer | thickness 6 mm"],
        ),
        (
            "Both rear shocks are leaking.",
            ["shock_absorber left rear | leak", "shock_absorber right rear | leak"],
        ),
    ],
)
def test_what_both_are(said: str, findings: list[str]) -> None:
    assert lines(said) == findings


@pytest.mark.parametrize(
    ("said", "findings"),
    [
        (
            "Camber left front point eight negative, right front one point two negative.",
            ["wheel left front | camber -0.8 °", "wheel right front | camber -1.2 °"],
        ),
        (
            "Starter draws one ninety, battery dropped to ten point four while cranking.",
            ["starter | current 190 A", "battery | voltage 10.4 V"],
        ),
        ("Replaced the left front shock last month.", []),
        (
            "Left lower control arm bushings are torn, both of them.",
            ["control_arm_bushing left lower | torn"],
        ),
        (
            "It should be two fifty but the left rear u bolts were at two hundred foot pounds.",
            ["u_bolt left rear | torque 200 lbf·ft"],
        ),
        (
            "Left front shock is leaking and so is the right front, so I'd replace both of them.",
            ["shock_absorber left front | leak | replace", "shock_absorber right front | leak | replace"],
        ),
    ],
)
def test_what_is_not_carried_over(said: str, findings: list[str]) -> None:
    assert lines(said) == findings


def test_toe_in_inches_is_asked() -> None:
    said = "Left front, camber minus one half degree, toe one eighth inch, caster four degrees."
    camber, toe, caster = notes(said).findings
    assert (line(camber), line(caster)) == (
        "wheel left front | camber -0.5 °",
        "wheel left front | caster 4 °",
    )
    assert any("does not fit the toe that was named" in doubt for doubt in toe.attention)
