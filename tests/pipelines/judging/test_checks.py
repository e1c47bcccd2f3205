from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from models.limits import load_limits
from models.settings import TruckSettings
from models.units import convert
from pipelines.judging import checks, judge
from pipelines.judging.checks import Amount

LENGTHS = st.builds(
    Amount,
    st.fractions(min_value=0, max_value=100, max_denominator=10_000),
    st.sampled_from(["mm", "[in_i]", "[mil_i]"]),
)


def mm(*values):
    return [Amount(Fraction(v), "mm") for v in values]


def test_lowest_compares_across_units():
    points = [
        Amount(Fraction("29.81"), "mm"),
        Amount(Fraction("1.173"), "[in_i]"),
        Amount(Fraction("29.80"), "mm"),
    ]
    assert checks.lowest(points) == 1  # 1.173 in is 29.7942 mm


@given(st.lists(LENGTHS, min_size=1, max_size=6))
def test_nothing_is_lower_than_the_lowest_and_the_spread_is_from_there(points):
    low = points[checks.lowest(points)]
    values = [convert(p.value, p.unit, "mm") for p in points]
    spread = checks.spread(points)
    assert convert(low.value, low.unit, "mm") == min(values)
    assert convert(spread.value, spread.unit, "mm") == max(values) - min(values)


@given(LENGTHS, LENGTHS)
def test_difference_and_sum_do_not_depend_on_the_order(one, other):
    for check in (checks.difference, checks.sum_of_two):
        a, b = check(one, other), check(other, one)
        assert convert(a.value, a.unit, "mm") == convert(b.value, b.unit, "mm")


def test_pressure_lost_in_mixed_units_and_a_rise():
    bar, kpa = Amount(Fraction(1), "bar"), Amount(Fraction(90), "kPa")
    assert checks.pressure_lost(bar, kpa) == Amount(Fraction(10), "kPa")
    assert checks.pressure_lost(kpa, bar).value < 0


def test_a_split_is_a_difference_of_temperatures():
    split = checks.temperature_split(Amount(Fraction(212), "[degF]"), Amount(Fraction(95), "Cel"))
    assert split == Amount(Fraction(9), "[degF]")


@pytest.mark.parametrize(
    ("lost", "held", "allowed", "why"),
    [
        (1, 120, True, None),
        (3, 120, False, None),
        (1, 600, True, None),
        (3, 60, False, None),
        (1, 60, True, "less than the time"),
        (3, 600, False, "longer than the time"),
        (-1, 120, True, "rose"),
    ],
)
def test_what_a_loss_over_another_time_proves(lost, held, allowed, why):
    told = checks.loss_in_time(Fraction(lost), Fraction(held), Fraction(120), allowed=allowed)
    assert told is None if why is None else why in told


@pytest.mark.parametrize(
    ("depths", "words"),
    [
        ((7, 7, 7), "even"),
        ((7, 6, 7), "even"),
        ((7, 6, 5), "worn on the outside"),
        ((4, 6, 7), "worn on the inside"),
        ((4, 7, 4), "worn on both edges"),
        ((7, 4, 7), "worn in the middle"),
        ((7, 4, 5), "worn on the outside"),
    ],
)
def test_tread_wear(depths, words):
    assert checks.tread_wear(*(Amount(Fraction(d, 32), "[in_i]") for d in depths)) == words


def test_treads_left_and_right_of_one_axle_are_compared(finding, verdicts):
    def tread(side, value, spot=None):
        return finding("tire", "tread_depth", value, "[in_i]", side=side, axle="front", spot=spot)

    found = verdicts(
        [tread("left", "0.28125", "inside"), tread("left", "0.3125", "middle"), tread("right", "0.21875")],
        load_limits(),
    )
    words = "The lowest treads left and right differ by 2/32 in (9/32 in at inside, 7/32 in)"
    assert [words in v.sentence for v in found] == [True] * 3
    assert (
        "differ" not in verdicts([tread("left", "0.25"), tread("right", "0.25")], load_limits())[0].sentence
    )


def test_a_verdict_that_lacks_a_fact_is_no_reason_to_look_again(finding):
    pad = finding("brake_pad", "thickness", "1.0", "mm", side="left", axle="front", face="outer")
    (judged,) = judge([pad], load_limits(), TruckSettings())
    assert judged.verdict.word == "not judged"
    assert judged.attention == ()
