"""One person's voice, given out and removed, with records that stay as they were signed."""

import json
from collections.abc import Iterator
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from models.settings import Settings
from models.signing import verify
from models.store import Store
from pipelines.commands.main import main
from pipelines.order import redraft
from pipelines.review.app import create_app
from tests.pipelines.operations.garage import inspect, shop, sign_off

KEY = "only-here"


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.delenv("DATABASE_URL", raising=False)
    monkeypatch.setenv("DROPLIGHT_HOME", str(tmp_path / "home"))
    return tmp_path / "home"


@pytest.fixture
def store(home: Path) -> Iterator[Store]:
    opened = Store.open(f"sqlite:///{home / 'droplight.db'}")
    yield opened
    opened.close()


def kept(home: Path) -> set[str]:
    return {p.stem for p in (home / "originals").glob("??/??/*")}


def test_a_voice_is_given_out_with_what_was_heard(
    store: Store, home: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    inspection, note = inspect(store, home, "417", 1)
    inspect(store, home, "9", 2)
    assert main(["people", "speaks", "Bo", inspection]) == 0
    assert main(["people", "export", "Bo", "--out", str(tmp_path / "bo")]) == 0
    assert "1 recordings of Bo" in capsys.readouterr().out
    found = json.loads((tmp_path / "bo" / "recordings.json").read_text())
    (line,) = found["recordings"]
    assert (line["sha256"], line["inspection"]) == (note.sha256, inspection)
    assert "six millimeters" in line["heard"][0]
    from capture.identity import sha256_of

    assert sha256_of(tmp_path / "bo" / line["file"]) == note.sha256


def test_a_voice_is_removed_and_the_record_is_still_what_was_signed(
    store: Store, home: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    inspection, note = inspect(store, home, "417", 1)
    record = sign_off(store, inspection)
    open_one, waiting = inspect(store, home, "9", 2)
    _, other = inspect(store, home, "5", 3)
    app = create_app(store, home, Settings(home=home), key=KEY)
    with TestClient(app, base_url="http://127.0.0.1") as browser:
        browser.get(f"/?key={KEY}")
        assert browser.get(f"/audio/{note.sha256}").status_code == 200  # a review copy is made
        assert main(["people", "speaks", "Bo", inspection, waiting.sha256]) == 0
        assert main(["people", "forget-voice", "Bo"]) == 0
        said = capsys.readouterr().out
        assert "1 recordings" in said and waiting.original_name in said and "--unsigned-too" in said
        assert kept(home) == {waiting.sha256, other.sha256}
        assert list((home / "review-copies").glob(f"{note.sha256}*")) == []
        answer = browser.get(f"/audio/{note.sha256}")
        assert answer.status_code == 404
        assert "was removed on" in answer.text and "asked for that" in answer.text
    signed = store.signed(inspection)
    assert signed == record and verify(json.loads(json.dumps(record.to_json())))
    assert [c.sha256 for c in record.captures] == [note.sha256]
    assert store.keeping.transcripts(note.sha256) == []
    assert main(["people", "export", "Bo", "--out", str(tmp_path / "bo")]) == 0
    lines = json.loads((tmp_path / "bo" / "recordings.json").read_text())["recordings"]
    assert [("removed" in line, "file" in line) for line in lines] == [(True, False), (False, True)]
    assert main(["people", "forget-voice", "Bo", "--unsigned-too"]) == 0
    assert kept(home) == {other.sha256}
    draft = store.draft(open_one)
    assert redraft(store, open_one, shop(home)) == draft  # what was heard stays until it is signed


def test_what_is_no_recording_is_said_and_nothing_noted(
    store: Store, home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    _, note = inspect(store, home, "417", 1)
    assert main(["people", "speaks", "Bo", note.sha256, "f" * 64]) == 1
    assert "no recording ffffffffffff" in capsys.readouterr().err
    assert store.keeping.recordings_of("Bo") == []
