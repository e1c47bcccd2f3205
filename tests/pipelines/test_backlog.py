"""What the loop over captures does before the first one and between them."""

import threading
from dataclasses import replace
from pathlib import Path

import pytest

from capture.ingest import ingest
from models.store import Store
from pipelines.backlog import Backlog
from pipelines.deadline import Patience, StageFailed
from tests.capture.material import NOW
from tests.doubles import Scripted, workshop, write_note, write_photo

PAD = "Left front outer pad, six millimeters."


def test_models_are_loaded_before_the_first_note_and_only_once(tmp_path: Path) -> None:
    assert order_of_work(tmp_path, fails=False) == ["ready", "note", "note"]


def test_models_that_cannot_be_loaded_yet_keep_no_note_waiting(tmp_path: Path) -> None:
    assert order_of_work(tmp_path, fails=True) == ["ready", "note", "note"]


def test_a_photo_whose_print_could_not_be_read_is_read_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("pipelines.backlog.FIRST_RETRY_S", 0.05)
    home, inbox = tmp_path / "home", tmp_path / "inbox"
    home.mkdir()
    asked: list[int] = []

    def read_print(pixels: object) -> list[tuple[str, float]]:
        asked.append(1)
        if len(asked) == 1:
            raise MemoryError
        return []

    store = Store.open(f"sqlite:///{home / 'droplight.db'}")
    shop = replace(workshop(home, Scripted()), read_print=read_print, patience=Patience(first_s=0.05))
    backlog = Backlog(store, shop, lambda sha256, inspection: backlog.stop() if len(asked) > 1 else None)
    ingest(write_photo(inbox / "417" / "20261120T081500.png"), inbox, store, home, NOW, shop.originals)
    patience_s = threading.Timer(20, backlog.stop)
    patience_s.start()
    try:
        backlog.run()
    finally:
        patience_s.cancel()
        (row,) = store.inspections()
        draft = store.draft(row.id)
        store.close()
    assert len(asked) == 2
    assert draft is not None and "memory" not in " ".join(draft.notices)


def test_a_failed_file_that_nobody_needs_any_more_does_not_keep_the_loop_awake(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("pipelines.backlog.FIRST_RETRY_S", 0.02)
    looks: list[int] = []

    def look(*_: object) -> list[str]:
        looks.append(1)
        return []

    monkeypatch.setattr("pipelines.backlog.unfinished", look)
    store = Store.open(f"sqlite:///{tmp_path / 'droplight.db'}")
    shop = replace(workshop(tmp_path, Scripted()), patience=Patience(first_s=0.02))
    with pytest.raises(StageFailed):
        shop.patience.within(("0" * 64, "transcript"), 5, lambda: 1 / 0, "transcribing", lambda: None)
    backlog = Backlog(store, shop, lambda sha256, inspection: None)
    threading.Timer(1.0, backlog.stop).start()
    try:
        backlog.run()
    finally:
        store.close()
    assert shop.patience.next_try_s() is None
    assert len(looks) <= 2  # at the start, and once when it was due


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
