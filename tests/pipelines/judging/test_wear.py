"""Wear over time: changes, rates and projections, and when there must be none."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from models.plans_check import checked
from models.record import Inspection, Odometer, Record, Review
from models.settings import TruckSettings
from pipelines.judging import judge, wear
from pipelines.judging.wear import Point, pace, to_limit

START = datetime(2026, 1, 10, 8, 0, tzinfo=UTC)
PAD = {"side": "left", "axle": "front", "face": "outer"}
LIMIT = "- {id: pad, component: brake_pad, measure: thickness, subject: pad, at least: 3}"


@pytest.fixture
def at(finding):
    """A record with one pad: thickness in mm, days after the start, miles; None leaves the one out."""

    def make(value, days, miles=None, unit="mm", action=None, component="brake_pad", measure="thickness"):
        found = []
        if value is not None:
            pad = finding(component, measure, value, unit, **PAD)
            found = [pad.model_copy(update={"action": action})]
        odometer = None if miles is None else Odometer(value=Decimal(miles), unit="[mi_i]")
        when = START + timedelta(days=days)
        head = Inspection(id=f"i{days}", unit="417", odometer=odometer, started_at=when, ended_at=when)
        return Record(inspection=head, findings=tuple(found))

    return make


@pytest.fixture
def worn(limits):
    def give(now, *earlier):
        judged = judge(now.findings, limits(LIMIT), TruckSettings())
        found = wear(now.model_copy(update={"findings": judged}), earlier)
        return found[0] if found else None

    return give


def test_without_an_earlier_reading_nothing_is_said(at, worn):
    assert worn(at("9.0", 0)) is None
    assert worn(at("9.0", 100), at(None, 0)) is None


def test_one_earlier_reading_gives_change_and_rate_and_no_projection(at, worn):
    found = worn(at("8.0", 100, 60_000), at("9.0", 0, 50_000))
    assert (found.change, found.rate, found.rate_per) == (Decimal("-1"), Decimal("-0.1"), "1000 mi")
    assert found.limit_within is None
    assert found.sentence == (
        "1 mm less than on 2026-01-10 (9 mm). Over 2 readings it wears 0.1 mm in 1,000 miles."
    )


def test_two_earlier_readings_give_a_range(at, worn):
    # 1 mm in 10,000 miles, then 2 mm in 10,000, each reading sure to 0.05 mm; 3 mm are left to the limit:
    # at 2.1 mm in 10,000 it takes 14,285 miles, at 0.9 mm 33,333
    found = worn(at("6.0", 200, 70_000), at("9.0", 0, 50_000), at("8.0", 100, 60_000))
    assert found.rate == Decimal("-0.15")
    assert found.limit_within == (Decimal(14), Decimal(34))
    assert found.sentence.endswith(
        "Over 3 readings it wears 0.15 mm in 1,000 miles. At that pace the limit is reached between 14,000"
        " and 34,000 miles from now."
    )


def test_coarse_readings_tell_no_latest(at, worn):
    # whole millimetres: 9, 9, 8 may be 0 or up to 2 in 10,000 miles
    found = worn(at("8", 200, 70_000), at("9", 0, 50_000), at("9", 100, 60_000))
    assert found.limit_within == (Decimal(25), None)
    assert "not before 25,000 miles from now, and no latest can be told" in found.sentence


def test_without_odometers_it_counts_in_months(at, worn):
    found = worn(at("8.0", 61), at("9.0", 0, 50_000))
    assert found.rate_per == "month"
    assert found.rate == Decimal("-0.498975")  # 1 mm in 61 days of 30.4375 a month
    assert "it wears 0.499 mm in a month" in found.sentence


def test_an_odometer_that_does_not_rise_is_not_used(at, worn):
    assert worn(at("8.0", 61, 50_000), at("9.0", 0, 60_000)).rate_per == "month"


def test_readings_too_near_together_give_no_rate(at, worn):
    found = worn(at("8.9", 3, 50_020), at("9.0", 0, 50_000))
    assert (found.change, found.rate) == (Decimal("-0.1"), None)


def test_a_part_that_grew_was_changed_or_misread(at, worn):
    found = worn(at("11.0", 300, 80_000), at("9.0", 0, 50_000), at("8.0", 100, 60_000))
    assert found.rate is None and found.limit_within is None
    assert "the part was changed, or one of the readings is wrong" in found.sentence


def test_only_readings_since_the_change_count(at, worn):
    found = worn(at("10.0", 300, 80_000), at("4.0", 0, 50_000), at("11.0", 200, 70_000))
    assert (found.readings, found.rate) == (1, Decimal("-0.1"))
    replaced = worn(at("3.5", 300, 80_000), at("4.0", 0, 50_000, action="replace"))
    assert replaced is None


def test_what_rises_as_it_wears(at, worn):
    def drum(value, days, miles):
        return at(value, days, miles, "[in_i]", component="hub_bearing", measure="end_play")

    found = worn(drum("0.004", 100, 60_000), drum("0.003", 0, 50_000))
    assert found.rate == Decimal("0.0001")
    assert "0.001 in more than" in found.sentence
    grown = worn(drum("0.002", 100, 60_000), drum("0.003", 0, 50_000))
    assert "was changed" in grown.sentence


def test_units_may_differ(at, worn):
    assert worn(at("0.3", 100, 60_000, "[in_i]"), at("8.89", 0, 50_000)).change == Decimal("-0.05")


def test_what_does_not_wear_and_what_is_rejected_says_nothing(at, worn):
    def pressure(value, days):
        return at(value, days, None, "[psi]", component="tire", measure="pressure")

    assert worn(pressure("90", 100), pressure("100", 0)) is None
    old = at("9.0", 0)
    gone = old.findings[0].model_copy(update={"review": Review(state="rejected", by="A")})
    assert worn(at("8.0", 100), old.model_copy(update={"findings": (gone,)})) is None


def test_two_readings_of_one_thing_in_one_record_count_for_nothing(at, worn):
    old = at("9.0", 0)
    twice = old.model_copy(update={"findings": (*old.findings, *at("8.0", 0).findings)})
    assert worn(at("7.0", 100), twice) is None


def test_records_from_later_do_not_count(at, worn):
    assert worn(at("9.0", 0), at("8.0", 100)) is None


def test_beyond_its_limit_nothing_is_projected(at, worn):
    found = worn(at("2.0", 200, 70_000), at("4.0", 0, 50_000), at("3.0", 100, 60_000))
    assert found.rate == Decimal("-0.1") and found.limit_within is None


def test_a_corrected_reading_drops_what_was_said_of_the_old_one(at, worn):
    now = at("8.0", 100)
    record = now.model_copy(update={"wear": (worn(now, at("9.0", 0)),)})
    assert len(checked(record).wear) == 1
    reading = record.findings[0].reading.model_copy(update={"value": Decimal("8.5")})
    corrected = record.findings[0].model_copy(update={"reading": reading})
    assert checked(record.model_copy(update={"findings": (corrected,)})).wear == ()
    assert Record.from_json(record.to_json()).wear == record.wear


STEPS = st.lists(st.fractions(0, 3, max_denominator=100), min_size=2, max_size=6)


@given(steps=STEPS, left=st.fractions(Fraction(1, 10), 20, max_denominator=50))
def test_the_overall_rate_lies_between_the_slowest_and_the_fastest(steps, left):
    values = [Fraction(20)]
    for step in steps:
        values.append(values[-1] - step)
    points = [
        Point(START + timedelta(days=30 * n), Fraction(10_000 * n), v, Fraction(1, 10))
        for n, v in enumerate(values)
    ]
    found = pace(points, -1)
    assert found.slowest <= found.rate <= found.fastest
    reach = to_limit(left, found)
    if reach is None:
        assert found.rate == 0
    else:
        soonest, latest = reach
        assert soonest <= left / found.rate and (latest is None or latest >= left / found.rate)
