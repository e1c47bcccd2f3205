"""What carries from word to word: parts, places, lists, repetitions, corrections."""

import pytest

from models.vocabulary import load_vocabulary
from pipelines.notes.read import read_notes
from tests.pipelines.notes.saying import line, lines, notes, transcript


@pytest.mark.parametrize(
    "said",
    [
        "Left front pads. Outer six, inner four and a half. Right side same.",
        "Left front brake pads, outer six millimeters, inner four and a half. Right side same.",
        "Left front. Pads. Outer 6, inner 4.5. The same on the right.",
    ],
)
def test_places_stick_and_the_other_side_is_the_same(said: str) -> None:
    found = lines(said)
    assert [line.replace(" 6.0 ", " 6 ") for line in found] == [
        "brake_pad left front outer | thickness 6 mm",
        "brake_pad left front inner | thickness 4.5 mm",
        "brake_pad right front outer | thickness 6 mm",
        "brake_pad right front inner | thickness 4.5 mm",
    ]


def test_numbers_before_their_places() -> None:
    said = "Left rear tire, tread seven thirty seconds outside, six in the middle, five inside."
    assert lines(said) == [
        "tire left rear outside | tread_depth 0.21875 in",
        "tire left rear middle | tread_depth 0.1875 in",
        "tire left rear inside | tread_depth 0.15625 in",
    ]


def test_numbers_before_their_places_as_a_recogniser_writes_them() -> None:
    said = "Left rear tire tread, 730 seconds outside, 6 in the middle, 5 inside."
    assert lines(said) == lines(
        "Left rear tire, tread seven thirty-seconds outside, six in the middle, five inside."
    )


def test_a_list_goes_on_in_thousandths() -> None:
    assert lines("Ball joint, left lower, twenty thou. Right lower, twenty five.") == [
        "ball_joint left lower | play 0.020 in",
        "ball_joint right lower | play 0.025 in",
    ]


@pytest.mark.parametrize(
    ("said", "place"),
    [("Left headlight", "left"), ("Left front headlight", "left front"), ("Headlight", "left")],
)
def test_a_lamp_is_at_no_axle_unless_that_is_said(said: str, place: str) -> None:
    tire = "Left rear tire, ninety five psi."
    assert lines(f"{tire} {said}, broken.")[1] == f"lamp {place} | broken"


def test_three_thicknesses_of_a_rotor_are_points_round_it() -> None:
    assert lines("Left front rotor, 29.8, 29.7, 29.9 millimeters.") == [
        "brake_rotor left front point 1 | thickness 29.8 mm",
        "brake_rotor left front point 2 | thickness 29.7 mm",
        "brake_rotor left front point 3 | thickness 29.9 mm",
    ]


@pytest.mark.parametrize(
    ("said", "kept"),
    [
        ("twenty thou. Scratch that, make it forty five.", "ball_joint left upper | play 0.045 in"),
        ("twenty thou. No, make it thirty.", "ball_joint left upper | play 0.030 in"),
        ("twenty thou. No, correction, right side.", "ball_joint right upper | play 0.020 in"),
        ("twenty thou. I mean the right side.", "ball_joint right upper | play 0.020 in"),
        ("twenty thou. Sorry, lower.", "ball_joint left lower | play 0.020 in"),
    ],
)
def test_a_correction_replaces_what_was_said(said: str, kept: str) -> None:
    assert lines(f"Left upper ball joint, {said}") == [kept]


def test_a_correction_of_one_of_two_leaves_the_other() -> None:
    said = "Left front pads. Outer six, inner four and a half. Correction, inner five."
    assert lines(said) == [
        "brake_pad left front outer | thickness 6 mm",
        "brake_pad left front inner | thickness 5 mm",
    ]


def test_scratch_that_alone_drops_the_reading() -> None:
    assert lines("Left front outer pad six millimeters. Scratch that.") == []


