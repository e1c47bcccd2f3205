"""Every regulation number that is shipped, at its boundary, one step below and one above.

The rows are written from the published texts, not from the limits files; a shipped limit without a row fails.
Citations: 49 CFR 393.209(b), 393.47(d), 393.75(b) and (c), Appendix A to Part 396, 570.5, 570.7, 570.9,
570.10(b), 570.59(c), 570.60, 570.62(a); the out-of-service criteria for steering linkage.
"""

from decimal import Decimal
from fractions import Fraction

import pytest

# A pure number of inches; "passes" says what exactly the number means.
PASSES, FAILS = "passes", "fails"
LEAST, MOST = "least", "most"
CMV = {"commercial": True}
LIGHT = {"commercial": False, "gross_weight_lb": 10_000}
HEAVY = {"commercial": False, "gross_weight_lb": 10_001}
AIR, HYDRAULIC, ELECTRIC = {"brakes": "air"}, {"brakes": "hydraulic"}, {"brakes": "electric"}
STEP = Decimal("0.0001")


def _lash():
    """393.209(b): wheel, manual, power; 570.7(a) table 1 and 570.60 table 2: one number for both."""
    wheels = [
        (16, "2", "4.25"),
        (18, "2.25", "4.75"),
        (19, "2.375", "5"),
        (20, "2.5", "5.25"),
        (21, "2.625", "5.5"),
        (22, "2.75", "5.75"),
    ]
    for wheel, manual, power in wheels:
        for steering, number in (("manual", manual), ("power", power)):
            truck = CMV | {"steering": steering, "steering_wheel_in": wheel}
            yield f"393-209-{steering}-{wheel}", "steering_wheel", truck, None, number, MOST, PASSES
    # the periodic inspection table is quoted with 4 1/2 in for power steering and 2 in for manual
    for steering, number in (("manual", "2"), ("power", "4.5")):
        truck = CMV | {"steering": steering, "steering_wheel_in": 16}
        yield f"396-a-lash-{steering}-16", "steering_wheel", truck, None, number, MOST, PASSES
    for wheel, number in ((16, "2"), (18, "2.25"), (20, "2.5"), (22, "2.75")):
        for part, weight in (("7", LIGHT), ("60", HEAVY)):
            truck = weight | {"steering_wheel_in": wheel}
            yield f"570-{part}-lash-{wheel}", "steering_wheel", truck, None, number, MOST, PASSES


def _linings():
    """393.47(d) says "1/16 in or less" on a steering axle and "less than 1/16 in" on the others."""
    pad, shoe = "brake_pad", "brake_shoe"
    strip, pads = {"shoe_lining": "strip"}, {"shoe_lining": "pads"}
    yield "393-47-steering-air-strip", shoe, CMV | AIR | strip, "front", "0.1875", LEAST, PASSES
    yield "393-47-steering-air-pads", shoe, CMV | AIR | pads, "front", "0.25", LEAST, PASSES
    yield "393-47-steering-air-disc", pad, CMV | AIR, "front", "0.125", LEAST, PASSES
    yield "393-47-steering-hydraulic-brake-pad", pad, CMV | HYDRAULIC, "front", "0.0625", LEAST, FAILS
    yield "393-47-steering-hydraulic-brake-shoe", shoe, CMV | HYDRAULIC, "front", "0.0625", LEAST, FAILS
    yield "393-47-other-air-drum", shoe, CMV | AIR, "rear", "0.25", LEAST, PASSES
    yield "393-47-other-air-disc", pad, CMV | AIR, "rear", "0.125", LEAST, PASSES
    yield "393-47-other-hydraulic-brake-pad", pad, CMV | HYDRAULIC, "rear", "0.0625", LEAST, PASSES
    yield "393-47-other-hydraulic-brake-shoe", shoe, CMV | HYDRAULIC, "rear", "0.0625", LEAST, PASSES
    # Appendix A to Part 396: "less than 1/4 in", "less than 1/8 in", "1/16 in or less"
    yield "396-a-steering-drum", shoe, CMV | AIR | strip, "front", "0.25", LEAST, PASSES
    yield "396-a-steering-air-disc", pad, CMV | AIR, "front", "0.125", LEAST, PASSES
    yield "396-a-steering-hydraulic-disc", pad, CMV | HYDRAULIC, "front", "0.0625", LEAST, FAILS
    yield "396-a-other-air-drum", shoe, CMV | AIR, "rear", "0.25", LEAST, PASSES
    yield "396-a-other-hydraulic-drum", shoe, CMV | HYDRAULIC, "rear", "0.0625", LEAST, FAILS
    yield "396-a-other-air-disc", pad, CMV | AIR, "rear", "0.125", LEAST, PASSES
    # both texts name electric brakes beside hydraulic ones
    for axle, kind, exactly in (("front", "steering", FAILS), ("rear", "other", PASSES)):
        for part in (pad, shoe):
            name = f"393-47-{kind}-hydraulic-{part.replace('_', '-')}"
            yield name, part, CMV | ELECTRIC, axle, "0.0625", LEAST, exactly
    yield "396-a-steering-electric-drum", shoe, CMV | ELECTRIC, "front", "0.0625", LEAST, FAILS
    yield "396-a-steering-hydraulic-disc", pad, CMV | ELECTRIC, "front", "0.0625", LEAST, FAILS
    yield "396-a-other-hydraulic-drum", shoe, CMV | ELECTRIC, "rear", "0.0625", LEAST, FAILS
    for part in (pad, shoe):
        name = part.replace("_", "-")
        riveted, bonded = {"lining_held_by": "rivets"}, {"lining_held_by": "bonding"}
        yield f"570-5-friction-{name}", part, LIGHT | bonded, "front", "0.03125", LEAST, PASSES
        yield f"570-59-riveted-{name}", part, HEAVY | riveted, "front", "0.03125", LEAST, PASSES
        yield f"570-59-bonded-{name}", part, HEAVY | bonded, "front", "0.0625", LEAST, PASSES


