from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from models.limits import FACTS, LimitsError, load_limits
from models.limits.facts import Condition, place_facts, samples, truck_facts
from models.limits.reader import exact_number
from models.limits.yaml_nodes import read_yaml
from models.measures import DIMENSIONS, GENERAL
from models.places import Position
from models.settings import TruckSettings, load_settings
from models.vocabulary import load_vocabulary

HEAD = """\
kind: shop rule
source: shop manual, page 3
seen: not published
jurisdiction: this shop
as_of: 2026-11-01
unit: mm
near: 10 %
limits:
"""
PAD = """\
  - id: pads
    component: brake_pad
    measure: thickness
    subject: brake pad
    at least: 3.0
"""


@pytest.fixture
def load(tmp_path):
    def load(text, name="shop.yaml"):
        (tmp_path / name).write_text(text, encoding="utf-8")
        return load_limits(tmp_path)

    return load


def test_shipped_limits_load_and_every_one_is_traceable():
    limits = load_limits()
    assert len({rule.id for rule in limits.rules}) == len(limits.rules) > 60
    for rule in limits.rules:
        used = rule.used("not judged")
        assert used.source and used.as_of and used.jurisdiction
        assert (rule.kind == "common practice") or "(read " in used.source
        assert rule.kind in ("regulation", "common practice"), "makers' numbers are not shipped"


def test_a_limit_is_read_as_written(load):
    rule = load(HEAD + PAD).rules[0]
    assert rule.low.value == 3 and rule.low.included
    assert rule.near_low == Fraction(33, 10)
    assert rule.sentence == "brake pad: at least 3.0 mm"
    assert rule.where.endswith("shop.yaml, line 9")


def test_limits_of_the_shop_join_the_others(tmp_path):
    (tmp_path / "shop.yaml").write_text(HEAD + PAD, encoding="utf-8")
    kinds = [rule.kind for rule in load_limits(own=tmp_path).find("brake_pad", "thickness")]
    assert kinds.count("shop rule") == 1 and "regulation" in kinds
    assert len(load_limits(own=tmp_path / "none").rules) == len(load_limits().rules)


@pytest.mark.parametrize(
    ("text", "line", "why"),
    [
        (HEAD + PAD.replace("brake_pad", "brake_pat"), 10, "'brake_pat' is not a part"),
        (HEAD + PAD.replace("thickness", "thickn"), 11, "'thickn' is not a measure"),
        (HEAD + PAD + '    unit: "[psi]"\n', 14, r"'\[psi\]' does not measure thickness"),
        (HEAD + PAD + '    unit: "[psi]"\n', 14, "use one of: um, mm, cm"),
        (
            HEAD + PAD.replace("thickness", "runout"),
            10,
            "runout is not measured on a brake_pad, .* thickness",
        ),
        (HEAD + PAD.replace("brake_pad", "brake_hose"), 10, "on a brake_hose, .* nothing is"),
        (HEAD.replace("jurisdiction: this shop\n", "") + PAD, 8, "'jurisdiction' is missing; add it"),
        (HEAD.replace("as_of: 2026-11-01\n", "") + PAD, 8, "'as_of' is missing; add it"),
        (HEAD + PAD + "    unit: inch\n", 14, "'inch' is not a UCUM code"),
        (HEAD + PAD + "    colour: blue\n", 14, "'colour' is not a field"),
        (HEAD + PAD.replace("3.0", "three"), 13, "'three' is not a number"),
        (HEAD + PAD.replace("3.0", "1/0"), 13, "'1/0' is not a number"),
        (HEAD + PAD + "    more than: 2\n", 14, "two lower ends"),
        (HEAD + PAD + "    at most: 2\n", 9, "lower end is above the upper"),
        (HEAD + PAD.replace("    at least: 3.0\n", ""), 9, "the limit itself is missing"),
        (HEAD + PAD + "    when: {wheels: 4}\n", 14, "'wheels' is not something a limit can depend on"),
        (HEAD + PAD + "    when: {brakes: steam}\n", 14, "'steam' is not a value of brakes"),
        (HEAD + PAD + "    when: {gross_weight_lb: {}}\n", 14, "at least one of them"),
        (HEAD + PAD + "    of: pressure_lost\n", 14, "computed from pressure_after_hold, not from thickness"),
        (HEAD + PAD + "    of: guesswork\n", 14, "'guesswork' is not a computed quantity"),
        (HEAD + PAD + "    over: 2 min\n", 14, "belongs to of: pressure_lost"),
        (HEAD + PAD + "    rim_angle: true\n", 14, "belongs to free_play"),
        (HEAD + PAD + "    undefined: no number\n", 9, "either undefined or has a number"),
        (HEAD + PAD + "    subject: again\n", 14, "'subject' is given twice"),
        (HEAD.replace("source: shop manual, page 3\n", "") + PAD, 8, "'source' is missing"),
        (HEAD.replace("shop manual, page 3", '""') + PAD, 2, "a word or a number must stand here"),
        (HEAD.replace("shop rule", "rumour") + PAD, 1, "'rumour' is not a kind of limit"),
        (HEAD.replace("10 %", "soon") + PAD, 7, "'soon' is not a number"),
        (HEAD + PAD + PAD, 14, "the id 'pads' is already used at .*line 9"),
        (
            HEAD + PAD + PAD.replace("id: pads", "id: more"),
            14,
            "can hold for the same truck as 'pads' at .*line 9",
        ),
        ("brand: none\n" + HEAD + PAD, 1, "'brand' does not belong to the head"),
        ("kind: [\n", 2, "not YAML"),
        (HEAD.replace("limits:\n", ""), 1, "limits: is missing"),
        (HEAD + "  id: pads\n", 9, "must hold a list"),
        (HEAD + "  - pads\n", 9, "'name: value' pairs must stand here"),
    ],
)
def test_a_faulty_file_is_refused_with_its_line(load, text, line, why):
    with pytest.raises(LimitsError, match=rf"shop\.yaml, line {line}: .*{why}"):
        load(text)