@pytest.mark.parametrize(
    ("windows", "kept"),
    [
        (("twenty thou.", "Scratch that, make it forty five."), "ball_joint left upper | play 0.045 in"),
        (("twenty thou.", "No, correction, right side."), "ball_joint right upper | play 0.020 in"),
    ],
)
def test_a_correction_reaches_back_into_the_window_before(windows: tuple[str, str], kept: str) -> None:
    assert lines(f"Left upper ball joint, {windows[0]}", windows[1]) == [kept]


def test_scratch_that_in_a_window_of_its_own() -> None:
    windows = (
        "Left front outer pad six millimeters.",
        "Scratch that.",
        "Right front outer pad, five millimeters.",
    )
    assert lines(*windows) == ["brake_pad right front outer | thickness 5 mm"]


@pytest.mark.parametrize(
    "said", ["Lower ball joints, both sides, ten thou.", "Lower ball joints, ten thou both sides."]
)
def test_both_sides(said: str) -> None:
    assert lines(said) == ["ball_joint left lower | play 0.010 in", "ball_joint right lower | play 0.010 in"]


def test_all_the_way_across_is_one_reading_without_a_spot() -> None:
    said = "Right rear tire, six thirty seconds all the way across."
    assert lines(said) == ["tire right rear | tread_depth 0.1875 in"]


def test_all_four_corners() -> None:
    corners = ["left front", "right front", "left rear", "right rear"]
    assert sorted(lines("Shock absorbers all four leaking.")) == sorted(
        f"shock_absorber {corner} | leak" for corner in corners
    )


def test_a_frame_is_measured_corner_to_corner_both_ways() -> None:
    said = "Frame diagonal, left front to right rear, 142 and 3/16 inches. The other way, 142 and a half."
    assert lines(said) == [
        "frame left front to right rear | diagonal 142.1875 in",
        "frame right front to left rear | diagonal 142.5 in",
    ]


def test_the_second_diagonal_named_by_its_corners() -> None:
    assert lines("Frame, right front to left rear, 154.5 inches.") == [
        "frame right front to left rear | diagonal 154.5 in"
    ]


@pytest.mark.parametrize(
    "windows",
    [
        ("Left front outer pad.", "Six millimeters."),
        ("Left front.", "Pads.", "Outer six."),
        ("Left front pads.", "Outer.", "Six millimeters."),
    ],
)
def test_a_part_in_one_window_and_its_reading_in_the_next(windows: tuple[str, ...]) -> None:
    assert lines(*windows) == ["brake_pad left front outer | thickness 6 mm"]


def test_a_measure_in_one_window_and_its_reading_in_the_next() -> None:
    assert lines("Left lower ball joint, axial play,", "thirty thousandths.") == [
        "ball_joint left lower | axial_play 0.030 in"
    ]


def test_the_same_across_windows() -> None:
    assert lines("Left outer tie rod end, forty thousandths.", "Right side same.") == [
        "tie_rod_end left outer | play 0.040 in",
        "tie_rod_end right outer | play 0.040 in",
    ]


def test_a_list_goes_on_across_windows() -> None:
    windows = ("Left rear tire, tread seven thirty-seconds outside,", "six in the middle, five inside.")
    assert [line.split(" | ")[1] for line in lines(*windows)] == [
        "tread_depth 0.21875 in",
        "tread_depth 0.1875 in",
        "tread_depth 0.15625 in",
    ]


def test_times_of_a_finding_lie_in_its_window() -> None:
    heard = transcript("Left front outer pad.", "Six millimeters. It is glazed.")
    (finding,) = read_notes(heard, load_vocabulary()).findings
    assert heard.windows[1].start_s <= finding.start_s < finding.end_s <= heard.windows[1].end_s


def test_a_place_in_one_window_and_its_part_in_the_next() -> None:
    assert lines("Left upper", "ball joint, thirty thousandths.") == ["ball_joint left upper | play 0.030 in"]


def test_both_of_two_parts_that_were_just_named() -> None:
    assert sorted(lines("Left front outer pad and inner pad both six millimeters.")) == [
        "brake_pad left front inner | thickness 6 mm",
        "brake_pad left front outer | thickness 6 mm",
    ]


