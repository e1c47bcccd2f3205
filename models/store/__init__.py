"""Where state is kept: one small class over the tables."""

from datetime import datetime

from models.capture import Capture, Rejection
from models.events import ReviewEvent
from models.frozen import Frozen
from models.record import Record


class InspectionRow(Frozen):
    """An inspection that captures are grouped under.

    Attributes:
        id: UUID.
        unit: what the shop calls the truck; None until known.
        folder: sub-folder of the inbox its captures lie in; empty when none.
        started_at: time of its first capture.
        ended_at: time of its last capture.
        state: open, or signed and frozen.
        version: number of review events; a decision names the version it was made on.
    """

    id: str
    unit: str | None
    folder: str
    started_at: datetime
    ended_at: datetime
    state: str
    version: int


class StaleError(Exception):
    """Somebody else decided in the meantime: look at the newer state and decide again."""


class SignedError(Exception):
    """This inspection is signed and cannot be changed."""


class Store:
    """All state of one Droplight: SQLite file or PostgreSQL database."""

    @classmethod
    def open(cls, url: str) -> "Store":
        """Open, creating or upgrading the tables. `url` is an SQLAlchemy URL (``sqlite:////path/droplight.db``)."""
        raise NotImplementedError

    def close(self) -> None: ...

    # captures
    def add_capture(self, capture: Capture, arrived_at: datetime) -> bool:
        """Store a capture; False when its content was taken in before (then only 'seen again' is noted)."""
        raise NotImplementedError

    def capture(self, sha256: str) -> Capture | None: raise NotImplementedError
    def captures(self, inspection: str | None = None) -> list[Capture]:
        """All captures in order of captured_at, or those of one inspection."""
        raise NotImplementedError
    def unassigned(self) -> list[Capture]: raise NotImplementedError
    def sightings(self, sha256: str) -> int:
        """How often the same content arrived again."""
        raise NotImplementedError
    def add_rejection(self, rejection: Rejection) -> None: raise NotImplementedError
    def rejections(self) -> list[Rejection]: raise NotImplementedError

    # artefacts: what a stage made of a capture (or of an inspection), as JSON text
    def artefact(self, owner: str, stage: str, version: str) -> str | None: raise NotImplementedError
    def put_artefact(self, owner: str, stage: str, version: str, payload: str) -> None:
        """Keep it; does nothing when the key is there already."""
        raise NotImplementedError

    # inspections
    def add_inspection(self, row: InspectionRow) -> None: raise NotImplementedError
    def inspection(self, id: str) -> InspectionRow | None: raise NotImplementedError
    def inspections(self) -> list[InspectionRow]:
        """Newest first."""
        raise NotImplementedError
    def assign(self, sha256: str, inspection: str) -> None:
        """Put a capture into an inspection, widening its started_at/ended_at."""
        raise NotImplementedError
    def name_unit(self, inspection: str, unit: str) -> None: raise NotImplementedError
    def put_draft(self, inspection: str, record: Record) -> None:
        """Replace the draft (SignedError when signed)."""
        raise NotImplementedError
    def draft(self, inspection: str) -> Record | None: raise NotImplementedError

    # review
    def append_event(self, inspection: str, event: ReviewEvent, expected_version: int) -> int:
        """Add a decision; returns the new version. StaleError when expected_version is not current, SignedError."""
        raise NotImplementedError
    def events(self, inspection: str) -> list[ReviewEvent]: raise NotImplementedError
    def sign(self, inspection: str, record: Record, expected_version: int) -> None:
        """Freeze: keep the signed record, set state, add the outbox row, in one transaction."""
        raise NotImplementedError
    def signed(self, inspection: str) -> Record | None: raise NotImplementedError
    def undelivered(self) -> list[Record]: raise NotImplementedError
    def mark_delivered(self, inspection: str, at: datetime) -> None: raise NotImplementedError
