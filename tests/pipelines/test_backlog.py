"""What the loop over captures does before the first one and between them."""

import threading
import time
from dataclasses import replace
from pathlib import Path

import pytest

from capture.ingest import ingest
from models.capture import Capture
from models.store import Store
from pipelines.backlog import Backlog
from pipelines.deadline import Patience, StageFailed
from pipelines.workshop import Workshop
from tests.capture.material import NOW
from tests.doubles import Scripted, workshop, write_note, write_photo

GONE = "0" * 64
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
    store = Store.open(f"sqlite:///{tmp_path / 'droplight.db'}")
    asked: list[str] = []
    real = store.capture

    def capture(sha256: str) -> Capture | None:
        asked.append(sha256)
        return real(sha256)

    monkeypatch.setattr(store, "capture", capture)
    shop = replace(workshop(tmp_path, Scripted()), patience=Patience(first_s=0.02))
    with pytest.raises(StageFailed):
        shop.patience.within((GONE, "transcript"), 5, lambda: 1 / 0, "transcribing", lambda: None)
    backlog = Backlog(store, shop, lambda sha256, inspection: None)
    threading.Timer(0.5, backlog.stop).start()
    try:
        backlog.run()
    finally:
        store.close()
    assert asked == [GONE]
    assert shop.patience.next_try_s() is None


def test_what_failed_has_its_turn_though_others_never_stop_coming(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A recogniser fell on one, and the database was locked for another; a third comes again and again."""
    monkeypatch.setattr("pipelines.backlog.FIRST_RETRY_S", 0.05)
    fallen, locked, busy = (c * 64 for c in "abc")
    tries: list[str] = []
    shop = replace(workshop(tmp_path, Scripted()), patience=Patience(first_s=0.05))

    def work(store: Store, sha256: str, shop: Workshop) -> None:
        tries.append(sha256)
        if sha256 == locked and tries.count(locked) == 1:
            raise OSError("database is locked")
        if sha256 == fallen and tries.count(fallen) == 1:
            with pytest.raises(StageFailed):
                shop.patience.within((fallen, "transcript"), 5, lambda: 1 / 0, "transcribing", lambda: None)
        if sha256 == busy:
            time.sleep(0.005)
            backlog.put(busy)

    monkeypatch.setattr("pipelines.backlog.advance", work)
    store = Store.open(f"sqlite:///{tmp_path / 'droplight.db'}")
    monkeypatch.setattr(store, "capture", lambda sha256: sha256)
    backlog = Backlog(store, shop, lambda sha256, inspection: None)
    for sha256 in (fallen, locked, busy):
        backlog.put(sha256)
    threading.Timer(1.0, backlog.stop).start()
    try:
        backlog.run()
    finally:
        store.close()
    assert [tries.count(fallen), tries.count(locked)] == [2, 2]
    assert tries.count(busy) > 10


def test_what_waits_already_is_not_queued_again(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    done: list[str] = []
    monkeypatch.setattr("pipelines.backlog.advance", lambda store, sha256, shop: done.append(sha256))
    monkeypatch.setattr("pipelines.backlog.unfinished", lambda store, shop: ["a", "b", "c"])
    store = Store.open(f"sqlite:///{tmp_path / 'droplight.db'}")
    monkeypatch.setattr(store, "capture", lambda sha256: sha256)
    backlog = Backlog(store, workshop(tmp_path, Scripted()), lambda sha256, inspection: None)
    for sha256 in ("b", "a", "b"):
        backlog.put(sha256)
    threading.Timer(0.5, backlog.stop).start()
    try:
        backlog.run()
    finally:
        store.close()
    assert done == ["b", "a", "c"]


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
