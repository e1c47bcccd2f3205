"""Tread, linkage play, bead runout: 49 CFR 393.75, 570.7(b), 570.10(b), 570.60 table 3, 570.62(a)."""

import pytest

from models.limits import load_limits


@pytest.fixture
def judged(finding, verdicts):
    limits = load_limits()

    def judge(component, measure, value, unit="[in_i]", axle="front", **truck):
        return verdicts([finding(component, measure, value, unit, side="left", axle=axle)], limits, **truck)[
            0
        ]

    return judge


@pytest.mark.parametrize("truck", [{"commercial": True}, {"commercial": False, "gross_weight_lb": 26_000}])
def test_tread_at_and_below_four_and_two_thirty_seconds(judged, truck):
    # 393.75(b), (c) and 570.62(a): 4/32 in front, 2/32 in elsewhere; exactly 4/32 passes
    assert judged("tire", "tread_depth", "0.125", **truck).word == "near limit"
    assert judged("tire", "tread_depth", "0.124", **truck).word == "beyond limit"
    assert judged("tire", "tread_depth", "0.0625", axle="rear", **truck).word == "near limit"
    assert judged("tire", "tread_depth", "0.0624", axle="rear", **truck).word == "beyond limit"
    assert judged("tire", "tread_depth", "3.175", "mm", **truck).word == "near limit"


def test_a_light_truck_needs_two_thirty_seconds_on_every_tire(judged):
    # a state's copy of 570.9
    light = {"commercial": False, "gross_weight_lb": 9_000}
    assert judged("tire", "tread_depth", "0.0625", **light).word == "near limit"
    assert judged("tire", "tread_depth", "0.0624", **light).word == "beyond limit"


@pytest.mark.parametrize(
    ("rim", "limit", "above"),
    # 570.60 table 3: 16 in or less 1/4; 16.01 to 18.00 3/8; 18.01 and more 1/2
    [
        (15, "0.25", "0.251"),
        (16, "0.25", "0.251"),
        (16.01, "0.375", "0.376"),
        (16.5, "0.375", "0.376"),
        (18, "0.375", "0.376"),
        (18.01, "0.5", "0.501"),
        (22.5, "0.5", "0.501"),
    ],
)
def test_linkage_play_by_rim_on_a_heavy_truck(judged, rim, limit, above):
    heavy = {"commercial": False, "gross_weight_lb": 14_500, "rim_in": rim}
    assert judged("wheel", "play", limit, **heavy).word == "near limit"
    assert judged("wheel", "play", above, **heavy).word == "beyond limit"


def test_linkage_play_on_a_light_truck(judged):
    # 570.7(b): more than 1/4 in fails, whatever the rim
    light = {"commercial": False, "gross_weight_lb": 10_000}
    assert judged("wheel", "play", "6.35", "mm", **light).word == "near limit"
    assert judged("wheel", "play", "6.36", "mm", **light).word == "beyond limit"


def test_bead_runout_has_a_number_for_light_trucks_only(judged):
    # 570.10(b): 1/8 in total indicator reading; 570.63 gives none
    assert judged("wheel", "runout", "0.125", commercial=False, gross_weight_lb=9_000).word == "near limit"
    assert judged("wheel", "runout", "0.126", commercial=False, gross_weight_lb=9_000).word == "beyond limit"
    assert judged("wheel", "runout", "0.5", commercial=False, gross_weight_lb=20_000).word == "not judged"


@pytest.mark.parametrize("component", ["tie_rod_end", "drag_link", "pitman_arm", "idler_arm", "center_link"])
def test_linkage_out_of_service(judged, component):
    # out-of-service criteria: more than 1/8 in of movement by hand
    assert judged(component, "play", "0.125", commercial=True).word == "near limit"
    assert judged(component, "play", "0.126", commercial=True).word == "beyond limit"


@pytest.mark.parametrize(("weight", "rule"), [(9_000, "570.7(d)"), (14_000, "570.60(d)")])
@pytest.mark.parametrize("listed", [0.10, -0.10])
def test_toe_is_one_and_a_half_times_what_the_maker_lists(finding, verdicts, weight, rule, listed):
    # 49 CFR 570.7(d) and 570.60(d): toe-in or toe-out not greater than 1.5 times the listed value
    def word(value, **more):
        toe = finding("wheel", "toe", value, "deg", side="left", axle="front")
        truck = {"commercial": False, "gross_weight_lb": weight, **more}
        (verdict,) = verdicts([toe], load_limits(), **truck)
        assert rule in verdict.sentence or verdict.limit is None
        return verdict.word

    found = [word(v, listed_toe_deg=listed) for v in ("0.149", "0.15", "0.151", "-0.15", "-0.16")]
    assert found == ["within limit"] * 2 + ["beyond limit", "within limit", "beyond limit"]
    assert word("0.15") == "not judged"


def test_toe_without_the_makers_number_says_what_to_do(finding, verdicts):
    toe = finding("wheel", "toe", "0.15", "deg", side="left", axle="front")
    (verdict,) = verdicts([toe], load_limits(), commercial=False, gross_weight_lb=9_000)
    assert "what the maker lists is not on file; set listed_toe_deg" in verdict.sentence
