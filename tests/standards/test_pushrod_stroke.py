"""Pushrod stroke of air brakes: Appendix A to 49 CFR Part 396, 1.a(5).

Measured with the engine off, 80 to 90 psi in the reservoir (551.6 to 620.5 kPa) and the brakes fully applied;
an actuator that the tables do not list may use 80 % of the stroke that is marked on it.
"""

import pytest

from models.limits import load_limits

AIR = {"commercial": True, "brakes": "air", "rated_stroke_steering_in": 2.25, "rated_stroke_other_in": 2.5}


@pytest.fixture
def stroke(finding, verdicts):
    shipped = load_limits()

    def judge(value, axle="rear", tank=("85", "[psi]"), unit="[in_i]", **truck):
        found = [finding("brake_chamber", "stroke", value, unit, side="left", axle=axle)]
        found += [] if tank is None else [finding("air_tank", "pressure", *tank)]
        return verdicts(found, shipped, **(AIR | truck))[0]

    return judge


@pytest.mark.parametrize(
    ("axle", "at", "above", "within"),
    # 80 % of 2 1/4 in is 1.8 in, of 2 1/2 in 2 in
    [("front", "1.8", "1.8001", "1.6199"), ("rear", "2", "2.0001", "1.7999"), ("axle_3", "2", "2.0001", "1")],
)
def test_eighty_percent_of_the_stroke_marked_on_the_actuator(stroke, axle, at, above, within):
    verdict = stroke(at, axle)
    assert verdict.word == "near limit"
    assert verdict.limit.kind == "regulation"
    assert verdict.limit.source == "Appendix A to 49 CFR Part 396, 1.a(5) (read in a copy of the text)"
    assert f"80 % of the rated stroke marked on it: at most {at} in" in verdict.sentence
    assert stroke(above, axle).word == "beyond limit"
    assert stroke(within, axle).word == "within limit"


def test_the_boundary_in_millimeters(stroke):
    assert stroke("50.8", unit="mm").word == "near limit"
    assert stroke("50.801", unit="mm").word == "beyond limit"


@pytest.mark.parametrize(
    ("tank", "judged"),
    [
        (("79.9", "[psi]"), False),
        (("80", "[psi]"), True),
        (("90", "[psi]"), True),
        (("90.1", "[psi]"), False),
        # 80 psi is 551.5806 kPa, 90 psi 620.5282 kPa
        (("551.5", "kPa"), False),
        (("551.6", "kPa"), True),
        (("620.5", "kPa"), True),
        (("620.6", "kPa"), False),
    ],
)
def test_it_counts_with_80_to_90_psi_in_the_reservoir(stroke, tank, judged):
    assert (stroke("1.5", tank=tank).word == "within limit") == judged
    assert (stroke("2.2", tank=tank).word == "beyond limit") == judged


@pytest.mark.parametrize(("tank", "words"), [("79", "less than 80 psi"), ("95", "more than 90 psi")])
def test_at_another_pressure_it_is_to_be_measured_again(stroke, tank, words):
    sentence = stroke("2.2", tank=(tank, "[psi]")).sentence
    assert f"{words} in the reservoir: it is measured with 80 to 90 psi in the reservoir" in sentence


def test_without_the_pressure_it_is_asked_for(stroke):
    verdict = stroke("2.2", tank=None)
    assert verdict.word == "not judged"
    assert "what pressure the air reservoir held (say the air tank's pressure, in one reading)" in (
        verdict.sentence
    )


def test_without_the_rated_stroke_the_setting_is_named(stroke):
    verdict = stroke("1.5", "front", rated_stroke_steering_in=None)
    assert verdict.word == "not judged"
    assert "the rated stroke is not on file; set rated_stroke_steering_in under truck" in verdict.sentence
    assert stroke("1.5", "rear", rated_stroke_steering_in=None).word == "within limit"


def test_hydraulic_brakes_have_no_such_limit(stroke):
    assert stroke("2.2", brakes="hydraulic").word == "not judged"
