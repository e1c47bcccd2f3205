"""`droplight deliver` when there is nothing to deliver."""

from datetime import UTC, datetime
from pathlib import Path

import pytest

from capture.ingest import ingest
from models.capture import Capture
from models.store import Store
from pipelines.commands.main import main
from pipelines.order import advance
from tests.doubles import Scripted, workshop, write_note


def test_nothing_signed_is_no_error(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["deliver", "--out", str(tmp_path / "out")]) == 0
    assert capsys.readouterr().out == "Nothing to write: no signed record is waiting.\n"


def test_an_unknown_inspection_is_said(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["deliver", "--out", str(tmp_path / "out"), "--inspection", "none"]) == 1
    said = capsys.readouterr()
    assert said.err == "droplight: There is no inspection none.\n"
    assert not (tmp_path / "out").exists()


def test_an_unsigned_inspection_is_refused(
    home: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    home.mkdir()
    inbox = tmp_path / "inbox"
    note = write_note(inbox / "417" / "20261120T081500.wav")
    store = Store.open(f"sqlite:///{home / 'droplight.db'}")
    taken = ingest(note, inbox, store, home, datetime(2026, 11, 20, tzinfo=UTC))
    assert isinstance(taken, Capture)
    shop = workshop(home, Scripted(["Left front outer pad, six millimeters."]))
    inspection = advance(store, taken.sha256, shop)
    assert inspection is not None
    store.close()
    assert main(["deliver", "--out", str(tmp_path / "out"), "--inspection", inspection]) == 1
    assert "sign" in capsys.readouterr().err
    assert main(["deliver", "--out", str(tmp_path / "out")]) == 0
    assert "1 inspection(s) are not signed" in capsys.readouterr().out
    assert not (tmp_path / "out").exists() or list((tmp_path / "out").iterdir()) == []
