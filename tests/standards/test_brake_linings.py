"""Brake linings and pads: 49 CFR 393.47(d), Appendix A to Part 396 1.a(6), 570.5 and 570.59(c)."""

import pytest

from models.limits import load_limits

COMMERCIAL = {"commercial": True}


@pytest.fixture
def thickness(finding, verdicts):
    limits = load_limits()

    def judge(component, value, axle, unit="[in_i]", **truck):
        return verdicts([finding(component, "thickness", value, unit, axle=axle)], limits, **truck)[0]

    return judge


def test_exactly_one_sixteenth_fails_on_a_steering_axle_and_passes_on_another(thickness):
    # 393.47(d): "1/16 in or less" on a steering axle, "less than 1/16 in" elsewhere
    truck = {**COMMERCIAL, "brakes": "hydraulic"}
    assert thickness("brake_pad", "0.0625", "front", **truck).word == "beyond limit"
    assert thickness("brake_pad", "0.0626", "front", **truck).word == "near limit"
    assert thickness("brake_pad", "0.0625", "rear", **truck).word == "near limit"
    assert thickness("brake_pad", "0.0624", "rear", **truck).word == "beyond limit"


def test_the_same_boundary_in_millimeters(thickness):
    # 1/16 in is 1.5875 mm exactly; the printed 1.6 mm is rounded and does not govern
    truck = {**COMMERCIAL, "brakes": "hydraulic"}
    assert thickness("brake_pad", "1.5875", "front", unit="mm", **truck).word == "beyond limit"
    assert thickness("brake_pad", "1.59", "front", unit="mm", **truck).word == "near limit"
    assert thickness("brake_pad", "1.5875", "rear", unit="mm", **truck).word == "near limit"


@pytest.mark.parametrize(
    ("component", "axle", "lining", "at", "below"),
    [
        ("brake_shoe", "front", "pads", "0.25", "0.249"),
        ("brake_pad", "front", None, "0.125", "0.124"),
        ("brake_shoe", "rear", None, "0.25", "0.249"),
        ("brake_pad", "rear", None, "0.125", "0.124"),
    ],
)
def test_air_brakes(thickness, component, axle, lining, at, below):
    truck = {**COMMERCIAL, "brakes": "air", "shoe_lining": lining}
    assert thickness(component, at, axle, **truck).word == "near limit"
    assert thickness(component, below, axle, **truck).word == "beyond limit"


def test_strip_lining_on_a_steering_axle_two_published_numbers(thickness):
    # 393.47(d) allows 3/16 in, Appendix A asks for 1/4 in: the stricter stands in front, the other is shown
    verdict = thickness("brake_shoe", "0.2", "front", **COMMERCIAL, brakes="air", shoe_lining="strip")
    assert verdict.word == "beyond limit"
    assert verdict.limit.id == "396-a-steering-drum"
    assert {o.id: o.result for o in verdict.others} == {"393-47-steering-air-strip": "near limit"}
    assert "By 49 CFR 393.47(d) it is near limit (at least 3/16 in)" in verdict.sentence


def test_hydraulic_drum_on_another_axle_two_published_numbers(thickness):
    # Appendix A says "or less" where 393.47(d) says "less than"
    verdict = thickness("brake_shoe", "0.0625", "rear", **COMMERCIAL, brakes="hydraulic")
    assert (verdict.word, verdict.limit.id) == ("beyond limit", "396-a-other-hydraulic-drum")
    assert {o.id: o.result for o in verdict.others} == {"393-47-other-hydraulic-brake-shoe": "near limit"}


def test_the_same_bonded_pad_passes_light_and_fails_heavy(thickness):
    # 3/64 in: 570.5 asks for 1/32 in, 570.59(c) for 1/16 in over the shoe of a bonded lining
    bonded = {"commercial": False, "lining_held_by": "bonding"}
    assert (
        thickness("brake_pad", "0.046875", "front", **bonded, gross_weight_lb=10_000).word == "within limit"
    )
    heavy = thickness("brake_pad", "0.046875", "front", **bonded, gross_weight_lb=10_001)
    assert heavy.word == "beyond limit"
    assert heavy.limit.source.startswith("49 CFR 570.59(c)")


def test_over_rivets_one_thirty_second_holds_light_and_heavy(thickness):
    riveted = {"commercial": False, "lining_held_by": "rivets"}
    for weight in (None, 9_000, 20_000):
        assert (
            thickness("brake_shoe", "0.03125", "rear", **riveted, gross_weight_lb=weight).word == "near limit"
        )
        assert (
            thickness("brake_shoe", "0.0312", "rear", **riveted, gross_weight_lb=weight).word
            == "beyond limit"
        )


def test_without_the_weight_a_pad_between_the_two_limits_is_not_judged(thickness):
    verdict = thickness("brake_pad", "0.046875", "front", commercial=False, lining_held_by="bonding")
    assert verdict.word == "not judged"
    assert "what gross weight the truck is rated for" in verdict.sentence
