"""What the loop over captures does before the first one and between them."""

from dataclasses import replace
from pathlib import Path

from capture.ingest import ingest
from models.store import Store
from pipelines.backlog import Backlog
from tests.capture.material import NOW
from tests.doubles import Scripted, workshop, write_note

PAD = "Left front outer pad, six millimeters."


def test_models_are_loaded_before_the_first_note_and_only_once(tmp_path: Path) -> None:
    assert order_of_work(tmp_path, fails=False) == ["ready", "note", "note"]


def test_models_that_cannot_be_loaded_yet_keep_no_note_waiting(tmp_path: Path) -> None:
    assert order_of_work(tmp_path, fails=True) == ["ready", "note", "note"]


def order_of_work(folder: Path, *, fails: bool) -> list[str]:
    """Take in two notes, and say in which order models and notes had their turn."""
    home, inbox = folder / "home", folder / "inbox"
    home.mkdir()
    happened: list[str] = []

    def ready() -> None:
        happened.append("ready")
        if fails:
            raise MemoryError

    store = Store.open(f"sqlite:///{home / 'droplight.db'}")
    shop = replace(workshop(home, Scripted([PAD, PAD])), ready=ready)

    def report(sha256: str, inspection: str | None) -> None:
        assert inspection is not None
        happened.append("note")
        if happened.count("note") == 2:
            backlog.stop()

    backlog = Backlog(store, shop, report)
    try:
        for salt in (1, 2):
            note = write_note(inbox / "417" / f"20261120T08150{salt}.wav", salt=salt)
            ingest(note, inbox, store, home, NOW, shop.originals)
        backlog.run()
    finally:
        store.close()
    return happened
