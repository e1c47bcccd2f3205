"""A signed record as a table: RFC 4180 text, UTF-8, one row for each finding that holds.

Columns, in order:

===================  ==========================================================================
inspection_id        UUID of the inspection
unit                 what the shop calls the truck
vin                  vehicle identification number, empty when not given
odometer             distance counter, empty when not given
odometer_unit        UCUM code
started_at           RFC 3339 time of the first capture
finding_id           UUID of the finding
component            identifier of the vocabulary
side, axle, level,   the place; empty where an axis does not apply or is not known
face, spot, index
measure              identifier of the vocabulary, empty when the finding has no number
value                the digits exactly as given
value_unit           UCUM code
as_given             how it was said or shown
conditions           identifiers, separated by one space
action               identifier, empty when none
verdict              within limit, near limit, beyond limit, not judged; empty when there is none
verdict_sentence     why
limit_source         citation of the limit that governs
review_state         confirmed, corrected or added
reviewed_by          who decided
review_reason        why, for corrections and additions
signed_by            who signed the record
signed_at            RFC 3339 time
record_sha256        hash of the signed record
===================  ==========================================================================

Rejected findings have no row: a table is read as what was found. They stay in the JSON, marked as rejected.
A text that a spreadsheet would run as a formula gets an apostrophe in front; numbers are left as they are.
"""

import csv
import io
from collections.abc import Iterable, Sequence
from datetime import datetime

from models.places import AXES
from models.record import Finding, Record

COLUMNS = (
    "inspection_id",
    "unit",
    "vin",
    "odometer",
    "odometer_unit",
    "started_at",
    "finding_id",
    "component",
    *AXES,
    "measure",
    "value",
    "value_unit",
    "as_given",
    "conditions",
    "action",
    "verdict",
    "verdict_sentence",
    "limit_source",
    "review_state",
    "reviewed_by",
    "review_reason",
    "signed_by",
    "signed_at",
    "record_sha256",
)
_NUMERIC = frozenset({"value", "odometer", "index"})
_FORMULA = ("=", "+", "-", "@", "＝", "＋", "－", "＠", "|", "%")


def harmless(text: str) -> str:
    """The text, with an apostrophe in front when a spreadsheet would take it for a formula."""
    runs = text.lstrip(" \t\r\n\u00a0\ufeff").startswith(_FORMULA) or text.startswith(("\t", "\r", "\n"))
    return f"'{text}" if runs else text


def _time(moment: datetime) -> str:
    return moment.isoformat().replace("+00:00", "Z")


def _head(record: Record) -> dict[str, str]:
    head, signature = record.inspection, record.signature
    cells = {
        "inspection_id": head.id,
        "unit": head.unit or "",
        "vin": head.vin or "",
        "started_at": _time(head.started_at),
    }
    if head.odometer is not None:
        cells |= {"odometer": f"{head.odometer.value:f}", "odometer_unit": head.odometer.unit}
    if signature is not None:
        cells |= {
            "signed_by": signature.by,
            "signed_at": _time(signature.at),
            "record_sha256": signature.sha256,
        }
    return cells


def _row(finding: Finding) -> dict[str, str]:
    cells = {
        "finding_id": finding.id,
        "component": finding.component or "",
        "conditions": " ".join(finding.conditions),
        "action": finding.action or "",
    }
    cells |= {axis: str(value) for axis, value in finding.position.keys().items()}
    if (reading := finding.reading) is not None:
        cells |= {
            "measure": reading.measure,
            "value": f"{reading.value:f}",
            "value_unit": reading.unit,
            "as_given": reading.as_given,
        }
    if (verdict := finding.verdict) is not None:
        source = verdict.limit.source if verdict.limit is not None else ""
        cells |= {"verdict": verdict.word, "verdict_sentence": verdict.sentence, "limit_source": source}
    if (review := finding.review) is not None:
        cells |= {
            "review_state": review.state,
            "reviewed_by": review.by or "",
            "review_reason": review.reason or "",
        }
    return cells


def rows(record: Record) -> list[dict[str, str]]:
    """One row for each finding that holds: column -> cell, harmless in a spreadsheet."""
    head = _head(record)
    kept = [f for f in record.findings if f.review is None or f.review.state != "rejected"]
    made = [dict.fromkeys(COLUMNS, "") | head | _row(finding) for finding in kept]
    return [{k: v if k in _NUMERIC else harmless(v) for k, v in cells.items()} for cells in made]


def table(record: Record) -> str:
    """The record as CSV text with a heading row; see the module for the columns."""
    return csv_text(COLUMNS, rows(record))


def csv_text(columns: Sequence[str], cells: Iterable[dict[str, str]]) -> str:
    """CSV text with a heading row."""
    out = io.StringIO()
    writer = csv.DictWriter(out, columns, restval="", lineterminator="\r\n")
    writer.writeheader()
    writer.writerows(cells)
    return out.getvalue()
