"""Published trade and maker numbers as worked examples; makers' limits are fixtures here, not shipped."""

import pytest

from models.limits import load_limits

# 2006 service manual, heavy front rotor (option JH6): 37.0 mm after refinishing, discard at 36.50 mm
JH6 = """
- {id: jh6, component: brake_rotor, measure: thickness, subject: rotor, more than: 36.50, refinish: 37.0}
"""


@pytest.mark.parametrize(
    ("value", "word", "told"),
    [
        ("37.10", "within limit", "may be refinished"),
        ("37.00", "near limit", "not enough material left to be refinished"),
        ("36.80", "near limit", "not enough material left to be refinished"),
        ("36.51", "near limit", "not enough material left to be refinished"),
        ("36.50", "beyond limit", "beyond the limit"),
    ],
)
def test_a_rotor_between_refinishing_and_discard(finding, limits, verdicts, value, word, told):
    (verdict,) = verdicts([finding("brake_rotor", "thickness", value, "mm")], limits(JH6))
    assert verdict.word == word
    assert told in verdict.sentence


def test_what_a_cut_may_take_off_each_side(finding, limits, verdicts):
    # geometry: 38.1 mm to 37.0 mm is 1.1 mm, 0.55 mm a side; 1.500 in is 38.1 mm
    for value, unit in (("38.1", "mm"), ("1.500", "[in_i]")):
        (verdict,) = verdicts([finding("brake_rotor", "thickness", value, unit)], limits(JH6))
        assert "may be refinished by less than 0.55 mm off each side" in verdict.sentence


def test_the_lowest_of_several_points_decides_for_all(finding, limits, verdicts):
    # procedure: measure at four or more points, use the lowest
    values = ("37.20", "37.15", "36.80", "37.10")
    points = [
        finding("brake_rotor", "thickness", v, "mm", side="left", axle="front", spot=f"point_{n}")
        for n, v in enumerate(values, start=1)
    ]
    other_side = finding("brake_rotor", "thickness", "37.20", "mm", side="right", axle="front")
    found = verdicts([*points, other_side], limits(JH6))
    assert [v.word for v in found] == ["near limit"] * 4 + ["within limit"]
    assert "The lowest of 4 readings of this rotor, 36.8 mm at point 3, decides" in found[0].sentence


def test_thickness_variation_from_the_points(finding, limits, verdicts):
    # 1999 service manual: 0.015 mm (0.0006 in)
    on_file = limits(
        "- {id: dtv, component: brake_rotor, measure: thickness_variation, subject: spread, at most: 0.015}"
    )

    def points(*values):
        return [
            finding("brake_rotor", "thickness", v, "mm", side="left", axle="front", spot=f"point_{n}")
            for n, v in enumerate(values, start=1)
        ]

    assert [v.word for v in verdicts(points("29.810", "29.825"), on_file)] == ["within limit"] * 2
    assert [v.word for v in verdicts(points("29.810", "29.826", "29.820"), on_file)] == ["beyond limit"] * 3
    said = finding("brake_rotor", "thickness_variation", "0.0006", "[in_i]")  # 0.01524 mm
    assert verdicts([said], on_file)[0].word == "beyond limit"


def test_which_unit_governs_a_printed_pair(finding, limits, verdicts):
    # printed as 28.0 mm (1.10 in), though 28.0 mm is 1.1024 in
    reading = finding("brake_rotor", "thickness", "1.101", "[in_i]")
    metric = limits("- {id: a, component: brake_rotor, measure: thickness, subject: rotor, at least: 28.0}")
    inch = limits(
        '- {id: a, component: brake_rotor, measure: thickness, subject: disc, at least: 1.10, unit: "[in_i]"}'
    )
    (by_metric,), (by_inch,) = verdicts([reading], metric), verdicts([reading], inch)
    assert (by_metric.word, by_inch.word) == ("beyond limit", "within limit")
    assert "1.101 in (27.9654 mm) is beyond the limit" in by_metric.sentence


