"""The same finding said in other ways: what comes first, what only locates, what only is told of a limit."""

import pytest

from tests.pipelines.notes.saying import line, notes


@pytest.mark.parametrize(
    ("said", "lines"),
    [
        ("Replace the right rear brake hose.", ["brake_hose right rear | replace"]),
        (
            "Left front rotor is worn. Replace the right rear brake hose.",
            ["brake_rotor left front | worn", "brake_hose right rear | replace"],
        ),
        ("Evaporator is clogged. We need to clean the evaporator.", ["evaporator | clogged | clean"]),
    ],
)
def test_what_is_to_be_done_may_come_before_its_part(said: str, lines: list[str]) -> None:
    assert [line(f) for f in notes(said).findings] == lines


def test_both_sides_holds_to_the_end_of_the_sentence() -> None:
    found = notes("Rear tires, eight thirty seconds both sides, and I aired them to ninety five.").findings
    assert [line(f) for f in found] == [
        "tire left rear | tread_depth 0.25 in",
        "tire right rear | tread_depth 0.25 in",
        "tire left rear | pressure 95 psi",
        "tire right rear | pressure 95 psi",
    ]


def test_the_same_of_one_measure_is_that_measure_alone() -> None:
    found = notes(
        "Left front tire, nine thirty seconds, a hundred psi. Right front, ninety eight, same tread."
    ).findings
    assert [line(f) for f in found] == [
        "tire left front | tread_depth 0.28125 in",
        "tire left front | pressure 100 psi",
        "tire right front | pressure 98 psi",
        "tire right front | tread_depth 0.28125 in",
    ]


def test_a_corner_may_close_the_sentence_of_its_part() -> None:
    (finding,) = notes("Lug nuts torqued to four hundred fifty foot pounds, left rear.").findings
    assert line(finding) == "wheel_fastener left rear | torque 450 lbf·ft"
    assert finding.attention == ()


def test_a_corner_that_closes_a_sentence_against_the_one_before_is_asked() -> None:
    found = notes(
        "Right rear tire, ninety psi. Lug nuts, four hundred fifty foot pounds, left rear."
    ).findings
    assert line(found[-1]) == "wheel_fastener left rear | torque 450 lbf·ft"
    assert any("right rear" in sentence for sentence in found[-1].attention)


@pytest.mark.parametrize(
    ("said", "lines"),
    [
        (
            "Runout on the right front rotor, four thousandths. Left, two.",
            ["brake_rotor right front | runout 0.004 in", "brake_rotor left front | runout 0.002 in"],
        ),
        (
            "Lining thickness on the left rear is nineteen millimeters and the right is seventeen.",
            ["brake_shoe left rear | thickness 19 mm", "brake_shoe right rear | thickness 17 mm"],
        ),
    ],
)
def test_a_measure_may_come_before_its_part(said: str, lines: list[str]) -> None:
    assert [line(f) for f in notes(said).findings] == lines


@pytest.mark.parametrize(
    ("said", "found"),
    [
        (
            "U-joint at the rear of the driveshaft has play, about twenty thou.",
            "u_joint rear | play 0.020 in",
        ),
        (
            "Drum on the left rear wheel, sixteen point five five.",
            "brake_drum left rear | inside_diameter 16.55 in",
        ),
        ("Pads on the left front caliper are at six millimeters.", "brake_pad left front | thickness 6 mm"),
        ("Brake hose on the right front caliper is cracked.", "brake_hose right front | cracked"),
    ],
)
def test_a_second_part_may_only_say_where_the_first_is(said: str, found: str) -> None:
    assert [line(f) for f in notes(said).findings] == [found]


@pytest.mark.parametrize(
    ("said", "lines"),
    [
        (
            "Left rear brake drum, fifteen point oh six eight. Other side, fifteen point oh eight three.",
            [
                "brake_drum left rear | inside_diameter 15.068 in",
                "brake_drum right rear | inside_diameter 15.083 in",
            ],
        ),
        (
            "Left front tire, eight thirty seconds. Both front tires have sixty five pounds in them.",
            [
                "tire left front | tread_depth 0.25 in",
                "tire left front | pressure 65 psi",
                "tire right front | pressure 65 psi",
            ],
        ),
        ("Back brakes. Left rotor, one point oh nine eight.", ["brake_rotor left rear | thickness 1.098 in"]),
        (
            "Fifteen pounds pumped into the cooling system. The hose at the radiator is soft.",
            ["cooling_system | pressure 15 psi", "radiator | soft"],
        ),
        (
            "Seven thirty seconds of lining on the driver's side rear shoes.",
            ["brake_shoe left rear | thickness 0.21875 in"],
        ),
        (
            "Rear U joint has three thousandths in it. No play in the carrier bearing.",
            ["u_joint rear | play 0.003 in", "carrier_bearing | play 0 in | ok"],
        ),
        (
            "Passenger rear shoes, five thirty seconds, and they're soaked with gear oil. Replace them.",
            ["brake_shoe right rear | thickness 0.15625 in | contaminated | replace"],
        ),
        ("Left rear wheel stud. One wheel stud broke off.", ["wheel_fastener left rear | broken"]),
        ("Tire, axle two right, hundred and five psi.", ["tire right axle 2 | pressure 105 psi"]),
        ("Tire's at eighty five pounds, left rear outer.", ["tire left rear | pressure 85 psi"]),
        (
            "Frame diagonals, two oh four and three eighths left front to right rear, two oh four and a half"
            " the other way.",
            [
                "frame left front to right rear | diagonal 204.375 in",
                "frame right front to left rear | diagonal 204.5 in",
            ],
        ),
        ("Power steering hose is seeping.", []),
    ],
)
def test_what_is_said_in_other_ways(said: str, lines: list[str]) -> None:
    assert [line(f) for f in notes(said).findings] == lines


@pytest.mark.parametrize("who", ["The driver looks happy", "Ask the passenger", "Customer says it squeals"])
def test_people_are_no_places_and_their_complaints_no_conditions(who: str) -> None:
    found = notes(f"Right front outer pad, six millimeters. {who}. Inner, seven millimeters.").findings
    assert [line(f) for f in found] == [
        "brake_pad right front outer | thickness 6 mm",
        "brake_pad right front inner | thickness 7 mm",
    ]


@pytest.mark.parametrize(
    "limit",
    [
        "The book allows fifty.",
        "I'd fail it below thirteen.",
        "They're scrap at twenty six.",
        "It wants ninety.",
    ],
)
def test_talk_of_a_limit_in_other_words_is_no_reading(limit: str) -> None:
    (finding,) = notes(f"Right front rotor, twenty seven point nine millimeters. {limit}").findings
    assert line(finding) == "brake_rotor right front | thickness 27.9 mm"


def test_both_is_not_kept_for_the_next_sentence() -> None:
    found = notes("Left rear shoes, soaked with both oil. Right front outer pad, six millimeters.").findings
    assert line(found[-1]) == "brake_pad right front outer | thickness 6 mm"
    assert not any(f.component == "brake_pad" for f in found[:-1])
