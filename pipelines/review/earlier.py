"""What was signed before about the same place of the same truck."""

from threading import Lock

from models.frozen import Frozen
from models.places import Position
from models.record import Finding, Record
from models.store import InspectionRow, Store
from models.store.store import AMENDMENT
from pipelines.review.case import Case
from pipelines.review.words import reading_words

MOST_INSPECTIONS = 6
MOST_VALUES = 3
_MOST_KEPT = 500

_Key = tuple[str | None, Position, str]


class Earlier(Frozen):
    """A value of a signed record: its day, the value, the verdict word and the inspection it is from."""

    day: str
    value: str
    verdict: str
    inspection: str


class EarlierValues:
    """Reads signed records once: they never change."""

    def __init__(self, store: Store) -> None:
        self._store = store
        self._lock = Lock()
        self._read: dict[tuple[str, int], dict[_Key, Earlier]] = {}

    def of(self, case: Case) -> dict[str, tuple[Earlier, ...]]:
        """Finding -> values of the same part, place and measure, newest first; only where there are any."""
        unit = (case.record.inspection.unit if case.record else None) or case.row.unit
        if unit is None or case.record is None:
            return {}
        rows = self._store.inspections(signed_unit=unit)
        of_unit = [r for r in rows if not r.folder.startswith(AMENDMENT)]
        before = [r for r in of_unit if r.id != case.row.id and r.started_at < case.row.started_at]
        tables = [self._table(last) for row in before[:MOST_INSPECTIONS] for last in _as_amended(row, rows)]
        found = {}
        for finding in case.record.findings:
            key = _key(finding)
            values = [table[key] for table in tables if key is not None and key in table]
            if values:
                found[finding.id] = tuple(values[:MOST_VALUES])
        return found

    def _table(self, row: InspectionRow) -> dict[_Key, Earlier]:
        with self._lock:
            kept = self._read.get((row.id, row.version))
        if kept is None:
            kept = _values(self._store.signed(row.id))
            with self._lock:
                if len(self._read) >= _MOST_KEPT:
                    self._read.clear()
                self._read[row.id, row.version] = kept
        return kept


def _as_amended(row: InspectionRow, rows: list[InspectionRow]) -> list[InspectionRow]:
    """The amendments that stand in place of a signed record; itself when there is none."""
    newer = [r for r in rows if r.folder == f"{AMENDMENT}{row.id}"]
    return [last for r in newer for last in _as_amended(r, rows)] or [row]


def _key(finding: Finding) -> _Key | None:
    if finding.component is None or finding.reading is None:
        return None
    return finding.component, finding.position, finding.reading.measure


def _values(record: Record | None) -> dict[_Key, Earlier]:
    found: dict[_Key, Earlier] = {}
    for finding in record.findings if record else ():
        key = _key(finding)
        if record is None or key is None or (finding.review and finding.review.state == "rejected"):
            continue
        found[key] = Earlier(
            day=f"{record.inspection.started_at.astimezone():%Y-%m-%d}",
            value=reading_words(finding.reading),
            verdict=finding.verdict.word if finding.verdict else "",
            inspection=record.inspection.id,
        )
    return found
