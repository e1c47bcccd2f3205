"""Steering wheel lash: 49 CFR 393.209(b), Appendix A to Part 396, 49 CFR 570.7(a) and 570.60."""

from fractions import Fraction

import pytest

from models.limits import load_limits
from pipelines.judging.checks import rim_arc

COMMERCIAL = {"commercial": True, "gross_weight_lb": 33_000}
LIGHT = {"commercial": False, "gross_weight_lb": 9_900}
HEAVY = {"commercial": False, "gross_weight_lb": 14_000}

# 393.209(b), inches: wheel, manual, power
TABLE = [
    (16, "2", "4.25"),
    (18, "2.25", "4.75"),
    (19, "2.375", "5"),
    (20, "2.5", "5.25"),
    (21, "2.625", "5.5"),
    (22, "2.75", "5.75"),
]
ROWS = [(wheel, kind, row[n]) for wheel, *row in TABLE for n, kind in enumerate(("manual", "power"))]


@pytest.fixture
def lash(finding, verdicts):
    limits = load_limits()

    def judge(value, **truck):
        return verdicts([finding("steering_wheel", "free_play", str(value), "[in_i]")], limits, **truck)[0]

    return judge


@pytest.mark.parametrize(("wheel", "steering", "limit"), ROWS)
def test_the_table_of_393_209_at_the_limit_below_and_above(lash, wheel, steering, limit):
    truck = {**COMMERCIAL, "steering": steering, "steering_wheel_in": wheel}
    step = Fraction(1, 1000)
    at = lash(limit, **truck)
    assert at.word == "near limit"
    assert at.limit.source.startswith("49 CFR 393.209(b)") or wheel == 16
    assert lash(float(Fraction(limit) - step), **truck).word == "near limit"
    assert lash(float(Fraction(limit) + step), **truck).word == "beyond limit"
    assert lash(float(Fraction(limit) / 2), **truck).word == "within limit"


@pytest.mark.parametrize("wheel", [14, 15, 15.5, 16])
def test_a_smaller_wheel_uses_the_row_of_16_in_and_not_the_angle(lash, wheel):
    truck = {**COMMERCIAL, "steering": "manual", "steering_wheel_in": wheel}
    assert lash("2", **truck).word == "near limit"
    assert lash("2.01", **truck).word == "beyond limit"


@pytest.mark.parametrize(
    ("wheel", "steering", "allowed", "too_much"),
    # 393.209(b)(2): 14 or 30 degrees; arc = pi x 17 x angle / 360 = 2.0769 and 4.4506 in
    [(17, "manual", "2.076", "2.077"), (17, "power", "4.450", "4.451"), (23, "power", "6.021", "6.022")],
)
def test_a_diameter_not_listed_is_judged_by_its_angle(lash, wheel, steering, allowed, too_much):
    truck = {**COMMERCIAL, "steering": steering, "steering_wheel_in": wheel}
    verdict = lash(allowed, **truck)
    assert verdict.word == "near limit"
    assert verdict.limit.id == f"393-209-{steering}-angle"
    assert verdict.bounds_unit == "[in_i]"
    assert abs(float(verdict.bounds[1]) - float(allowed)) < 0.001
    assert lash(too_much, **truck).word == "beyond limit"


@pytest.mark.parametrize(("wheel", "row"), [(18, "4.75"), (20, "5.25"), (22, "5.75")])
def test_the_table_is_the_angle_rule_rounded(wheel, row):
    less, more = (rim_arc(Fraction(angle), Fraction(wheel)).value for angle in ("29.5", "30.5"))
    assert less < Fraction(row) < more


def test_ten_degrees_on_a_20_in_wheel_is_no_limit_here(lash):
    # the driver's-manual figure of 10 degrees (1.745 in) must not be used: 2 in is allowed
    assert round(float(rim_arc(Fraction(10), Fraction(20)).value), 3) == 1.745
    assert lash("2", **COMMERCIAL, steering="power", steering_wheel_in=20).word == "within limit"


def test_16_in_power_steering_two_published_numbers_are_both_shown(lash):
    # 393.209(b) gives 4 1/4 in, the periodic inspection table is quoted with 4 1/2 in
    verdict = lash("4.375", **COMMERCIAL, steering="power", steering_wheel_in=16)
    assert verdict.word == "beyond limit"
    assert verdict.limit.source.startswith("49 CFR 393.209(b)")
    assert [(o.id, o.result) for o in verdict.others] == [("396-a-lash-power-16", "near limit")]
    assert "By Appendix A to 49 CFR Part 396, steering wheel free play it is near limit" in verdict.sentence
    assert (
        lash("4.51", **COMMERCIAL, steering="power", steering_wheel_in=16).others[0].result == "beyond limit"
    )


@pytest.mark.parametrize("truck", [LIGHT, HEAVY])
@pytest.mark.parametrize(("wheel", "limit"), [(16, "2"), (18, "2.25"), (20, "2.5"), (22, "2.75")])
def test_570_has_one_table_for_manual_and_power(lash, truck, wheel, limit):
    # 570.7(a) table 1 and 570.60 table 2
    for steering in (None, "manual", "power"):
        fitted = {**truck, "steering": steering, "steering_wheel_in": wheel}
        at = lash(limit, **fitted)
        assert at.word == "near limit"
        assert "lash with the engine running" in at.sentence  # both paragraphs ask for it
        assert lash(float(limit) + 0.001, **fitted).word == "beyond limit"


@pytest.mark.parametrize("wheel", [17, 19, 21, 23])
def test_570_gives_no_number_between_its_rows(lash, wheel):
    verdict = lash("1", **LIGHT, steering_wheel_in=wheel)
    assert verdict.word == "not judged"
    assert "gives no number for this diameter" in verdict.sentence


def test_without_the_diameter_the_missing_fact_is_named(lash):
    verdict = lash("3", **COMMERCIAL, steering="manual")
    assert verdict.word == "not judged"
    assert (
        "how wide the steering wheel is (set steering_wheel_in under truck: in settings.yaml)"
        in verdict.sentence
    )
