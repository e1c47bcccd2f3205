from fractions import Fraction

from pipelines.judging import worlds
from pipelines.judging.worlds import possible_limits

BY_WEIGHT_AND_BRAKES = """
- {id: light, component: brake_pad, measure: thickness, subject: pad, at least: 1,
   when: {gross_weight_lb: {at most: 10000}}}
- {id: heavy, component: brake_pad, measure: thickness, subject: pad, at least: 2,
   when: {gross_weight_lb: {more than: 10000}}}
- {id: air, component: brake_pad, measure: thickness, subject: pad, at least: 3, source: other,
   when: {brakes: air}}
"""


def names(possible):
    return {tuple(rule.id for rule in held) for held in possible.sets}


def test_every_possible_truck_is_tried(limits):
    rules = limits(BY_WEIGHT_AND_BRAKES).rules
    assert names(possible_limits(rules, {})) == {("light",), ("heavy",), ("light", "air"), ("heavy", "air")}
    assert names(possible_limits(rules, {"brakes": "air"})) == {("light", "air"), ("heavy", "air")}
    known = {"brakes": "hydraulic", "gross_weight_lb": Fraction(10_000)}
    assert names(possible_limits(rules, known)) == {("light",)}


def test_only_facts_that_change_the_outcome_are_named(limits):
    possible = possible_limits(limits(BY_WEIGHT_AND_BRAKES).rules, {})

    def outcomes(id):
        having = sum(1 << n for n, held in enumerate(possible.sets) if id in {r.id for r in held})
        return having, (1 << possible.count) - 1 & ~having

    assert possible.deciding(outcomes("heavy")) == ("gross_weight_lb",)
    assert possible.deciding(outcomes("air")) == ("brakes",)
    assert possible.deciding([(1 << possible.count) - 1]) == ()


def test_too_many_combinations_are_not_tried_and_every_fact_is_named(limits, monkeypatch):
    monkeypatch.setattr(worlds, "MOST_TRUCKS", 5)
    possible = possible_limits(limits(BY_WEIGHT_AND_BRAKES).rules, {})
    assert possible.sets == ()
    assert possible.deciding([]) == ("gross_weight_lb", "brakes")