def test_an_empty_file_and_a_missing_folder_are_refused(load, tmp_path):
    with pytest.raises(LimitsError, match=r"shop\.yaml is empty"):
        load("# nothing\n")
    with pytest.raises(LimitsError, match="is not a folder"):
        load_limits(tmp_path / "none")


def test_a_loss_of_pressure_needs_its_duration(load):
    loss = (
        "  - id: loss\n    component: cooling_system\n    measure: pressure_after_hold\n"
        "    of: pressure_lost\n"
        '    subject: loss\n    unit: "[psi]"\n    at most: 2\n'
    )
    with pytest.raises(LimitsError, match="line 9: a loss of pressure needs its duration"):
        load(HEAD + loss)
    with pytest.raises(LimitsError, match="'soon' is not a duration"):
        load(HEAD + loss + "    over: soon\n")
    rule = load(HEAD + loss + "    over: 2 min\n").rules[0]
    assert rule.over_s == 120
    assert rule.sentence == "loss: at most 2 psi in 2 min"


def test_a_share_of_a_temperature_is_refused_but_not_of_a_difference(load):
    hot = (
        "  - id: hot\n    component: {part}\n    measure: {measure}\n"
        "    subject: heat\n    unit: Cel\n    at most: 5\n"
    )
    with pytest.raises(LimitsError, match="line 7: a share of a temperature has no meaning"):
        load(HEAD + hot.format(part="coolant", measure="temperature"))
    rule = load(HEAD + hot.format(part="oil_cooler", measure="temperature_split")).rules[0]
    assert rule.near_high == Fraction(9, 2)


def test_rules_of_one_source_may_split_the_trucks_between_them(load):
    light = PAD + "    when: {gross_weight_lb: {at most: 10000}}\n"
    heavy = PAD.replace("id: pads", "id: heavy") + "    when: {gross_weight_lb: {more than: 10000}}\n"
    assert len(load(HEAD + light + heavy).rules) == 2
    clash = heavy.replace("more than: 10000", "at least: 10000")
    with pytest.raises(LimitsError, match="'heavy' can hold for the same truck"):
        load(HEAD + light + clash)


def test_two_sources_may_disagree(load):
    other = PAD.replace("id: pads", "id: other").replace("3.0", "2.0") + "    source: another manual\n"
    assert len(load(HEAD + PAD + other).rules) == 2


@given(st.integers(0, 99), st.integers(0, 99), st.integers(1, 99))
def test_numbers_are_read_exactly(tmp_path_factory, whole, top, bottom):
    path = tmp_path_factory.getbasetemp() / "number.yaml"
    path.write_text(f'- "{whole} {top}/{bottom}"\n- {whole}.{top:04d}\n', encoding="utf-8")
    mixed, decimal = (exact_number(entry) for entry in read_yaml(path).items())
    assert mixed == whole + Fraction(top, bottom)
    assert decimal == Fraction(Decimal(f"{whole}.{top:04d}"))


@given(st.integers(-5, 30), st.sampled_from([0, 1]))
def test_samples_stand_for_every_number(number, half):
    conditions = [
        Condition(fact="rim_in", values=(Fraction(16), Fraction(18))),
        Condition(fact="rim_in", low=Fraction(18), low_included=False, excluded=(Fraction(20),)),
        Condition(fact="rim_in", high=Fraction(16)),
        Condition(
            fact="rim_in", low=Fraction(18), low_included=False, high=Fraction(20), high_included=False
        ),
    ]
    value = number + Fraction(half, 2)
    seen = {tuple(c.holds(s) for c in conditions) for s in samples(conditions)}
    assert tuple(c.holds(value) for c in conditions) in seen


def test_facts_come_from_settings_place_and_measure():
    truck = TruckSettings(commercial=False, gross_weight_lb=9900, steering="power", steering_wheel_in=15.5)
    assert truck_facts(truck) == {
        "commercial": "no",
        "gross_weight_lb": Fraction(9900),
        "steering": "power",
        "steering_wheel_in": Fraction(31, 2),
    }
    assert place_facts(Position(axle="axle_1"), "axial_play") == {"axle": "steering", "direction": "axial"}
    assert place_facts(Position(axle="axle_2"), "play") == {"axle": "other"}
    assert place_facts(Position(side="left"), "thickness") == {}


def test_every_fact_that_is_set_is_a_setting(tmp_path):
    set_in_file = {name for name, fact in FACTS.items() if "settings.yaml" in fact.remedy}
    numbers = {"design_low_degF", "listed_toe_deg", "rated_stroke_steering_in", "rated_stroke_other_in"}
    assert set_in_file == set(TruckSettings.model_fields) - {"plan", *numbers}
    assert load_settings(tmp_path).truck == TruckSettings()


def test_every_measure_has_a_dimension():
    assert set(DIMENSIONS) == set(load_vocabulary().measures)
    assert all(DIMENSIONS[measure] == dimension for dimension, measure in GENERAL.items())


def test_play_in_any_direction_is_found_from_every_side():
    limits = load_limits()
    assert {r.id for r in limits.find("hub_bearing", "play")} == {
        "practice-sealed-hub",
        "practice-adjustable-hub",
    }
    assert {r.id for r in limits.find("hub_bearing", "radial_play")} == {"practice-sealed-hub"}
    assert limits.find("seat_motor", "play") == ()
