"""The published form of a record keeps every digit that was said or shown."""

import json
from datetime import UTC, datetime
from decimal import Decimal

import pytest
import rfc8785
from hypothesis import given
from hypothesis import strategies as st

from models.places import Position
from models.record import Alternative, Finding, Inspection, Odometer, Reading, Record, Review
from models.signing import sign, verify

AT = datetime(2026, 11, 20, 9, 30, tzinfo=UTC)


def _record(other: str, odometer: str) -> Record:
    finding = Finding(
        id="f",
        component="brake_pad",
        reading=Reading(measure="thickness", value=Decimal("6.50"), unit="mm", as_given="six point five oh"),
        alternatives=(Alternative(value=Decimal(other), unit="mm", weight=0.2),),
        confidence=0.8,
        review=Review(state="confirmed", by="A", at=AT),
    )
    head = Inspection(
        id="i", started_at=AT, ended_at=AT, odometer=Odometer(value=Decimal(odometer), unit="[mi_i]")
    )
    return Record(inspection=head, findings=(finding,))


def _digits(record: Record) -> tuple[str, str]:
    odometer = record.inspection.odometer
    assert odometer is not None
    return f"{record.findings[0].alternatives[0].value:f}", f"{odometer.value:f}"


@pytest.mark.parametrize(
    ("said", "exact"), [("6.50", "6.50"), ("6", "6"), ("6.5", None), ("6.0", None), ("0.0000001", None)]
)
def test_digits_stand_beside_a_number_that_loses_them(said: str, exact: str | None) -> None:
    data = _record(said, said).to_json()
    for raw in (data["findings"][0]["alternatives"][0], data["inspection"]["odometer"]):
        assert raw["value"] == float(said)
        assert raw.get("exact") == exact
    assert _digits(Record.from_json(data)) == (said, said)


_said = st.decimals(min_value=0, max_value=10**7, places=3).map(lambda v: f"{v:f}") | st.integers(
    0, 10**7
).map(str)


@given(_said, _said)
def test_a_signed_record_holds_after_any_program_wrote_it_again(other: str, odometer: str) -> None:
    signed = sign(_record(other, odometer), "A", AT)
    for text in (json.dumps(signed.to_json()).encode(), rfc8785.dumps(signed.to_json())):
        data = json.loads(text)  # RFC 8785 writes 5.0 as 5
        again = Record.from_json(data)
        assert _digits(again) == (other, odometer)
        assert verify(data)
        assert verify(again.to_json())


def test_a_record_signed_before_there_were_such_digits_keeps_its_hash() -> None:
    data = json.loads(json.dumps(_record("6.0", "112306").to_json()))
    del data["inspection"]["odometer"]["exact"]
    for value in (112306.0, 112306):
        data["inspection"]["odometer"]["value"] = value
        assert rfc8785.dumps(Record.from_json(data).to_json()) == rfc8785.dumps(data)


def test_a_spot_stands_behind_its_part_and_the_rest_of_a_place_before_it():
    assert Position(side="left", axle="rear", spot="inside").of("tire") == "left rear tire, inside"
    assert Position(side="left", axle="front", spot="point_3").of("rotor") == "left front rotor, point 3"
    assert Position(side="left", axle="front", face="outer").of("pad") == "left front outer pad"
    assert Position(index=2).of("frame") == "right front to left rear frame"
    assert Position().of("battery") == "battery"