def test_diagonals_before_their_corners() -> None:
    said = (
        "Frame diagonals, one forty two and three sixteenths left front to right rear, "
        "one forty two and a half right front to left rear."
    )
    assert lines(said) == [
        "frame left front to right rear | diagonal 142.1875 in",
        "frame right front to left rear | diagonal 142.5 in",
    ]


@pytest.mark.parametrize(
    "windows",
    [
        ("Left upper ball joint, thirty", "thousandths."),
        ("Left front outer pad, six point", "five millimeters."),
        pytest.param(
            ("Left front rotor, twenty", "nine millimeters."),
        ),
    ],
)
def test_a_number_cut_in_two_never_looks_right(windows: tuple[str, str]) -> None:
    found = read_notes(transcript(*windows), load_vocabulary()).findings
    assert all(f.attention for f in found if f.reading is not None)


# Common practice of speech, without a published source.
@pytest.mark.parametrize(
    ("said", "expected"),
    [
        (
            "Front pads. Left front is ten on the outer and nine inboard.",
            [
                "brake_pad left front outer | thickness 10 mm",
                "brake_pad left front inner | thickness 9 mm",
            ],
        ),
        (
            "Rear pads. Six on the left, five on the right.",
            ["brake_pad left rear | thickness 6 mm", "brake_pad right rear | thickness 5 mm"],
        ),
        ("Put sixteen pounds on the cooling system.", ["cooling_system | pressure 16 psi"]),
        (
            "Thirteen thousandths runout on the rear driveshaft.",
            ["driveshaft rear | runout 0.013 in"],
        ),
        (
            "Left rear shock is leaking. No leaks on the right rear.",
            ["shock_absorber left rear | leak", "shock_absorber right rear | ok"],
        ),
        (
            "Left upper ball joint, fourteen thousandths. Lower one, twenty six thousandths.",
            ["ball_joint left upper | play 0.014 in", "ball_joint left lower | play 0.026 in"],
        ),
        (
            "Front driveshaft, seven thousandths runout. Rear one is twenty five, and it's noisy.",
            ["driveshaft front | runout 0.007 in", "driveshaft rear | runout 0.025 in | noise"],
        ),
        (
            "Outer tie rod ends. Left has no play. Right's got twenty two thousandths.",
            ["tie_rod_end left outer | play 0 in | ok", "tie_rod_end right outer | play 0.022 in"],
        ),
        (
            "Right front tire, seven thirty seconds. Rears. Left, nine thirty seconds. Right, eight.",
            [
                "tire right front | tread_depth 0.21875 in",
                "tire left rear | tread_depth 0.28125 in",
                "tire right rear | tread_depth 0.25 in",
            ],
        ),
        (
            "Left front rotor, thirty two point two one. Minimum's thirty point two on these.",
            ["brake_rotor left front | thickness 32.21 mm"],
        ),
        ("Left front pads, outer two, inner one.", [
            "brake_pad left front outer | thickness 2 mm",
            "brake_pad left front inner | thickness 1 mm",
        ]),
        (
            "Left upper ball joint, 14 thousandths. Lower 1, 26 thousandths.",
            ["ball_joint left upper | play 0.014 in", "ball_joint left lower | play 0.026 in"],
        ),
        ("Back on two oh eight. Heater core isn't leaking.", ["heater_core | ok"]),
    ],
)  # fmt: skip
def test_places_and_parts_stand_on_either_side_of_what_is_said_of_them(
    said: str, expected: list[str]
) -> None:
    assert lines(said) == expected
    assert [f.attention for f in notes(said).findings] == [()] * len(expected)


def test_a_quarter_of_a_pound_is_no_finer_than_its_words() -> None:
    (finding,) = notes("Cooling system at fifteen and a quarter psi.").findings
    assert (line(finding), finding.attention) == ("cooling_system | pressure 15.25 psi", ())
