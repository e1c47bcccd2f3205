"""What was removed on purpose, who speaks in a recording, and signed records whose time is over."""

from collections.abc import Iterable
from datetime import datetime

from sqlalchemy import delete, insert, select

from models.capture import Capture
from models.frozen import Frozen
from models.store import tables as t
from models.store.connection import Database
from models.store.texts import insert_new

_CAPTURE_COLUMNS = [t.captures.c[name] for name in Capture.model_fields]
_LISTENING = ("transcript", "notes")


class Removal(Frozen):
    """That an original was removed on purpose.

    Attributes:
        sha256: of the capture, whose row stays.
        at: when.
        why: one sentence.
    """

    sha256: str
    at: datetime
    why: str


class RemovedRecord(Frozen):
    """What remains of a signed record whose time is over.

    Attributes:
        inspection: its id.
        chain: the unit, in small letters.
        sha256: its hash, which the record signed after it names.
        signed_at: when it was signed.
        removed_at: when it was removed.
    """

    inspection: str
    chain: str
    sha256: str
    signed_at: datetime
    removed_at: datetime


class Keeping:
    """The rows about removing in one database."""

    def __init__(self, database: Database) -> None:
        self._db = database

    # originals

    def note_removal(self, sha256: str, at: datetime, why: str) -> bool:
        """Note that an original is being removed; False when that was noted before. Remove it afterwards.

        In this order a crash between the two leaves a file that the next time removes, never a gap that
        nobody can explain.
        """
        with self._db.write() as connection:
            return insert_new(connection, t.removals, {"sha256": sha256, "at": at, "why": why})

    def came_back(self, sha256: str) -> None:
        """Note that an original is kept again, because somebody dropped it again."""
        with self._db.write() as connection:
            connection.execute(delete(t.removals).where(t.removals.c.sha256 == sha256))

    def removal(self, sha256: str) -> Removal | None:
        """When and why an original was removed; None when it was not."""
        query = select(t.removals).where(t.removals.c.sha256 == sha256)
        with self._db.read() as connection:
            row = connection.execute(query).mappings().first()
        return None if row is None else Removal.model_validate(dict(row))

    def removals(self) -> list[Removal]:
        """Every original that was removed."""
        with self._db.read() as connection:
            rows = connection.execute(select(t.removals).order_by(t.removals.c.sha256)).mappings().all()
        return [Removal.model_validate(dict(row)) for row in rows]

    def forget_transcript(self, sha256: str) -> None:
        """Remove what was heard in a recording: the words of a person are theirs as their voice is."""
        a = t.artefacts.c
        with self._db.write() as connection:
            connection.execute(delete(t.artefacts).where((a.owner == sha256) & a.stage.in_(_LISTENING)))

    def transcripts(self, sha256: str) -> list[str]:
        """What was heard in a recording, as JSON, in each version of the recogniser."""
        a = t.artefacts.c
        query = select(a.payload).where((a.owner == sha256) & (a.stage == "transcript")).order_by(a.version)
        with self._db.read() as connection:
            return [str(payload) for payload in connection.execute(query).scalars()]

    # voices

    def speaks(self, person: str, sha256s: Iterable[str]) -> int:
        """Note who speaks in recordings, replacing whom it was noted for before; returns how many.

        Raises:
            LookupError: one of them is no recording that was taken in; nothing is noted then.
        """
        count = 0
        with self._db.write() as connection:
            for sha256 in sha256s:
                query = select(t.captures.c.kind).where(t.captures.c.sha256 == sha256)
                if connection.execute(query).scalar() != "audio":
                    raise LookupError(f"there is no recording {sha256[:12]}")
                connection.execute(delete(t.voices).where(t.voices.c.sha256 == sha256))
                connection.execute(insert(t.voices).values(sha256=sha256, person=person))
                count += 1
        return count

    def recordings_of(self, person: str) -> list[Capture]:
        """The recordings in which a person speaks, as far as it was noted, in order of time."""
        query = select(*_CAPTURE_COLUMNS).join(t.voices, t.voices.c.sha256 == t.captures.c.sha256)
        with self._db.read() as connection:
            rows = connection.execute(query.where(t.voices.c.person == person)).mappings().all()
        found = [Capture.model_validate(dict(row)) for row in rows]
        return sorted(found, key=lambda capture: (capture.captured_at, capture.sha256))

    # records

    def remove_record(self, kept: RemovedRecord) -> list[str]:
        """Remove a signed record with everything that belongs to it but its hash.

        Args:
            kept: what remains of it.

        Returns:
            The captures that belonged to it, by sha256: their rows are gone, their originals not yet.
        """
        id = kept.inspection
        owned = select(t.captures.c.sha256).where(t.captures.c.inspection == id)
        with self._db.write() as connection:
            captures = [str(sha256) for sha256 in connection.execute(owned).scalars()]
            insert_new(connection, t.removed_records, kept.model_dump())
            for table in (t.sightings, t.removals, t.voices):
                connection.execute(delete(table).where(table.c.sha256.in_(captures)))
            connection.execute(delete(t.artefacts).where(t.artefacts.c.owner.in_([*captures, id])))
            connection.execute(delete(t.captures).where(t.captures.c.inspection == id))
            for table in (t.deliveries, t.outbox, t.signed_records, t.review_events, t.drafts):
                connection.execute(delete(table).where(table.c.inspection == id))
            connection.execute(delete(t.inspections).where(t.inspections.c.id == id))
        return captures

    def removed_records(self) -> list[RemovedRecord]:
        """What remains of the records whose time is over."""
        with self._db.read() as connection:
            rows = connection.execute(select(t.removed_records)).mappings().all()
        return [RemovedRecord.model_validate(dict(row)) for row in rows]
