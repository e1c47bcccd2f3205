import csv
import io
from datetime import UTC, datetime
from decimal import Decimal

import pytest

from models.places import Position
from models.record import (
    Finding,
    Inspection,
    LimitUsed,
    Odometer,
    Reading,
    Record,
    Review,
    Signature,
    Verdict,
)
from pipelines.delivery import table as module
from pipelines.delivery.table import COLUMNS, harmless, table

AT = datetime(2026, 11, 20, 9, 30, tzinfo=UTC)


def _finding(value: str, as_given: str = "as said", state: str = "confirmed", **more: object) -> Finding:
    reading = Reading(measure="thickness", value=Decimal(value), unit="mm", as_given=as_given)
    review = Review(state=state, by="Ana", at=AT, reason=None)
    finding = Finding(id="f1", component="brake_pad", reading=reading, confidence=0.9, review=review)
    return finding.model_copy(update=more)


def _rows(*findings: Finding, unit: str = "417") -> list[dict[str, str]]:
    head = Inspection(
        id="i1",
        unit=unit,
        odometer=Odometer(value=Decimal("112306.4"), unit="[mi_i]"),
        started_at=AT,
        ended_at=AT,
        state="signed",
    )
    record = Record(inspection=head, findings=findings, signature=Signature(by="Ana", at=AT, sha256="a" * 64))
    return list(csv.DictReader(io.StringIO(table(record), newline="")))


def test_every_column_is_written_and_documented() -> None:
    assert tuple(_rows(_finding("6.0"))[0]) == COLUMNS
    words = (module.__doc__ or "").replace(",", " ").split()
    assert [column for column in COLUMNS if column not in words] == []


@pytest.mark.parametrize("value", ["6.50", "-12.5", "0", "0.0030", "1E+2", "0.21875", "1E-7"])
def test_values_keep_their_digits_and_stay_numbers(value: str) -> None:
    cell = _rows(_finding(value))[0]["value"]
    assert cell == f"{Decimal(value):f}"
    assert Decimal(cell) == Decimal(value)


def test_a_row_says_where_what_and_why() -> None:
    limit = LimitUsed(
        id="pads",
        sentence="at least 3.2 mm",
        kind="regulation",
        source="49 CFR 393.47(d)",
        jurisdiction="US",
        as_of="2026-08-01",
        result="within limit",
    )
    verdict = Verdict(word="within limit", sentence="6.0 mm is above 3.2 mm.", limit=limit)
    position = Position(side="left", axle="front", face="outer")
    row = _rows(_finding("6.0", position=position, conditions=("worn", "glazed"), verdict=verdict))[0]
    assert (row["side"], row["axle"], row["level"], row["face"]) == ("left", "front", "", "outer")
    assert row["conditions"] == "worn glazed"
    assert (row["verdict"], row["limit_source"]) == ("within limit", "49 CFR 393.47(d)")
    assert (row["odometer"], row["odometer_unit"]) == ("112306.4", "[mi_i]")
    assert (row["signed_by"], row["signed_at"]) == ("Ana", "2026-11-20T09:30:00Z")
    assert row["record_sha256"] == "a" * 64


def test_rejected_findings_have_no_row_and_findings_without_a_number_have_one() -> None:
    rows = _rows(_finding("6.0", state="rejected"), _finding("7.0", reading=None, conditions=("torn",)))
    assert [(r["measure"], r["value"], r["conditions"]) for r in rows] == [("", "", "torn")]


@pytest.mark.parametrize(
    "text", ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", "\n=1", "  =1", "＝1", "\u00a0=1", "|cmd"]
)
def test_formulas_are_disarmed_wherever_free_text_goes(text: str) -> None:
    row = _rows(_finding("6.0", as_given=text), unit=text)[0]
    assert row["unit"] == row["as_given"] == f"'{text}"


@pytest.mark.parametrize("text", ["", "417", "6 mm", "a=b", "O'Neil", 'left, "outer"\nsecond line'])
def test_plain_text_is_left_alone(text: str) -> None:
    assert harmless(text) == text
    assert _rows(_finding("6.0", as_given=text))[0]["as_given"] == text


def test_lines_end_as_the_standard_says() -> None:
    record = Record(inspection=Inspection(id="i", started_at=AT, ended_at=AT), findings=())
    assert table(record) == ",".join(COLUMNS) + "\r\n"
