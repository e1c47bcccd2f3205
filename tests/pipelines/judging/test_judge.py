from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from models.limits import load_limits
from models.record import Finding
from models.settings import TruckSettings
from models.units import UNITS, convert, unit
from pipelines.judging import judge

PAD = "- {id: pad, component: brake_pad, measure: thickness, subject: pad, at least: 3.0}"


@pytest.mark.parametrize(
    ("value", "unit", "word"),
    [("3.0", "mm", "within limit"), ("2.99", "mm", "beyond limit"), ("0.118", "[in_i]", "beyond limit")],
)
def test_the_unit_of_the_limit_governs(finding, limits, verdicts, value, unit, word):
    (verdict,) = verdicts([finding("brake_pad", "thickness", value, unit)], limits(PAD))
    assert verdict.word == verdict.limit.result == word
    assert verdict.limit.id == "pad"
    assert verdict.bounds == (Decimal(3), None)
    assert verdict.bounds_unit == "mm"


def test_the_sentence_says_number_limit_authority_and_date(finding, limits, verdicts):
    (verdict,) = verdicts([finding("brake_pad", "thickness", "0.118", "[in_i]")], limits(PAD))
    assert verdict.sentence == (
        "0.118 in (2.9972 mm) is beyond the limit: pad: at least 3.0 mm"
        " [maker: a service manual (read at second hand); as of: 2006]."
    )


@pytest.mark.parametrize(
    ("near", "value", "word"),
    [
        ("10 %", "3.3", "near limit"),
        ("10 %", "3.31", "within limit"),
        ("10 %", "3.0", "near limit"),
        ("0.5", "3.5", "near limit"),
        ("0.5", "3.51", "within limit"),
        ("none", "3.0", "within limit"),
    ],
)
def test_near_the_limit(finding, limits, verdicts, near, value, word):
    on_file = limits(PAD, f"near: {near}")
    assert verdicts([finding("brake_pad", "thickness", value, "mm")], on_file)[0].word == word


def test_a_limit_with_two_ends(finding, limits, verdicts):
    on_file = limits(
        "- {id: a, component: hub_bearing, measure: end_play, subject: b, at least: 1, at most: 5}"
    )
    words = [
        verdicts([finding("hub_bearing", "end_play", v, "mm")], on_file)[0].word
        for v in ("0.9", "1", "5", "5.1")
    ]
    assert words == ["beyond limit", "within limit", "within limit", "beyond limit"]


def test_who_governs(finding, limits, verdicts):
    kinds = ["common practice", "regulation", "maker", "shop rule"]
    entries = [
        f"- {{id: r{n}, kind: {kind},component: brake_pad, measure: thickness,subject: p,at least: {5 - n}}}"
        for n, kind in enumerate(kinds)
    ]
    for n in range(1, 5):
        on_file = limits("\n".join(entries[:n]))
        (verdict,) = verdicts([finding("brake_pad", "thickness", "3.5", "mm")], on_file)
        assert verdict.limit.id == f"r{n - 1}"
        assert {other.id for other in verdict.others} == {f"r{i}" for i in range(n - 1)}
    assert verdict.word == "within limit"
    assert "By a service manual it is beyond limit (at least 4 mm)." in verdict.sentence


def test_among_equals_the_stricter_result_governs(finding, limits, verdicts):
    on_file = limits(PAD + "\n" + PAD.replace("id: pad", "id: aaa").replace("3.0", "2.0, source: another"))
    (verdict,) = verdicts([finding("brake_pad", "thickness", "2.5", "mm")], on_file)
    assert (verdict.word, verdict.limit.id, verdict.others[0].result) == (
        "beyond limit",
        "pad",
        "within limit",
    )


BY_STEERING = """
- {id: manual, component: steering_wheel, measure: free_play, subject: lash, at most: 50,
   when: {steering: manual}}
- {id: power, component: steering_wheel, measure: free_play, subject: lash, at most: 100,
   when: {steering: power}}
"""


def test_an_unknown_fact_that_decides_is_named_with_its_remedy(finding, limits, verdicts):
    (verdict,) = verdicts([finding("steering_wheel", "free_play", "80", "mm")], limits(BY_STEERING))
    assert verdict.word == "not judged"
    assert verdict.limit is None
    assert verdict.sentence == (
        "Not judged: it is not known whether the steering is power or manual"
        " (set steering under truck: in settings.yaml)."
    )
    assert {o.id: o.result for o in verdict.others} == {"manual": "beyond limit", "power": "within limit"}


