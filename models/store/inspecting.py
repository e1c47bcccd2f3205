"""Changing one inspection inside a transaction: what must hold before, and taking a capture in."""

from typing import Any

from sqlalchemy import Connection, select, update

from models.store import tables as t
from models.store.types import AmendmentError, InspectionRow, SignedError, StaleError

AMENDMENT = "/amendment of "
"""What ``InspectionRow.folder`` of an amendment begins with; no sub-folder of an inbox is called so."""


def assign(connection: Connection, sha256: str, inspection: str) -> None:
    """Put a capture into an inspection: see :meth:`Store.assign`."""
    query = select(t.captures.c.captured_at, t.captures.c.inspection).where(t.captures.c.sha256 == sha256)
    row = open_row(connection, inspection)
    if row.folder.startswith(AMENDMENT):
        # Drawing it up again from the new file alone would lose the findings that it puts right.
        raise AmendmentError(f"Inspection {inspection} amends a signed record: add findings by hand.")
    found = connection.execute(query.with_for_update()).first()
    if found is None:
        raise LookupError(f"there is no capture {sha256}")
    if found.inspection is not None and found.inspection != inspection:
        open_row(connection, found.inspection)
    connection.execute(update(t.captures).where(t.captures.c.sha256 == sha256).values(inspection=inspection))
    times = {
        "started_at": min(row.started_at, found.captured_at),
        "ended_at": max(row.ended_at, found.captured_at),
    }
    change(connection, inspection, times)


def open_row(connection: Connection, inspection: str) -> InspectionRow:
    """An inspection that may be changed; on PostgreSQL its row is locked until the transaction ends."""
    query = select(t.inspections).where(t.inspections.c.id == inspection).with_for_update()
    found = connection.execute(query).mappings().first()
    if found is None:
        raise LookupError(f"there is no inspection {inspection}")
    row = InspectionRow.model_validate(dict(found))
    if row.state == "signed":
        raise SignedError(f"Inspection {inspection} is signed and cannot be changed.")
    return row


def current(connection: Connection, inspection: str, expected_version: int) -> int:
    """The version of an inspection, when it is the one that a decision was made on."""
    row = open_row(connection, inspection)
    if row.version != expected_version:
        raise StaleError(
            f"Inspection {inspection} has changed since (version {row.version}, not {expected_version}): "
            "look at the newer state and decide again."
        )
    return row.version


def change(connection: Connection, inspection: str, values: dict[str, Any]) -> None:
    """Set columns of an inspection."""
    connection.execute(update(t.inspections).where(t.inspections.c.id == inspection).values(values))
