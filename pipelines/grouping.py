"""Which inspection a capture belongs to."""

import uuid
from collections.abc import Sequence
from datetime import datetime, timedelta

from models.capture import Capture
from models.store import InspectionRow

# A capture this long before or after everything else of an inspection may still belong to it.
REACH = timedelta(minutes=30)
_NAMESPACE = uuid.UUID("5b0f2b1e-6c1b-5f0a-9f55-0a4c5f7d0c11")


def end_of(capture: Capture) -> datetime:
    """When a recording ended, or the picture was taken."""
    return capture.captured_at + timedelta(seconds=capture.duration_s or 0.0)


def inspection_id(*parts: str) -> str:
    """A UUID that is the same for the same parts."""
    return str(uuid.uuid5(_NAMESPACE, "|".join(parts)))


def _distance(capture: Capture, row: InspectionRow) -> timedelta:
    before = row.started_at - end_of(capture)
    after = capture.captured_at - row.ended_at
    return max(before, after, timedelta(0))


def home_of(capture: Capture, unit: str | None, rows: Sequence[InspectionRow]) -> InspectionRow | None:
    """The inspection that a capture belongs to: one that is there, a new one, or none yet.

    The sub-folder it lay in decides first, then a spoken opening, then nearness in time.

    Args:
        capture: what was taken in.
        unit: the unit that its spoken opening names.
        rows: the inspections there are.

    Returns:
        None when nothing says where it belongs: it waits in the tray of unassigned captures.
    """
    open_rows = [row for row in rows if row.state == "open"]
    near = [row for row in open_rows if _distance(capture, row) <= REACH]
    near.sort(key=lambda row: (_distance(capture, row), row.id))
    if capture.folder:
        same = [row for row in near if row.folder == capture.folder]
        # A truck that was named aloud is the one its folder is named after.
        same = same or [row for row in near if not row.folder and row.unit == capture.folder]
        return same[0] if same else _new(capture, capture.folder, capture.folder)
    if unit is not None:
        same = [row for row in near if row.unit == unit]
        return same[0] if same else _new(capture, unit, "")
    loose = [row for row in near if not row.folder]
    return loose[0] if loose else None


def _new(capture: Capture, unit: str, folder: str) -> InspectionRow:
    return InspectionRow(
        id=inspection_id(capture.sha256, folder),
        unit=unit,
        folder=folder,
        started_at=capture.captured_at,
        ended_at=end_of(capture),
        state="open",
        version=0,
    )