def test_an_unknown_fact_that_does_not_decide_does_not_stop_the_verdict(finding, limits, verdicts):
    for value, word in (("20", "within limit"), ("120", "beyond limit")):
        (verdict,) = verdicts([finding("steering_wheel", "free_play", value, "mm")], limits(BY_STEERING))
        assert verdict.word == word
        assert "every limit that may hold says the same" in verdict.sentence
        assert len(verdict.others) == 1


def test_a_truck_to_which_no_limit_may_apply_is_not_judged_by_one(finding, limits, verdicts):
    on_file = limits(PAD.replace("}", ", when: {commercial: yes}}"))
    pad = finding("brake_pad", "thickness", "1", "mm")
    assert verdicts([pad], on_file)[0].word == "not judged"
    assert "set commercial" in verdicts([pad], on_file)[0].sentence
    assert (
        verdicts([pad], on_file, commercial=False)[0].sentence
        == "Not judged: there is no limit on file for it."
    )
    assert verdicts([pad], on_file, commercial=True)[0].word == "beyond limit"


def test_an_axle_nobody_said_is_asked_for(finding, limits, verdicts):
    on_file = limits(PAD.replace("}", ", when: {axle: steering}}"))
    assert (
        "which axle it is on" in verdicts([finding("brake_pad", "thickness", "1", "mm")], on_file)[0].sentence
    )
    pads = [
        finding("brake_pad", "thickness", "1", "mm", axle=a) for a in ("front", "axle_1", "rear", "axle_2")
    ]
    assert [v.word for v in verdicts(pads, on_file)] == ["beyond limit"] * 2 + ["not judged"] * 2


def test_play_without_a_direction_is_asked_about_only_where_the_direction_decides(finding, limits, verdicts):
    on_file = limits("- {id: a, component: ball_joint, measure: axial_play, subject: joint, at most: 1}")
    assert verdicts([finding("ball_joint", "axial_play", "2", "mm")], on_file)[0].word == "beyond limit"
    assert verdicts([finding("ball_joint", "radial_play", "2", "mm")], on_file)[0].word == "not judged"
    assert "in which direction" in verdicts([finding("ball_joint", "play", "2", "mm")], on_file)[0].sentence
    both = limits(
        "- {id: a, component: ball_joint, measure: axial_play, subject: joint, at most: 1}\n"
        "- {id: r, component: ball_joint, measure: radial_play, subject: joint, at most: 1}\n"
        "- {id: e, component: ball_joint, measure: end_play, subject: joint, at most: 1}\n"
    )
    assert verdicts([finding("ball_joint", "play", "2", "mm")], both)[0].word == "beyond limit"


def test_a_rule_without_a_number_says_so(finding, limits, verdicts):
    on_file = limits(
        "- {id: u, component: steering_wheel, measure: free_play, subject: lash, undefined: no number}"
    )
    (verdict,) = verdicts([finding("steering_wheel", "free_play", "80", "mm")], on_file)
    assert (verdict.word, verdict.sentence) == ("not judged", "Not judged: lash: no number.")


def test_what_cannot_be_judged_says_why(finding, limits, verdicts):
    on_file = limits(PAD)
    pad = finding("brake_pad", "thickness", "3", "mm")
    cases = [
        (pad.model_copy(update={"component": None}), "nobody said what was measured"),
        (finding("brake_pad", "thickness", "3", "[psi]"), "[psi] does not measure thickness"),
        (finding("brake_pad", "heaviness", "3", "mm"), "heaviness in mm is not something records know"),
        (finding("brake_shoe", "thickness", "3", "mm"), "there is no limit on file"),
    ]
    for case, why in cases:
        (verdict,) = verdicts([case], on_file)
        assert verdict.word == "not judged"
        assert why in verdict.sentence


def test_a_finding_without_a_reading_gets_no_verdict(limits):
    torn = Finding(id="x", component="tie_rod_end", conditions=("torn",), confidence=0.9)
    assert judge([torn], limits(PAD), TruckSettings()) == (torn,)


def test_a_shop_rule_on_pad_taper(finding, limits, verdicts):
    on_file = limits(
        "- {id: taper, component: brake_pad, measure: thickness, of: inner_outer_difference, subject: taper,"
        " at most: 2, kind: shop rule}\n" + PAD
    )
    pads = [
        finding("brake_pad", "thickness", value, "mm", side=side, axle="front", face=face)
        for side, face, value in (("left", "outer", "8"), ("left", "inner", "7"), ("right", "outer", "8"))
    ]
    uneven = finding("brake_pad", "thickness", "5.9", "mm", side="right", axle="front", face="inner")
    found = verdicts([*pads, uneven], on_file)
    assert [v.word for v in found] == ["within limit", "within limit", "beyond limit", "beyond limit"]
    assert "Inner and outer differ by 2.1 mm (8 mm, 5.9 mm)" in found[3].sentence
    assert found[3].limit.id == "taper"
    assert found[3].bounds is None, "a scale of the difference must not be drawn under the thickness"
    alone = verdicts(pads[2:], on_file)[0]
    assert alone.word == "not judged"
    assert "takes one reading of each" in alone.sentence