def test_a_drum_is_worse_when_wider(finding, limits, verdicts):
    # refinish no larger than discard less 0.030 in
    on_file = limits(
        "- {id: drum, component: brake_drum, measure: inside_diameter, subject: drum, at most: 11.090,"
        ' refinish: 11.060, unit: "[in_i]"}'
    )
    drums = [finding("brake_drum", "inside_diameter", v, "[in_i]") for v in ("11.050", "11.070", "11.091")]
    found = verdicts(drums, on_file)
    assert [v.word for v in found] == ["within limit", "near limit", "beyond limit"]
    assert (
        "Refinishing asks for less than 11.060 in: may be refinished by less than 0.005 in off the radius"
        in found[0].sentence
    )


def test_the_sum_of_two_readings(finding, limits, verdicts):
    # a parts maker's bulletin for a solid axle: total of two readings more than 0.060 in
    on_file = limits(
        "- {id: total, component: ball_joint, measure: play, of: sum_of_two, subject: total of two readings,"
        ' at most: 0.060, unit: "[in_i]"}'
    )

    def joint(*values):
        return [finding("ball_joint", "axial_play", v, "[in_i]", side="left", level="upper") for v in values]

    assert [v.word for v in verdicts(joint("0.035", "0.030"), on_file)] == ["beyond limit"] * 2
    assert [v.word for v in verdicts(joint("0.030", "0.030"), on_file)] == ["within limit"] * 2
    (alone,) = verdicts(joint("0.035"), on_file)
    assert alone.word == "not judged"
    assert "it takes two readings of this play, and there is 1" in alone.sentence
    (mixed, _) = verdicts(
        [*joint("0.035"), finding("ball_joint", "axial_play", "0.03", "[in_i]", side="right")], on_file
    )
    assert mixed.word == "not judged", "the other joint's reading is not the second one"


def test_more_than_against_at_or_above(finding, limits, verdicts):
    # one bulletin replaces above 1.52 mm, one 2004 service manual at or above 0.75 mm
    joint = "- {{id: a, component: ball_joint, measure: play, subject: joint, {end}: {value}}}"
    above = limits(joint.format(end="at most", value="1.52"))
    at_or_above = limits(joint.format(end="less than", value="0.75"))
    assert verdicts([finding("ball_joint", "axial_play", "1.52", "mm")], above)[0].word == "within limit"
    assert verdicts([finding("ball_joint", "axial_play", "1.53", "mm")], above)[0].word == "beyond limit"
    assert (
        verdicts([finding("ball_joint", "axial_play", "0.75", "mm")], at_or_above)[0].word == "beyond limit"
    )
    assert (
        verdicts([finding("ball_joint", "axial_play", "0.74", "mm")], at_or_above)[0].word == "within limit"
    )


@pytest.fixture
def held(finding):
    def make(start, end, minutes=None):
        found = [
            finding("cooling_system", "pressure_after_hold", end, "[psi]"),
            finding("cooling_system", "pressure", start, "[psi]"),
        ]
        return found if minutes is None else [*found, finding("cooling_system", "hold_time", minutes, "min")]

    return make


LOSS = (
    "- {{id: loss, component: cooling_system, measure: pressure_after_hold, of: pressure_lost, subject: loss,"
    ' at most: {most}, over: 2 min, unit: "[psi]"}}'
)


def test_fifteen_down_to_thirteen_and_a_half_in_two_minutes(held, limits, verdicts):
    # a 2000 car manual: a leak when it drops more than 2 psi in 2 min; other procedures allow no drop at all
    lenient, strict = limits(LOSS.format(most="2")), limits(LOSS.format(most="0"))
    verdict = verdicts(held("15", "13.5", "2"), lenient)[0]
    assert verdict.word == "within limit"
    assert "1.5 psi was lost in 2 min (15 psi to 13.5 psi)" in verdict.sentence
    assert verdicts(held("15", "13", "2"), lenient)[0].word == "within limit"
    assert verdicts(held("15", "12.9", "2"), lenient)[0].word == "beyond limit"
    assert verdicts(held("15", "13.5", "2"), strict)[0].word == "beyond limit"


def test_the_pressure_and_the_time_of_a_test_tell_what_they_belong_to(held, limits, verdicts):
    (_, start, minutes) = verdicts(held("15", "13.5", "2"), limits(LOSS.format(most="2")))
    for verdict in (start, minutes):
        assert verdict.word == "not judged"
        assert "In the pressure test 1.5 psi was lost in 2 min (15 psi to 13.5 psi)." in verdict.sentence


