"""Makers' published numbers, each one step below, at, and one step above; fixtures here, not shipped.

Service manuals and handbooks by year and part. Where the printed metric and inch figures disagree, the unit
of the limit governs, and the test says which one that is.
"""

from decimal import Decimal

import pytest

IN, MM = "[in_i]", "mm"
WITHIN, BEYOND = "within limit", "beyond limit"


@pytest.fixture
def held_against(finding, limits, verdicts):
    """The words for some values held against one limit."""

    def give(part, measure, bound, unit, values, **place):
        entry = f'- {{id: a, component: {part}, measure: {measure}, subject: s, {bound}, unit: "{unit}"}}'
        on_file = limits(entry)
        return [verdicts([finding(part, measure, v, u, **place)], on_file)[0].word for v, u in values]

    return give


@pytest.mark.parametrize(
    ("part", "measure", "bound", "unit", "good", "bad"),
    [
        # 2006 pickup, discard: "at or below" is replaced
        ("brake_rotor", "thickness", "more than: 27.50", MM, "27.51", "27.50"),
        ("brake_rotor", "thickness", "more than: 36.50", MM, "36.51", "36.50"),
        ("brake_rotor", "thickness", "more than: 28.50", MM, "28.51", "28.50"),
        ("brake_rotor", "thickness", "more than: 18.50", MM, "18.51", "18.50"),
        # thickness variation: 1999 car 0.0005 in; 2008 pickup's rear 0.0004 in; most 0.001 in
        ("brake_rotor", "thickness_variation", "at most: 0.0005", IN, "0.0005", "0.0006"),
        ("brake_rotor", "thickness_variation", "at most: 0.0004", IN, "0.0004", "0.0005"),
        ("brake_rotor", "thickness_variation", "at most: 0.001", IN, "0.0010", "0.0011"),
        # lateral runout: 2005 car 0.03 mm, 2009 car 0.002 in, 1999 utility vehicle 0.1 mm
        ("brake_rotor", "runout", "at most: 0.03", MM, "0.03", "0.031"),
        ("brake_rotor", "runout", "at most: 0.002", IN, "0.002", "0.0021"),
        ("brake_rotor", "runout", "at most: 0.1", MM, "0.10", "0.11"),
        # unitized hub: 0.009 in and more is replaced; 1998 car 0.05 mm at most
        ("hub_bearing", "end_play", "less than: 0.009", IN, "0.0089", "0.009"),
        ("hub_bearing", "end_play", "at most: 0.05", MM, "0.05", "0.051"),
        # ball joints and king pins
        ("ball_joint", "axial_play", "at most: 2", MM, "2.00", "2.01"),
        ("ball_joint", "axial_play", "at most: 0.125", IN, "0.125", "0.126"),
        ("ball_joint", "axial_play", "less than: 0.75", MM, "0.74", "0.75"),
        ("ball_joint", "axial_play", "at most: 0.4", MM, "0.4", "0.41"),
        ("ball_joint", "axial_play", "at most: 0.5", MM, "0.5", "0.51"),
        ("ball_joint", "axial_play", "at most: 0.012", IN, "0.012", "0.0121"),
        ("ball_joint", "axial_play", "at most: 0", MM, "0", "0.01"),
        ("king_pin", "play", "at most: 0.020", IN, "0.020", "0.0201"),
    ],
)
def test_a_number_at_its_last_allowed_value_and_one_step_beyond(
    held_against, part, measure, bound, unit, good, bad
):
    assert held_against(part, measure, bound, unit, [(good, unit), (bad, unit)]) == [WITHIN, BEYOND]


@pytest.mark.parametrize(
    ("metric", "inch", "between"),
    # printed as a pair; the reading lies between what the two figures say
    [
        ("28.0", "1.10", "1.101"),
        ("27.50", "1.082", "1.0823"),
        ("28.50", "1.122", "1.12203"),
        ("36.50", "1.437", "36.4999"),
    ],
)
def test_a_printed_pair_that_disagrees_is_judged_by_the_unit_that_governs(
    held_against, metric, inch, between
):
    code = MM if between == "36.4999" else IN
    by_metric = held_against("brake_rotor", "thickness", f"at least: {metric}", MM, [(between, code)])
    by_inch = held_against("brake_rotor", "thickness", f"at least: {inch}", IN, [(between, code)])
    apart = Decimal(metric) / Decimal("25.4") - Decimal(inch)
    assert apart != 0 and {*by_metric, *by_inch} == {WITHIN, BEYOND}
    assert (by_metric == [BEYOND]) == (apart > 0), "the larger figure is the stricter one"


