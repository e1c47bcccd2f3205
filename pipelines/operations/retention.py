"""How long originals and signed records are kept, by the settings; nothing is removed that is not signed.

The report of a periodic inspection must be kept for 14 months from its date (49 CFR 396.21(b)).
"""

import calendar
from datetime import datetime
from pathlib import Path

from capture.originals import Originals
from models.capture import Capture
from models.frozen import Frozen
from models.record import Record
from models.settings import KeepingSettings
from models.store import Store
from models.store.keeping import RemovedRecord


class Overdue(Frozen):
    """What is kept longer than the settings ask for.

    Attributes:
        media: originals of signed records, by sha256.
        records: signed records, oldest first, by the id of their inspection.
        waiting: signed records that would be removed but have not left the program, or are on their way.
        unsigned: old inspections that nobody has signed; they stay.
    """

    media: tuple[str, ...] = ()
    records: tuple[str, ...] = ()
    waiting: tuple[str, ...] = ()
    unsigned: tuple[str, ...] = ()


def months_before(now: datetime, months: int) -> datetime:
    """The moment so many calendar months ago; the last day of a shorter month."""
    years, month = divmod(now.month - 1 - months, 12)
    year, month = now.year + years, month + 1
    return now.replace(year=year, month=month, day=min(now.day, calendar.monthrange(year, month)[1]))


def overdue(store: Store, keeping: KeepingSettings, now: datetime) -> Overdue:
    """What the settings let go by now; an original that any record still needs within its time stays.

    Args:
        store: the state.
        keeping: for how many months.
        now: the time.
    """
    media_end = months_before(now, keeping.media_months) if keeping.media_months else None
    record_end = months_before(now, keeping.records_months) if keeping.records_months else None
    rows = [(row, store.signed(row.id)) for row in store.inspections()]
    signed = [record for _, record in rows if record is not None]
    unsigned = {c.sha256 for row, record in rows if record is None for c in _captures_of(store, row.id)}
    old = [r for r in signed if record_end is not None and _ended(r) < record_end]
    old_ids = {r.inspection.id for r in old}
    # An amendment cites the recordings of the record that it puts right: neither goes before the other.
    cited = unsigned | {c.sha256 for r in signed if r.inspection.id not in old_ids for c in r.captures}
    free = [r for r in old if not cited & {c.sha256 for c in r.captures}]
    left = {d.inspection for d in store.deliveries.all("sent")}
    left |= {r.inspection.id for r in free if store.delivered_at(r.inspection.id)}
    held = {d.inspection for d in store.deliveries.all("waiting")} | {r.inspection.id for r in free} - left
    needed = unsigned | {
        c.sha256 for r in signed if not media_end or _ended(r) >= media_end for c in r.captures
    }
    gone = {removal.sha256 for removal in store.keeping.removals()}
    media = {c.sha256 for r in signed for c in r.captures} - needed - gone
    oldest = min((end for end in (media_end, record_end) if end is not None), default=None)
    return Overdue(
        media=tuple(sorted(media)),
        records=tuple(r.inspection.id for r in sorted(free, key=_ended) if r.inspection.id not in held),
        waiting=tuple(r.inspection.id for r in free if r.inspection.id in held),
        unsigned=tuple(
            row.id for row, record in rows if record is None and oldest is not None and row.ended_at < oldest
        ),
    )


def _captures_of(store: Store, inspection: str) -> list[Capture]:
    draft = store.draft(inspection)
    return [*store.captures(inspection), *(draft.captures if draft is not None else ())]


def _ended(record: Record) -> datetime:
    """From when its time runs: the later of the inspection's end and the signature."""
    assert record.signature is not None
    return max(record.inspection.ended_at, record.signature.at)


def remove_overdue(store: Store, originals: Originals, home: Path, found: Overdue, now: datetime) -> None:
    """Remove what :func:`overdue` found; a crash in between is made good by doing it again.

    Args:
        store: the state.
        originals: where originals are kept.
        home: the data folder, with review copies.
        found: what to remove.
        now: the time.
    """
    for sha256 in found.media:
        remove_original(store, originals, home, sha256, "The time it is kept for is over.", now)
    for inspection in found.records:
        record = store.signed(inspection)
        if record is None or record.signature is None:
            continue
        chain = " ".join((record.inspection.unit or "").split()).casefold()
        left = RemovedRecord(
            inspection=inspection,
            chain=chain,
            sha256=record.signature.sha256,
            signed_at=record.signature.at,
            removed_at=now,
        )
        for capture in record.captures:
            remove_files(originals, home, capture.sha256)
        store.keeping.remove_record(left)


def remove_original(
    store: Store, originals: Originals, home: Path, sha256: str, why: str, now: datetime
) -> None:
    """Remove one original and what was made to show it; its hash and the reason stay."""
    store.keeping.note_removal(sha256, now, why)
    remove_files(originals, home, sha256)


def remove_files(originals: Originals, home: Path, sha256: str) -> None:
    """Remove an original and its review copies of this computer."""
    originals.remove(sha256)
    for copy in (home / "review-copies").glob(f"{sha256}*"):
        copy.unlink(missing_ok=True)