def test_left_and_right_are_compared_at_the_same_place_only(finding, limits, verdicts):
    on_file = limits(
        "- {id: lr, component: brake_shoe, measure: thickness, of: left_right_difference, subject: apart,"
        " at most: 1}"
    )
    left = finding("brake_shoe", "thickness", "5", "mm", side="left", axle="rear")
    right = finding("brake_shoe", "thickness", "3", "mm", side="right", axle="rear")
    front = finding("brake_shoe", "thickness", "3", "mm", side="right", axle="front")
    assert verdicts([left, right], on_file)[0].word == "beyond limit"
    assert verdicts([left, front], on_file)[0].word == "not judged"


def test_a_said_split_is_checked_against_the_two_temperatures(finding):
    temperatures = [
        finding("engine_oil", "temperature", "198", "[degF]"),
        finding("coolant", "temperature", "194", "[degF]"),
    ]
    truck = TruckSettings(engine="diesel")
    right = judge(
        [*temperatures, finding("oil_cooler", "temperature_split", "4", "[degF]")], load_limits(), truck
    )
    assert right[2].attention == ()
    assert right[2].verdict.word == "within limit"
    wrong = judge(
        [*temperatures, finding("oil_cooler", "temperature_split", "14", "[degF]")], load_limits(), truck
    )
    assert wrong[2].attention == (
        "Oil less coolant is 4 °F (198 °F, 194 °F), but a split of 14 °F was said.",
    )
    unsaid = judge(temperatures, load_limits(), truck)
    assert [f.verdict.word for f in unsaid] == ["within limit"] * 2
    assert "Oil less coolant is 4 °F" in unsaid[0].verdict.sentence


def test_frame_diagonals_need_each_other(finding, verdicts):
    one = finding("frame", "diagonal", "142.1875", "[in_i]", index=1)
    other = finding("frame", "diagonal", "142.5", "[in_i]", index=2)
    assert verdicts([one], load_limits())[0].word == "not judged"
    both = verdicts([one, other], load_limits())
    assert [v.word for v in both] == ["beyond limit"] * 2
    assert "The two diagonals differ by 5/16 in (142 3/16 in, 142.5 in)" in both[0].sentence


def as_decimal(value):
    """A fraction that some decimal equals, with twenty places."""
    digits = f"{abs(value) * 10**20}".rjust(21, "0")
    return f"{'-' if value < 0 else ''}{digits[:-20]}.{digits[-20:]}"


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(data=st.data())
def test_writing_a_reading_in_another_unit_never_changes_its_verdict(finding, data):
    limits = load_limits()
    rule = data.draw(st.sampled_from([r for r in limits.rules if not r.undefined]))
    units = [
        c
        for c, u in UNITS.items()
        if u.dimension == unit("[in_i]" if rule.rim_angle else rule.unit).dimension
    ]
    source, target = data.draw(st.sampled_from(units)), data.draw(st.sampled_from(units))
    edge = (rule.low or rule.high).value if not rule.rim_angle else Fraction(2)
    step = data.draw(st.sampled_from([0, 1, -1])) * Fraction(1, 10**9)
    difference = rule.measure == "temperature_split"
    home = "[in_i]" if rule.rim_angle else rule.unit
    value = convert(edge + step, home, source, difference=difference)
    there = convert(value, source, target, difference=difference)
    truck = TruckSettings(
        commercial=data.draw(st.sampled_from([True, False])),
        gross_weight_lb=data.draw(st.sampled_from([9000, 20000])),
        brakes=data.draw(st.sampled_from(["air", "hydraulic", None])),
        steering="power",
        steering_wheel_in=data.draw(st.sampled_from([15, 17, 18])),
        hub_bearings="adjustable",
        engine="diesel",
    )
    words = []
    for amount, code in ((value, source), (there, target)):
        assume((amount * 10**20).denominator == 1)  # else no decimal says this value, so nobody can have
        written = finding(rule.component, rule.measure, as_decimal(amount), code, axle="front")
        (judged,) = judge([written], limits, truck)
        words.append((judged.verdict.word, judged.verdict.limit))
    assert words[0] == words[1]
