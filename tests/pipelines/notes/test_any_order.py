"""Readings, parts and places in any order.

How things are said is common practice of the trade with no published source.
"""

import pytest

from tests.pipelines.notes.saying import lines, notes

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

POINTS_AHEAD = [
    (
        "On the left front rotor, at point one I read one point four one two inches, and at point two it's"
        " one point four one four.",
        [
            "brake_rotor left front point 1 | thickness 1.412 in",
            "brake_rotor left front point 2 | thickness 1.414 in",
        ],
    ),
    (
        "Right front rotor at 0.1, 35.9 mm, 0.2, 35.85. 0.3 on the same rotor, 35.7.",
        [
            "brake_rotor right front point 1 | thickness 35.9 mm",
            "brake_rotor right front point 2 | thickness 35.85 mm",
            "brake_rotor right front point 3 | thickness 35.7 mm",
        ],
    ),
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

HEADED = [
    (
        "Left front outer pad. Nine millimeters, inner pad four, rotor scored.",
        [
            "brake_pad left front outer | thickness 9 mm",
            "brake_pad left front inner | thickness 4 mm",
            "brake_rotor left front | scored",
        ],
    ),
    (
        "Inside edge of the left front tire is worn, right front is seven thirty seconds.",
        ["tire left front inside | worn", "tire right front | tread_depth 0.21875 in"],
    ),
    (
        "Front tires, tread at the outside, left nine thirty seconds and right eight thirty seconds.",
        [
            "tire left front outside | tread_depth 0.28125 in",
            "tire right front outside | tread_depth 0.25 in",
        ],
    ),
    (
        "Tires. Middle of the fronts, I have ten thirty seconds on the left and eleven thirty seconds on the"
        " right.",
        [
            "tire left front middle | tread_depth 0.3125 in",
            "tire right front middle | tread_depth 0.34375 in",
        ],
    ),
    (
        "Left front rotor thickness at point one is 37.62 millimeters, at point two thirty seven point"
        " six zero, at point three thirty seven point five seven.",
        [
            "brake_rotor left front point 1 | thickness 37.62 mm",
            "brake_rotor left front point 2 | thickness 37.60 mm",
            "brake_rotor left front point 3 | thickness 37.57 mm",
        ],
    ),
    (
        "Right upper ball joint, 18 thousandths axle, 9 radial.",
        ["ball_joint right upper | axial_play 0.018 in", "ball_joint right upper | radial_play 0.009 in"],
    ),
    (
        "The shoe on the right rear is contaminated with oil, two point one millimeters left, replace it.",
        ["brake_shoe right rear | thickness 2.1 mm | contaminated | replace"],
    ),
    (
        "Right rear outer pad, a quarter inch. Inner one, same wheel, seven thirty seconds.",
        [
            "brake_pad right rear outer | thickness 0.25 in",
            "brake_pad right rear inner | thickness 0.21875 in",
        ],
    ),
    (
        "Eleven point eight volts reach the left front lamp, eleven point three the right front.",
        ["lamp left front | voltage 11.8 V", "lamp right front | voltage 11.3 V"],
    ),
    (
        "Fourteen point two is the charging voltage from the alternator at fast idle.",
        ["alternator | charging_voltage 14.2 V"],
    ),
    (
        "Right rear rotor 1.142 inches. I see a cracked brake hose at that wheel too, it wants replacing.",
        ["brake_rotor right rear | thickness 1.142 in", "brake_hose right rear | cracked | replace"],
    ),
]


@pytest.mark.parametrize(("text", "expected"), POINTS_BEHIND + POINTS_AHEAD + LISTS + PAIRS + HEADED)
def test_readings_and_their_places_in_any_order(text: str, expected: list[str]) -> None:
    assert lines(text) == expected


def test_one_before_a_number_may_be_a_pronoun_and_is_asked() -> None:
    (outer, inner) = notes(
        "Right outer tie rod end fifteen thousandths of play, and the inner one twelve thousandths."
    ).findings
    assert not outer.attention and inner.reading is not None
    assert (str(inner.reading.value), inner.position.face) == ("0.012", "inner")
    assert any("one twelve thousandths” may be one number" in doubt for doubt in inner.attention)


def test_a_part_of_an_inch_without_its_number_opens_a_note() -> None:
    assert notes("Sixteenths. Left front tire 68 psi.").findings[0].component == "tire"


@pytest.mark.parametrize(
    ("said", "findings"),
    [
        (
            "Tread on the right front is seven thirty seconds inside and seven in the middle.",
            [
                "tire right front inside | tread_depth 0.21875 in",
                "tire right front middle | tread_depth 0.21875 in",
            ],
        ),
        (
            "Right front tire nine. Left rear seven inside, six middle, five outside.",
            [
                "tire right front | tread_depth 0.28125 in",
                "tire left rear inside | tread_depth 0.21875 in",
                "tire left rear middle | tread_depth 0.1875 in",
                "tire left rear outside | tread_depth 0.15625 in",
            ],
        ),
        (
            "Pads on the right front are eight outer and seven inner.",
            ["brake_pad right front outer | thickness 8 mm", "brake_pad right front inner | thickness 7 mm"],
        ),
    ],
)
def test_spots_behind_their_values_under_a_corner(said: str, findings: list[str]) -> None:
    assert lines(said) == findings


def test_the_way_to_the_next_corner_moves_nothing() -> None:
    said = (
        "Left front wheel, the brake pads are nine millimeters outer and eight inner. I walk around to the"
        " right front, the outer pad is seven."
    )
    assert lines(said) == [
        "brake_pad left front outer | thickness 9 mm",
        "brake_pad left front inner | thickness 8 mm",
        "brake_pad right front outer | thickness 7 mm",
    ]


def test_in_that_a_recogniser_wrote_for_and() -> None:
    assert lines("Left front. Outer pad there is 7 mm in the inner one is 6.") == [
        "brake_pad left front outer | thickness 7 mm",
        "brake_pad left front inner | thickness 6 mm",
    ]


def test_points_at_the_start_of_a_window_and_run_together_with_their_values() -> None:
    assert lines("Right front rotor. 0.1, 1.481 inches. 0.2, 1.479.", " 0.3, 1.483.")[2:] == [
        "brake_rotor right front point 3 | thickness 1.483 in"
    ]
    assert lines("On the right front rotor, thickness at 0.1 is 37.6 mm, at 0.237.4.") == [
        "brake_rotor right front point 1 | thickness 37.6 mm",
        "brake_rotor right front point 2 | thickness 37.4 mm",
    ]
