"""A data folder with signed and unsigned inspections in it, made by the real order of work with doubles."""

from datetime import UTC, datetime, timedelta
from pathlib import Path

from capture.ingest import ingest
from capture.originals import Originals
from models.capture import Capture
from models.events import ReviewEvent, reviewed
from models.record import Record
from models.signing import sign
from models.store import Store
from pipelines.order import advance
from pipelines.workshop import Workshop
from tests.doubles import Scripted, workshop, write_note

NOW = datetime(2026, 11, 20, 12, tzinfo=UTC)
PAD = "Left front outer pad, six millimeters."


def inspect(
    store: Store, home: Path, unit: str, salt: int, originals: Originals | None = None
) -> tuple[str, Capture]:
    """One note of one truck, drafted; returns the inspection and the note."""
    inbox = home.parent / "inbox"
    path = write_note(inbox / unit / f"20261120T08{salt:02}00.wav", 1.5, salt=salt)
    taken = ingest(path, inbox, store, home, NOW, originals)
    assert isinstance(taken, Capture)
    inspection = advance(store, taken.sha256, shop(home))
    assert inspection is not None
    return inspection, taken


def shop(home: Path) -> Workshop:
    return workshop(home, Scripted([PAD]))


def sign_off(store: Store, inspection: str, at: datetime = NOW, delivered: bool = True) -> Record:
    """Confirm every finding and sign."""
    draft = store.draft(inspection)
    assert draft is not None and draft.findings
    for finding in draft.findings:
        row = store.inspection(inspection)
        assert row is not None
        event = ReviewEvent(kind="confirm", finding=finding.id, by="Ana", at=at)
        store.append_event(inspection, event, row.version)
    row = store.inspection(inspection)
    assert row is not None
    store.sign(inspection, sign(reviewed(draft, store.events(inspection)), "Ana", at), row.version)
    if delivered:
        store.mark_delivered(inspection, at + timedelta(minutes=1))
    signed = store.signed(inspection)
    assert signed is not None
    return signed
