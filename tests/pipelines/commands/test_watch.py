"""`droplight watch`, stopped once it has done what was dropped."""

import os
import signal
import threading
import time
from pathlib import Path

import pytest

from models.store import Store
from pipelines.commands.main import main
from tests.doubles import Failing, Scripted, write_note
from tests.pipelines.commands.conftest import Equip

PAD = "Left front outer pad, six millimeters."


@pytest.fixture
def inbox(home: Path, tmp_path: Path) -> Path:
    home.mkdir()
    (home / "settings.yaml").write_text("watch: {settle_s: 0, rescan_s: 0.2, mode: polling}\n")
    folder = tmp_path / "inbox"
    folder.mkdir()
    return folder


@pytest.fixture(autouse=True)
def signals_as_before() -> object:
    kept = {number: signal.getsignal(number) for number in (signal.SIGINT, signal.SIGTERM)}
    yield
    for number, handler in kept.items():
        signal.signal(number, handler)


class StopsWhenAsked(Scripted):
    """Asks the program to stop while it hears the last window that it knows a text for."""

    def hear(self, samples: object) -> object:
        if len(self.windows) + 1 >= len(self.texts):
            os.kill(os.getpid(), signal.SIGTERM)
        return super().hear(samples)  # type: ignore[arg-type]


def watch(inbox: Path) -> int:
    """Run, and stop after some seconds at the latest."""
    guard = threading.Timer(15, os.kill, (os.getpid(), signal.SIGTERM))
    guard.start()
    try:
        return main(["watch", str(inbox)])
    finally:
        guard.cancel()


def drafted(home: Path) -> list[str]:
    store = Store.open(f"sqlite:///{home / 'droplight.db'}")
    try:
        drafts = [store.draft(row.id) for row in store.inspections()]
    finally:
        store.close()
    return [f"{d.inspection.unit}: {len(d.findings)}" for d in drafts if d is not None]


def test_what_lies_there_is_taken_in_and_drafted_and_a_signal_stops_it(
    inbox: Path, home: Path, equip: Equip, capsys: pytest.CaptureFixture[str]
) -> None:
    note = write_note(inbox / "417" / "20261120T081500.wav")
    equip(StopsWhenAsked([PAD]))
    began = time.monotonic()
    assert watch(inbox) == 0
    assert time.monotonic() - began < 15
    said = capsys.readouterr()
    assert f"taken in: {note.name}" in said.out
    assert f"{note.name}: unit 417, 1 findings" in said.out
    assert "Finishing what is in hand" in said.out
    assert "Traceback" not in said.err
    assert not note.exists()
    assert drafted(home) == ["417: 1"]


def test_what_was_left_unfinished_is_done_at_the_next_start(
    inbox: Path, home: Path, equip: Equip, capsys: pytest.CaptureFixture[str]
) -> None:
    from datetime import UTC, datetime

    from capture.ingest import ingest

    note = write_note(inbox / "417" / "20261120T081500.wav")
    store = Store.open(f"sqlite:///{home / 'droplight.db'}")
    ingest(note, inbox, store, home, datetime(2026, 11, 20, tzinfo=UTC))
    store.close()
    equip(StopsWhenAsked([PAD]))
    assert watch(inbox) == 0
    assert drafted(home) == ["417: 1"]
    assert "taken in" not in capsys.readouterr().out


def test_a_file_that_cannot_be_read_is_rejected_with_its_reason(
    inbox: Path, equip: Equip, capsys: pytest.CaptureFixture[str]
) -> None:
    (inbox / "broken.wav").write_bytes(b"RIFF")
    write_note(inbox / "417" / "20261120T081500.wav")
    equip(StopsWhenAsked([PAD]))
    assert watch(inbox) == 0
    said = capsys.readouterr().out
    assert "rejected: broken.wav" in said
    assert (inbox / "rejected" / "broken.wav").exists()
    assert "broken.wav" in (inbox / "rejected" / "broken.wav.why.txt").read_text()


class FailsAndStops(Failing):
    def hear(self, samples: object) -> object:
        os.kill(os.getpid(), signal.SIGTERM)
        return super().hear(samples)  # type: ignore[arg-type]


def test_a_failing_recogniser_does_not_end_the_watch(
    inbox: Path, home: Path, equip: Equip, capsys: pytest.CaptureFixture[str]
) -> None:
    write_note(inbox / "417" / "20261120T081500.wav")
    equip(FailsAndStops())
    assert watch(inbox) == 0
    assert "Traceback" not in capsys.readouterr().err
    assert drafted(home) == ["417: 0"]


@pytest.mark.parametrize("inside", ["home", "home/inbox", "."])
def test_an_inbox_in_the_data_folder_is_refused(
    inside: str, tmp_path: Path, equip: Equip, capsys: pytest.CaptureFixture[str]
) -> None:
    equip(Scripted())
    assert watch(tmp_path / inside) == 1
    assert "must not lie inside each other" in capsys.readouterr().err


def test_an_inbox_that_is_a_file_is_said(
    tmp_path: Path, equip: Equip, capsys: pytest.CaptureFixture[str]
) -> None:
    equip(Scripted())
    (tmp_path / "file").write_text("x")
    assert watch(tmp_path / "file") == 1
    said = capsys.readouterr().err
    assert said.startswith("droplight: ") and "file" in said