def _wheels():
    """Tread "at least 4/32 in"; linkage "more than 1/4 in" fails; bead runout "not more than 1/8 in"."""
    yield "393-75-steering", "tire", CMV, "front", "0.125", LEAST, PASSES
    yield "393-75-other", "tire", CMV, "rear", "0.0625", LEAST, PASSES
    yield "570-62-front", "tire", HEAVY, "front", "0.125", LEAST, PASSES
    yield "570-62-other", "tire", HEAVY, "rear", "0.0625", LEAST, PASSES
    yield "570-9-tread", "tire", LIGHT, "front", "0.0625", LEAST, PASSES
    yield "570-7-linkage", "wheel", LIGHT, "front", "0.25", MOST, PASSES
    for rim, number in ((16, "0.25"), (18, "0.375"), (18.01, "0.5")):
        name = "over-18" if rim > 18 else rim
        yield f"570-60-linkage-{name}", "wheel", HEAVY | {"rim_in": rim}, "front", number, MOST, PASSES
    yield "570-10-bead-runout", "wheel runout", LIGHT, "front", "0.125", MOST, PASSES
    for part in ("tie_rod_end", "drag_link", "center_link", "pitman_arm", "idler_arm"):
        name = part.replace("_", "-")
        yield f"out-of-service-linkage-{name}", part, CMV, None, "0.125", MOST, PASSES


ROWS = [*_lash(), *_linings(), *_wheels()]
_MEASURES = {"steering_wheel": "free_play", "tire": "tread_depth", "brake_pad": "thickness"}
_MEASURES |= {"brake_shoe": "thickness", "wheel runout": "runout"}


@pytest.mark.parametrize(("name", "part", "truck", "axle", "number", "end", "exactly"), ROWS)
def test_at_the_number_one_step_below_and_one_above(
    finding, verdicts, result_of, shipped, name, part, truck, axle, number, end, exactly
):
    place = {} if axle is None else {"side": "left", "axle": axle}
    component, measure = part.split()[0], _MEASURES.get(part, "play")

    def word(value, unit="[in_i]"):
        reading = finding(component, measure, f"{value:f}", unit, **place)
        return result_of(verdicts([reading], shipped, **truck)[0], name)

    at, inward = Decimal(number), STEP if end == LEAST else -STEP
    allowed = ("within limit", "near limit")
    assert word(at + inward) in allowed
    assert word(at - inward) == "beyond limit"
    assert (word(at) in allowed) == (exactly == PASSES)
    # The same length in millimeters to the last digit; a thousandth of a millimeter decides.
    exact, thousandth = at * Decimal("25.4"), Decimal("0.001") if end == LEAST else Decimal("-0.001")
    assert word(exact, "mm") == word(at)
    assert word(exact + thousandth, "mm") in allowed
    assert word(exact - thousandth, "mm") == "beyond limit"


