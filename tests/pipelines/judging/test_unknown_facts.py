"""A verdict given in spite of unknown facts is the one that full knowledge would give."""

from decimal import Decimal
from fractions import Fraction

from hypothesis import HealthCheck, event, given, settings
from hypothesis import strategies as st

from models.limits import load_limits
from models.settings import TruckSettings
from pipelines.judging import judge

LIMITS = load_limits()
TRUCKS = st.fixed_dictionaries(
    {
        "commercial": st.booleans(),
        "gross_weight_lb": st.sampled_from([6_000, 10_000, 10_001, 33_000]),
        "brakes": st.sampled_from(["hydraulic", "air"]),
        "shoe_lining": st.sampled_from(["strip", "pads"]),
        "lining_held_by": st.sampled_from(["bonding", "rivets"]),
        "steering": st.sampled_from(["power", "manual"]),
        "steering_wheel_in": st.sampled_from([14, 16, 16.5, 17, 18, 19, 20, 21, 22, 23]),
        "rim_in": st.sampled_from([15, 16, 17.5, 18, 22.5]),
        "hub_bearings": st.sampled_from(["sealed", "adjustable"]),
        "engine": st.sampled_from(["diesel", "gasoline"]),
    }
)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=150)
@given(truck=TRUCKS, data=st.data())
def test_knowing_more_never_contradicts_a_verdict(finding, truck, data):
    rule = data.draw(st.sampled_from([r for r in LIMITS.rules if r.of == "reading" and not r.undefined]))
    edge = Fraction(3) if rule.rim_angle else (rule.low or rule.high).value
    share = data.draw(st.sampled_from(["0.3", "0.95", "1", "1.05", "1.5", "3"]))
    value = edge * Fraction(share)
    hidden = data.draw(st.sets(st.sampled_from(sorted(truck))))
    measure = data.draw(st.sampled_from([rule.measure, "play"])) if "play" in rule.measure else rule.measure
    measure = rule.measure if rule.measure == "free_play" else measure
    axle = data.draw(st.sampled_from(["front", "rear"]))
    code = "[in_i]" if rule.rim_angle else rule.unit
    written = f"{Decimal(value.numerator) / Decimal(value.denominator):f}"

    def verdict(measure, axle, facts):
        reading = finding(rule.component, measure, written, code, **({"axle": axle} if axle else {}))
        return judge([reading], LIMITS, TruckSettings(**facts))[0].verdict

    less = verdict(
        measure, data.draw(st.sampled_from([axle, None])), {k: v for k, v in truck.items() if k not in hidden}
    )
    more = verdict(rule.measure, axle, truck)
    event(less.word)
    if less.word != "not judged":
        assert more.word == less.word
    elif more.word != "not judged":
        assert "it is not known" in less.sentence