def test_a_loss_without_its_duration_is_not_judged(held, limits, verdicts):
    verdict = verdicts(held("15", "13.5"), limits(LOSS.format(most="2")))[0]
    assert verdict.word == "not judged"
    assert "how long the pressure was held is not known" in verdict.sentence


def test_another_duration_is_judged_only_where_it_proves_something(held, limits, verdicts):
    on_file = limits(LOSS.format(most="2"))
    assert verdicts(held("15", "13.5", "10"), on_file)[0].word == "within limit"
    assert verdicts(held("15", "12", "1"), on_file)[0].word == "beyond limit"
    longer = verdicts(held("15", "12", "10"), on_file)[0]
    assert longer.word == "not judged"
    assert "held for longer than the time of the rule" in longer.sentence
    assert "3 psi was lost in 10 min" in longer.sentence
    assert verdicts(held("15", "14", "1"), on_file)[0].word == "not judged"


def test_a_split_limit_in_celsius_is_a_difference(finding, limits, verdicts):
    # 15 degF of difference is 8.33 K: beyond a limit of 14 degF (7.78 K), and never minus 9.44
    split = finding("oil_cooler", "temperature_split", "15", "[degF]")
    metric = limits(
        "- {id: a, component: oil_cooler, measure: temperature_split, subject: s, unit: Cel, at most: 8}"
    )
    (verdict,) = verdicts([split], metric)
    assert verdict.word == "beyond limit"
    assert "15 °F (about 8.3333 °C)" in verdict.sentence
    shipped = load_limits()
    for value, word in (("4", "within limit"), ("14", "near limit"), ("14.1", "beyond limit")):
        reading = finding("oil_cooler", "temperature_split", value, "[degF]")
        assert verdicts([reading], shipped, engine="diesel")[0].word == word
    assert verdicts([split], shipped, engine="gasoline")[0].word == "not judged"


def test_end_play_means_another_thing_by_kind_of_hub(finding, verdicts):
    # TMC RP 618 restated: 0.001 to 0.005 in; common practice: any play of a sealed hub means replacement
    shipped = load_limits()

    def hub(value, kind):
        return verdicts([finding("hub_bearing", "end_play", value, "[in_i]")], shipped, hub_bearings=kind)[
            0
        ].word

    assert [hub(v, "adjustable") for v in ("0", "0.001", "0.003", "0.005", "0.006")] == [
        "beyond limit",
        "near limit",
        "within limit",
        "near limit",
        "beyond limit",
    ]
    assert [hub(v, "sealed") for v in ("0", "0.001")] == ["within limit", "beyond limit"]
    assert [hub(v, None) for v in ("0.003", "0.006")] == ["not judged", "beyond limit"]


def test_ball_joints_by_common_practice(finding, verdicts):
    # largest limit met 0.060 in; from 0.025 in a joint is changed where alignment moves with it
    shipped = load_limits()
    joints = [
        finding("ball_joint", "axial_play", v, "[in_i]", side="left", level="upper")
        for v in ("0.024", "0.025", "0.060", "0.061")
    ]
    found = [verdicts([joint], shipped)[0] for joint in joints]
    assert [v.word for v in found] == ["within limit", "near limit", "near limit", "beyond limit"]
    assert {v.limit.kind for v in found} == {"common practice"}
    assert {v.limit.source for v in found} == {"common practice of the trade, no published source"}


def test_frame_diagonals(finding, verdicts):
    # US Army TM 9-2320-280-34 and TM 9-2320-260-34-2: out of square by more than 1/4 in
    def frame(one, other):
        readings = [finding("frame", "diagonal", v, "[in_i]", index=n) for n, v in ((1, one), (2, other))]
        return [v.word for v in verdicts(readings, load_limits())]

    assert frame("142.1875", "142.3125") == ["within limit"] * 2
    assert frame("142.25", "142.5") == ["near limit"] * 2
    assert frame("142.25", "142.5001") == ["beyond limit"] * 2