def test_every_regulation_number_that_is_shipped_has_its_row(shipped):
    """What has no number, an angle, or a number that the shop gives is tested where it belongs."""
    elsewhere = {"393-209-manual-angle", "393-209-power-angle"}
    numbers = {r.id for r in shipped.rules if r.kind == "regulation" and r.undefined is None}
    assert numbers - elsewhere == {row[0] for row in ROWS}


@pytest.mark.parametrize("part", ["frame", "frame_rail", "ball_joint", "king_pin", "hub_bearing"])
def test_no_regulation_gives_a_number_for_it(shipped, part):
    # 393.201 and 393.209(d) give none; Part 570 defers to the maker for bearings and ball joints
    assert not [r.id for r in shipped.rules if r.component == part and r.kind == "regulation"]


@pytest.mark.parametrize(("wheel", "steering", "angle"), [(17, "manual", 14), (17, "power", 30),
                                                         (23, "manual", 14), (23, "power", 30)])  # fmt: skip
def test_the_angle_of_a_wheel_not_listed_one_step_below_and_above(
    finding, verdicts, shipped, wheel, steering, angle
):
    # 393.209(b)(2): arc = pi x diameter x angle / 360; 17 in gives 2.0769 and 4.4506 in
    pi = Fraction(314159265358979, 10**14)
    arc = pi * wheel * angle / 360
    below = Decimal(int(arc * 10_000)) / 10_000
    words = [
        verdicts(
            [finding("steering_wheel", "free_play", str(value), "[in_i]")],
            shipped,
            commercial=True,
            steering=steering,
            steering_wheel_in=wheel,
        )[0].word
        for value in (below, below + STEP)
    ]
    assert words == ["near limit", "beyond limit"]


@pytest.mark.parametrize(
    ("value", "by_393_47", "by_appendix"),
    [
        ("0.1874", "beyond limit", "beyond limit"),
        ("0.1875", "near limit", "beyond limit"),
        ("0.2499", "within limit", "beyond limit"),
        ("0.25", "within limit", "near limit"),
    ],
)
def test_the_strip_lining_conflict_is_shown_with_both_results(
    finding, verdicts, result_of, shipped, value, by_393_47, by_appendix
):
    # 393.47(d): 3/16 in for one strip; Appendix A to Part 396: 1/4 in for any drum lining of a steering axle
    truck = CMV | AIR | {"shoe_lining": "strip"}
    reading = finding("brake_shoe", "thickness", value, "[in_i]", side="left", axle="front")
    (verdict,) = verdicts([reading], shipped, **truck)
    assert result_of(verdict, "393-47-steering-air-strip") == by_393_47
    assert result_of(verdict, "396-a-steering-drum") == by_appendix
    assert verdict.word == by_appendix, "the stricter stands in front"
    if by_393_47 != by_appendix:
        assert f"By 49 CFR 393.47(d) it is {by_393_47} (at least 3/16 in)" in verdict.sentence


@pytest.mark.parametrize(
    ("value", "by_393_209", "by_appendix"),
    [
        ("4.25", "near limit", "near limit"),
        ("4.2501", "beyond limit", "near limit"),
        ("4.5", "beyond limit", "near limit"),
        ("4.5001", "beyond limit", "beyond limit"),
    ],
)
def test_the_16_in_power_lash_conflict_is_shown_with_both_results(
    finding, verdicts, result_of, shipped, value, by_393_209, by_appendix
):
    truck = CMV | {"steering": "power", "steering_wheel_in": 16}
    (verdict,) = verdicts([finding("steering_wheel", "free_play", value, "[in_i]")], shipped, **truck)
    assert result_of(verdict, "393-209-power-16") == verdict.word == by_393_209
    assert result_of(verdict, "396-a-lash-power-16") == by_appendix
    assert ("By Appendix A to 49 CFR Part 396" in verdict.sentence) == (by_393_209 != by_appendix)
