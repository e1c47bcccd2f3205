"""One small class over the tables."""

import json
from collections.abc import Callable, Collection, Iterable, Sequence
from datetime import datetime
from pathlib import Path
from typing import Any, cast

from sqlalchemy import Select, func, insert, select, text, update

from models.capture import Capture, Rejection
from models.events import ReviewEvent
from models.record import Record
from models.signing import chained
from models.store import tables as t
from models.store.chain import chain_name, last_sha256, records_of
from models.store.connection import Database, is_newer, open_database
from models.store.copying import write_copy
from models.store.deliveries import Deliveries
from models.store.figures import Figures, figures, was_read
from models.store.inspecting import AMENDMENT, assign, change, current, open_row
from models.store.jobs import Jobs
from models.store.keeping import Keeping
from models.store.people import People
from models.store.texts import event_text, insert_new, record_of, record_text
from models.store.types import InspectionRow

__all__ = ["AMENDMENT", "Store"]

_GROUPING_LOCK = 0x64726F72
_TURN = text("SELECT pg_advisory_xact_lock(:key, hashtext(:among))")
_CAPTURE_COLUMNS = [t.captures.c[name] for name in Capture.model_fields]


def _newest_first(rows: Iterable[Any]) -> list[InspectionRow]:
    found = [InspectionRow.model_validate(dict(row)) for row in rows]
    return sorted(found, key=lambda row: (row.started_at, row.id), reverse=True)


