"""A maker's number for some trucks only, by VIN pattern or by unit."""

import pytest

from models.limits import LimitsError
from models.limits.facts import head_facts
from models.settings import Settings, TruckSettings
from pipelines.judging import judge

VIN = "1M8GDM9AXKP042788"
RULE = (
    "- {{id: {id}, component: brake_rotor, measure: thickness, subject: front rotor, at least: {least},"
    " when: {{{when}}}}}\n"
)
ONE = RULE.format(id="one", least="36.50", when='vin: "1M8GDM9A*"')
OTHER = RULE.format(id="other", least="28.00", when='vin: "1FT*"')
FLEET = RULE.format(id="fleet", least="30", when='unit: ["41?", "B-*"]')


@pytest.fixture
def verdict(finding, limits):
    def give(entries, value, unit=None, vin=None, **truck):
        rotor = finding("brake_rotor", "thickness", value, "mm", side="left", axle="front")
        head = head_facts(unit, vin)
        (judged,) = judge([rotor], limits(entries), TruckSettings(**truck), (), head)
        return judged.verdict

    return give


@pytest.mark.parametrize(
    ("value", "word"), [("36.49", "beyond limit"), ("36.50", "within limit"), ("36.51", "within limit")]
)
def test_the_number_of_the_pattern_that_fits_governs(verdict, value, word):
    found = verdict(ONE + OTHER, value, vin=VIN)
    assert (found.word, found.limit.id, found.others) == (word, "one", ())
    assert "front rotor, VIN 1M8GDM9A*: at least 36.50 mm" in found.sentence


def test_a_vin_of_no_pattern_has_no_limit(verdict):
    found = verdict(ONE + OTHER, "20", vin="1G8ZG127XWZ157259")
    assert (found.word, found.limit) == ("not judged", None)
    assert found.sentence == "Not judged: there is no limit on file for it."


def test_without_a_vin_the_missing_fact_is_named_unless_every_truck_fails(verdict):
    found = verdict(ONE + OTHER, "30")
    assert found.word == "not judged"
    assert "which VIN the truck has (set vin for the unit under trucks: in settings.yaml)" in found.sentence
    assert {o.id for o in found.others} == {"one", "other"}


@pytest.mark.parametrize("vin", ["1M8GDN9AXKP042788", "1M8GDM9A", "1M8GDM9AXKPO42788"])
def test_a_vin_that_fails_its_check_digit_chooses_no_limit(verdict, vin):
    assert verdict(ONE, "40", vin=vin).word == "not judged"


def test_a_vin_of_the_settings_is_taken_as_it_is(finding, limits):
    # numbers given outside North America need no check digit
    rotor = finding("brake_rotor", "thickness", "27", "mm", side="left", axle="front")
    on_file = limits(RULE.format(id="w", least="28", when='vin: "WDB*"'))
    (judged,) = judge([rotor], on_file, TruckSettings(vin="WDB9634031L123456"))
    assert judged.verdict.word == "beyond limit"


def test_a_unit_chooses_too(verdict):
    assert verdict(FLEET, "29", unit="417").word == "beyond limit"
    assert verdict(FLEET, "29", unit="b-9").word == "beyond limit"
    assert verdict(FLEET, "29", unit="99").word == "not judged"


@pytest.mark.parametrize(
    ("when", "clash"),
    [('vin: "1M8*"', True), ('vin: "???GDM*"', True), ('vin: "2M8*"', False), ('unit: "4*"', True)],
)
def test_patterns_that_one_vin_can_fit_are_refused_in_one_source(limits, when, clash):
    more = RULE.format(id="more", least="30", when=when)
    if not clash:
        assert len(limits(ONE + more).rules) == 2
        return
    with pytest.raises(LimitsError, match="'more' can hold for the same truck as 'one'"):
        limits(ONE + more)


@pytest.mark.parametrize(
    ("when", "why"),
    [
        ('vin: "1M8[GH]*"', "is no pattern"),
        ('vin: "1MO*"', "fits no VIN"),
        ('vin: "1M8GDM9AXKP0427889"', "fits no VIN"),
        ('unit: "417;"', "is no pattern"),
    ],
)
def test_a_wrong_pattern_is_refused_with_its_line(limits, when, why):
    with pytest.raises(LimitsError, match=rf"limits.yaml, line 10: .*{why}"):
        limits(RULE.format(id="a", least="30", when=when))


def test_trucks_of_the_settings_go_over_what_holds_for_all():
    settings = Settings.model_validate(
        {
            "truck": {"brakes": "air", "commercial": True},
            "trucks": [
                {"units": ["23"], "brakes": "hydraulic", "vin": VIN},
                {"units": ["2*"], "gross_weight_lb": 9000},
            ],
        }
    )
    assert settings.truck_of("23") == TruckSettings(brakes="hydraulic", commercial=True, vin=VIN)
    assert settings.truck_of("24") == TruckSettings(brakes="air", commercial=True, gross_weight_lb=9000)
    assert settings.truck_of("99") == settings.truck_of(None) == settings.truck