def test_37_mm_is_printed_as_an_inch_figure_that_is_stricter(held_against):
    # 37.0 mm is 1.4567 in, printed 1.46: 37.05 mm passes the metric figure and fails the printed inches
    value = [("37.05", MM)]
    assert held_against("brake_rotor", "thickness", "at least: 37.0", MM, value) == [WITHIN]
    assert held_against("brake_rotor", "thickness", "at least: 1.46", IN, value) == [BEYOND]


@pytest.mark.parametrize(
    ("metric", "inch", "value"),
    # printed errors: runout 0.16 mm "(0.004 in)", which is 0.0063 in; taper 0.015 mm "(0.006 in)", 0.0006 in
    [("0.16", "0.004", "0.005"), ("0.015", "0.006", "0.001")],
)
def test_a_printed_pair_that_is_plainly_wrong_gives_two_verdicts(held_against, metric, inch, value):
    by_metric = held_against("brake_rotor", "runout", f"at most: {metric}", MM, [(value, IN)])
    by_inch = held_against("brake_rotor", "runout", f"at most: {inch}", IN, [(value, IN)])
    assert by_metric != by_inch


@pytest.mark.parametrize(
    ("rule", "other", "word"),
    [
        # two army manuals: more than 1/4 in is out of square; a 1942 to 1947 shop manual: within 5/16 in
        ("1/4", "142.50", WITHIN),
        ("1/4", "142.5001", BEYOND),
        ("5/16", "142.5625", WITHIN),
        ("5/16", "142.5626", BEYOND),
    ],
)
def test_frame_diagonals_at_the_numbers_of_three_manuals(finding, limits, verdicts, rule, other, word):
    on_file = limits(
        "- {id: x, component: frame, measure: diagonal, of: diagonal_difference, subject: X,"
        f' at most: {rule}, unit: "{IN}"}}'
    )
    both = [finding("frame", "diagonal", v, IN, index=n) for n, v in ((1, "142.25"), (2, other))]
    assert [v.word for v in verdicts(both, on_file)] == [word] * 2


def test_the_total_of_two_readings_one_step_below_at_and_above(finding, limits, verdicts):
    # a parts maker's bulletin: total of two readings more than 0.060 in is replaced; 0.035 + 0.030 = 0.065
    on_file = limits(
        "- {id: t, component: ball_joint, measure: play, of: sum_of_two, subject: total,"
        f' at most: 0.060, unit: "{IN}"}}'
    )

    def word(one, other):
        place = {"side": "left", "level": "upper"}
        joint = [finding("ball_joint", "axial_play", v, u, **place) for v, u in (one, other)]
        return verdicts(joint, on_file)[0].word

    assert word(("0.030", IN), ("0.0299", IN)) == WITHIN
    assert word(("0.030", IN), ("0.030", IN)) == WITHIN
    assert word(("0.030", IN), ("0.0301", IN)) == BEYOND
    assert word(("0.035", IN), ("0.030", IN)) == BEYOND
    assert word(("0.762", MM), ("0.030", IN)) == WITHIN, "0.762 mm is 0.030 in exactly"


@pytest.mark.parametrize(("wheel", "arc"), [(18, "4.712"), (20, "5.236"), (22, "5.760")])
def test_arcs_of_thirty_degrees(finding, limits, verdicts, wheel, arc):
    # 393.209(b)(2): pi x diameter x 30 / 360
    on_file = limits(
        "- {id: a, component: steering_wheel, measure: free_play, subject: s, rim_angle: true, at most: 30,"
        " unit: deg}"
    )
    reading = finding("steering_wheel", "free_play", "1", IN)
    (verdict,) = verdicts([reading], on_file, steering_wheel_in=wheel)
    assert abs(verdict.bounds[1] - Decimal(arc)) < Decimal("0.0005")