class Store:
    """All state of one Droplight: SQLite file or PostgreSQL database.

    Safe to share between threads; several processes may open the same database. Every method is one short
    transaction: when it returns, what it wrote survives a crash and a power cut.

    Attributes:
        people: accounts and sessions of the review pages.
        deliveries: signed records on their way to receivers over HTTP.
        keeping: what was removed on purpose, and who speaks in a recording.
        jobs: the queue that workers take captures from; None on SQLite, where one process does the work.
    """

    def __init__(self, database: Database) -> None:
        self._db = database
        self.people = People(database)
        self.deliveries = Deliveries(database)
        self.keeping = Keeping(database)
        self.jobs = Jobs(database) if database.dialect == "postgresql" else None

    @classmethod
    def open(cls, url: str) -> "Store":
        """Open, creating or upgrading the tables.

        Args:
            url: an SQLAlchemy URL (``sqlite:////path/droplight.db``); the folder is made when missing.

        Raises:
            StoreError: the database cannot be reached, read or written, or belongs to a newer program.
        """
        return cls(open_database(url))

    def is_newer(self) -> bool:
        """Whether a newer program has changed the tables since this was opened: stop then."""
        return is_newer(self._db)

    def figures(self) -> Figures:
        """What waits, how long already, and what is on its way out."""
        return figures(self._db)

    def write_copy(self, target: Path) -> None:
        """Write the state of one moment into a new SQLite file: see :func:`write_copy`."""
        write_copy(self._db, target)

    def close(self) -> None:
        """Give the connections back; the store cannot be used afterwards."""
        self._db.engine.dispose()

    # captures

    def add_capture(self, capture: Capture, arrived_at: datetime) -> bool:
        """Store a capture; False when its content was taken in before (then only 'seen again' is noted).

        Where there is a queue its job is stored with it, so that neither is ever there without the other.
        """
        values = {**capture.model_dump(), "arrived_at": arrived_at}
        with self._db.write() as connection:
            if insert_new(connection, t.captures, values):
                if self.jobs is not None:
                    self.jobs.enqueue(connection, capture.sha256)
                return True
            seen = {
                "sha256": capture.sha256,
                "original_name": capture.original_name,
                "folder": capture.folder,
                "at": arrived_at,
            }
            connection.execute(insert(t.sightings).values(seen))
            return False

    def capture(self, sha256: str) -> Capture | None:
        """The capture with this content, if it was taken in."""
        found = self._captures(select(*_CAPTURE_COLUMNS).where(t.captures.c.sha256 == sha256))
        return found[0] if found else None

    def captures(self, inspection: str | None = None) -> list[Capture]:
        """All captures in order of captured_at, or those of one inspection."""
        query = select(*_CAPTURE_COLUMNS)
        if inspection is not None:
            query = query.where(t.captures.c.inspection == inspection)
        return self._captures(query)

    def unassigned(self, read: bool = False) -> list[Capture]:
        """Captures that belong to no inspection, in order of captured_at; or those of them that were read."""
        query = select(*_CAPTURE_COLUMNS).where(t.captures.c.inspection.is_(None))
        return self._captures(query.where(was_read()) if read else query)

    def sightings(self, sha256: str) -> int:
        """How often the same content arrived again."""
        query = select(func.count()).select_from(t.sightings).where(t.sightings.c.sha256 == sha256)
        return int(self._value(query))

    def inspection_of(self, sha256: str) -> str | None:
        """The id of the inspection a capture is in; None when it is in none."""
        return cast(
            "str | None", self._value(select(t.captures.c.inspection).where(t.captures.c.sha256 == sha256))
        )

    def add_rejection(self, rejection: Rejection) -> None:
        """Note a file that could not be taken in."""
        with self._db.write() as connection:
            connection.execute(insert(t.rejections).values(rejection.model_dump()))

    def rejections(self) -> list[Rejection]:
        """Files that could not be taken in, in the order they were rejected."""
        query = select(t.rejections.c.name, t.rejections.c.reason, t.rejections.c.at).order_by(
            t.rejections.c.id
        )
        with self._db.read() as connection:
            return [Rejection.model_validate(dict(row)) for row in connection.execute(query).mappings()]

    # artefacts: what a stage made of a capture (or of an inspection), as JSON text

    def artefact(self, owner: str, stage: str, version: str) -> str | None:
        """What a stage made; None when it has not run in this version."""
        a = t.artefacts.c
        key = (a.owner == owner) & (a.stage == stage) & (a.version == version)
        return cast("str | None", self._value(select(a.payload).where(key)))

    def put_artefact(self, owner: str, stage: str, version: str, payload: str) -> None:
        """Keep it; does nothing when the key is there already."""
        values = {"owner": owner, "stage": stage, "version": version, "payload": payload}
        with self._db.write() as connection:
            insert_new(connection, t.artefacts, values)

    # inspections

    def add_inspection(self, row: InspectionRow) -> None:
        """Open an inspection.

        Raises:
            ValueError: the id is in use.
        """
        with self._db.write() as connection:
            if not insert_new(connection, t.inspections, row.model_dump()):
                raise ValueError(f"there is an inspection {row.id} already")

    def inspection(self, id: str) -> InspectionRow | None:
        """The inspection of this id."""
        with self._db.read() as connection:
            row = connection.execute(select(t.inspections).where(t.inspections.c.id == id)).mappings().first()
        return None if row is None else InspectionRow.model_validate(dict(row))

    def inspections(self, signed_unit: str | None = None) -> list[InspectionRow]:
        """Newest first; when a unit is named, only its signed ones and every signed amendment."""
        query, i = select(t.inspections), t.inspections.c
        if signed_unit is not None:
            of_unit = (i.unit == signed_unit) | i.folder.startswith(AMENDMENT, autoescape=True)
            query = query.where(of_unit & (i.state == "signed"))
        with self._db.read() as connection:
            return _newest_first(connection.execute(query).mappings())

    def assign(self, sha256: str, inspection: str) -> None:
        """Put a capture into an inspection, widening its started_at and ended_at.

        Raises:
            LookupError: there is no such capture or inspection.
            AmendmentError: the inspection amends a signed one; its draft rests on that one alone.
            SignedError: the inspection, or the one the capture is in, is signed.
        """
        with self._db.write() as connection:
            assign(connection, sha256, inspection)

    def settle(
        self,
        sha256: str,
        choose: Callable[[Sequence[InspectionRow]], InspectionRow | None],
        among: str = "",
    ) -> str | None:
        """Put a capture that is in no inspection yet where it belongs.

        Args:
            sha256: of the capture.
            among: its sub-folder; captures of one sub-folder, and all without one, take turns.
            choose: given the open inspections, newest first: one of them, a new one, or None.

        Returns:
            The inspection it is in now; None when it stays in none.

        Raises:
            LookupError: there is no such capture.
            SignedError: as ``assign``.
        """
        open_ones = select(t.inspections).where(t.inspections.c.state == "open")
        where = select(t.captures.c.inspection).where(t.captures.c.sha256 == sha256)
        with self._db.write() as connection:
            if connection.dialect.name == "postgresql":
                connection.execute(_TURN, {"key": _GROUPING_LOCK, "among": among})
            if inspection := connection.execute(where).scalar():
                return str(inspection)
            row = choose(_newest_first(connection.execute(open_ones).mappings()))
            if row is None:
                return None
            insert_new(connection, t.inspections, row.model_dump())
            assign(connection, sha256, row.id)
            return row.id

    def name_unit(self, inspection: str, unit: str) -> None:
        """Say which truck it is.

        Raises:
            LookupError: there is no such inspection.
            SignedError: it is signed.
        """
        with self._db.write() as connection:
            open_row(connection, inspection)
            change(connection, inspection, {"unit": unit})

    def put_draft(self, inspection: str, record: Record, drawn_from: Collection[str] | None = None) -> bool:
        """Keep the draft, replacing an earlier one.

        A draft that differs from the one it replaces raises the inspection's version, so that a decision made
        on the earlier one is refused as stale.

        Args:
            inspection: its id.
            record: the draft.
            drawn_from: the captures it was drawn up from, by sha256. When others are in the inspection by
                now, nothing is kept: a slower worker must not take away what a faster one found.

        Returns:
            Whether it was kept.

        Raises:
            LookupError: there is no such inspection.
            SignedError: it is signed.
        """
        kept = record_text(record)
        d, c = t.drafts.c, t.captures.c
        with self._db.write() as connection:
            row = open_row(connection, inspection)
            there = connection.execute(select(c.sha256).where(c.inspection == inspection)).scalars()
            if drawn_from is not None and set(there) != set(drawn_from):
                return False
            before = connection.execute(select(d.record).where(d.inspection == inspection)).scalar()
            if before is None:
                connection.execute(insert(t.drafts).values(inspection=inspection, record=kept))
            elif before != kept:
                connection.execute(update(t.drafts).where(d.inspection == inspection).values(record=kept))
                change(connection, inspection, {"version": row.version + 1})
        return True

    def draft(self, inspection: str) -> Record | None:
        """The draft, as the stages made it, without any decision."""
        query = select(t.drafts.c.record).where(t.drafts.c.inspection == inspection)
        return record_of(cast("str | None", self._value(query)))

    # review

    def append_event(self, inspection: str, event: ReviewEvent, expected_version: int) -> int:
        """Add a decision.

        Args:
            inspection: its id.
            event: what was decided.
            expected_version: ``InspectionRow.version``, read before the draft and events that were shown.

        Returns:
            The new version.

        Raises:
            LookupError: there is no such inspection.
            SignedError: it is signed.
            StaleError: expected_version is not current.
        """
        with self._db.write() as connection:
            version = current(connection, inspection, expected_version) + 1
            values = {"inspection": inspection, "version": version, "event": event_text(event)}
            connection.execute(insert(t.review_events).values(values))
            change(connection, inspection, {"version": version})
        return version

    def events(self, inspection: str) -> list[ReviewEvent]:
        """Every decision about an inspection, in the order made."""
        e = t.review_events.c
        query = select(e.event).where(e.inspection == inspection).order_by(e.version)
        with self._db.read() as connection:
            return [
                ReviewEvent.model_validate(json.loads(text)) for text in connection.execute(query).scalars()
            ]

    def sign(self, inspection: str, record: Record, expected_version: int) -> None:
        """Freeze: keep the signed record, set the state, add the outbox row, in one transaction.

        The record that is kept names the one of the same unit that was signed before it, and its hash is
        taken with that name: only here is it certain which one that is.

        Raises:
            ValueError: the record carries no signature or belongs to another inspection.
            LookupError, SignedError, StaleError: as ``append_event``.
        """
        if record.signature is None or record.inspection.id != inspection:
            raise ValueError(f"this is not a signed record of inspection {inspection}")
        with self._db.write() as connection:
            current(connection, inspection, expected_version)
            chain = chain_name(record.inspection.unit or "")
            if before := last_sha256(connection, chain):
                record = chained(record, before)
            values = {"inspection": inspection, "record": record_text(record), "chain": chain}
            sha256 = record.signature.sha256 if record.signature else ""
            connection.execute(insert(t.signed_records).values(values | {"sha256": sha256}))
            connection.execute(insert(t.outbox).values(inspection=inspection))
            change(connection, inspection, {"state": "signed"})

    def signed(self, inspection: str) -> Record | None:
        """The record as it was signed."""
        query = select(t.signed_records.c.record).where(t.signed_records.c.inspection == inspection)
        return record_of(cast("str | None", self._value(query)))

    def chain(self, unit: str) -> list[Record]:
        """The signed records of a unit, in the order signed."""
        with self._db.read() as connection:
            texts = connection.execute(records_of(chain_name(unit))).scalars()
            return [Record.from_json(json.loads(text)) for text in texts]

    # delivery

    def undelivered(self) -> list[Record]:
        """Signed records that have not left yet, in the order signed."""
        query = (
            select(t.signed_records.c.record)
            .join(t.outbox, t.outbox.c.inspection == t.signed_records.c.inspection)
            .where(t.outbox.c.delivered_at.is_(None))
            .order_by(t.outbox.c.id)
        )
        with self._db.read() as connection:
            return [Record.from_json(json.loads(text)) for text in connection.execute(query).scalars()]

    def mark_delivered(self, inspection: str, at: datetime) -> None:
        """Note that a signed record has left; the first time counts.

        Raises:
            LookupError: no signed record of that inspection waits or has left.
        """
        here = t.outbox.c.inspection == inspection
        with self._db.write() as connection:
            if connection.execute(select(t.outbox.c.id).where(here)).first() is None:
                raise LookupError(
                    f"inspection {inspection} is not signed, so nothing can have been delivered"
                )
            connection.execute(
                update(t.outbox).where(here & t.outbox.c.delivered_at.is_(None)).values(delivered_at=at)
            )

    def delivered_at(self, inspection: str) -> datetime | None:
        """When the signed record left; None while it waits or is not signed."""
        query = select(t.outbox.c.delivered_at).where(t.outbox.c.inspection == inspection)
        return cast("datetime | None", self._value(query))

    # pieces

    def _value(self, query: Select[Any]) -> Any:
        with self._db.read() as connection:
            return connection.execute(query).scalar()

    def _captures(self, query: Select[Any]) -> list[Capture]:
        with self._db.read() as connection:
            rows: Sequence[Any] = connection.execute(query).mappings().all()
        found = [Capture.model_validate(dict(row)) for row in rows]
        return sorted(found, key=lambda capture: (capture.captured_at, capture.sha256))
