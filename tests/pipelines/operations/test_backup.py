"""A backup is whole, is taken while work goes on, and comes back on either database with every signature."""

import json
import sqlite3
import threading
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import pytest

from capture.identity import sha256_of
from capture.originals import Folder
from models.settings import Settings
from models.signing import verify
from models.store import Store
from pipelines.commands.main import main
from pipelines.operations.backup import BackupError, back_up, check_backup, restore
from tests.database_server import fresh_schema
from tests.pipelines.operations.garage import NOW, inspect, sign_off

Url = Callable[[str, Path], str]


@pytest.fixture
def url(server: str | None) -> Url:
    def make(kind: str, home: Path) -> str:
        if kind == "sqlite":
            return f"sqlite:///{home / 'droplight.db'}"
        if server is None:
            pytest.skip("PostgreSQL is not installed here, and DROPLIGHT_TEST_POSTGRES names no database")
        return fresh_schema(server, f"droplight_{home.name}")

    return make


def fill(settings: Settings) -> tuple[Store, list[str]]:
    """Two signed inspections of a truck, one of another that is open; returns what was signed, as JSON."""
    store = Store.open(settings.store_url())
    texts = []
    for salt, minutes in ((1, 0), (2, 60)):
        inspection, _ = inspect(store, settings.home, "417", salt)
        texts.append(json.dumps(sign_off(store, inspection, NOW + timedelta(minutes=minutes)).to_json()))
    inspect(store, settings.home, "9", 3)
    (settings.home / "settings.yaml").write_text("shop: County garage\n")
    (settings.home / "limits").mkdir()
    (settings.home / "limits" / "ours.yaml").write_text("limits: []\n")
    return store, texts


@pytest.mark.parametrize(
    ("from_", "to"), [("sqlite", "sqlite"), ("sqlite", "postgresql"), ("postgresql", "sqlite")]
)
def test_what_is_saved_comes_back_and_every_signature_holds(
    from_: str, to: str, url: Url, tmp_path: Path
) -> None:
    home, other = tmp_path / "home", tmp_path / "other"
    before = Settings(home=home, database_url=url(from_, home))
    store, texts = fill(before)
    made = back_up(store, before, tmp_path / "backups", NOW)
    captures = store.captures()
    store.close()
    assert sorted(p.name for p in made.iterdir()) == [
        "droplight.db",
        "limits",
        "manifest.json",
        "settings.yaml",
    ]
    assert check_backup(made) == (2, 3)
    after = Settings(home=other, database_url=url(to, other))
    assert restore(made, after) == (2, 3)
    store = Store.open(after.store_url())
    assert store.captures() == captures
    chain = store.chain("417")
    assert [json.dumps(record.to_json()) for record in chain] == texts
    assert all(verify(json.loads(text)) for text in texts)
    assert len([row for row in store.inspections() if row.state == "open"]) == 1
    assert (other / "limits" / "ours.yaml").read_text() == "limits: []\n"
    for capture in captures:
        assert sha256_of(Folder(other / "originals").path(capture.sha256)) == capture.sha256
    # and work goes on: numbers that the database gives out do not clash with those that came back
    inspection, _ = inspect(store, other, "417", 4)
    signed = sign_off(store, inspection, NOW + timedelta(days=1))
    assert signed.signature and chain[-1].signature
    assert signed.signature.previous_sha256 == chain[-1].signature.sha256
    store.close()


def test_a_backup_during_work_is_of_one_moment(tmp_path: Path) -> None:
    settings = Settings(home=tmp_path / "home")
    store = Store.open(settings.store_url())
    done = threading.Event()

    def work() -> None:
        for salt in range(1, 13):
            inspection, _ = inspect(store, settings.home, str(salt), salt)
            sign_off(store, inspection)
        done.set()

    thread = threading.Thread(target=work)
    thread.start()
    made = []
    while not done.wait(0.05):
        made.append(back_up(store, settings, tmp_path / "backups", NOW + timedelta(seconds=len(made))))
    thread.join()
    store.close()
    counts = [check_backup(one) for one in made]
    assert counts == sorted(counts)
    assert all(abs(records - originals) <= 1 for records, originals in counts)
    assert len(made) >= 2


def test_a_second_backup_copies_only_what_is_new(tmp_path: Path) -> None:
    settings = Settings(home=tmp_path / "home")
    store, _ = fill(settings)
    back_up(store, settings, tmp_path / "backups", NOW)
    pool = tmp_path / "backups" / "originals"
    stamps = {p: p.stat().st_mtime_ns for p in pool.rglob("*.wav")}
    inspect(store, settings.home, "9", 5)
    second = back_up(store, settings, tmp_path / "backups", NOW + timedelta(days=1))
    store.close()
    assert check_backup(second) == (2, 4)
    assert {p: p.stat().st_mtime_ns for p in pool.rglob("*.wav") if p in stamps} == stamps
    with pytest.raises(BackupError, match="there already"):
        back_up(Store.open(settings.store_url()), settings, tmp_path / "backups", NOW)


@pytest.mark.parametrize("what", ["record", "original", "missing", "settings", "manifest"])
def test_damage_is_found_before_anything_is_put_back(what: str, tmp_path: Path) -> None:
    settings = Settings(home=tmp_path / "home")
    store, _ = fill(settings)
    made = back_up(store, settings, tmp_path / "backups", NOW)
    store.close()
    original = next((tmp_path / "backups" / "originals").rglob("*.wav"))
    original.chmod(0o600)
    if what == "record":
        # somebody changes a value and makes the manifest fit again
        raw = sqlite3.connect(made / "droplight.db")
        raw.execute("UPDATE signed_records SET record = replace(record, '\"6', '\"7')")
        raw.commit()
        raw.close()
        manifest = json.loads((made / "manifest.json").read_text())
        manifest["files"]["droplight.db"] = sha256_of(made / "droplight.db")
        (made / "manifest.json").write_text(json.dumps(manifest))
    elif what == "original":
        original.write_bytes(original.read_bytes()[:-1] + b"x")
    elif what == "missing":
        original.unlink()
    elif what == "settings":
        (made / "settings.yaml").write_text("shop: Another\n")
    else:
        (made / "manifest.json").write_text("{}")
    with pytest.raises(BackupError):
        check_backup(made)
    with pytest.raises(BackupError):
        restore(made, Settings(home=tmp_path / "other"))
    assert not (tmp_path / "other").exists()


def test_nothing_is_put_over_what_is_there(tmp_path: Path) -> None:
    settings = Settings(home=tmp_path / "home")
    store, _ = fill(settings)
    made = back_up(store, settings, tmp_path / "backups", NOW)
    kept = [row.id for row in store.inspections()]
    store.close()
    with pytest.raises(BackupError, match="not empty"):
        restore(made, settings)
    store = Store.open(settings.store_url())
    assert [row.id for row in store.inspections()] == kept
    store.close()


def test_a_missing_original_is_said_and_no_half_backup_is_left(tmp_path: Path) -> None:
    settings = Settings(home=tmp_path / "home")
    store, _ = fill(settings)
    next((settings.home / "originals").rglob("*.wav")).unlink()
    with pytest.raises(BackupError, match="missing"):
        back_up(store, settings, tmp_path / "backups", NOW)
    store.close()
    assert [p.name for p in (tmp_path / "backups").iterdir()] == ["originals"]


def test_the_commands(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.delenv("DATABASE_URL", raising=False)
    settings = Settings(home=tmp_path / "home")
    fill(settings)[0].close()
    home = ["--home", str(settings.home)]
    assert main([*home, "backup", str(settings.home / "backups")]) == 1
    assert "another disk" in capsys.readouterr().err
    assert main([*home, "backup", str(tmp_path / "backups")]) == 0
    said = capsys.readouterr().out
    assert "2 signed records verified, 3 originals, all whole" in said
    (made,) = [p for p in (tmp_path / "backups").iterdir() if p.name != "originals"]
    assert main(["--home", str(tmp_path / "new"), "restore", str(made), "--check"]) == 0
    assert not (tmp_path / "new" / "droplight.db").exists()
    assert main(["--home", str(tmp_path / "new"), "restore", str(made)]) == 0
    assert "every signature holds" in capsys.readouterr().out
    assert main(["--home", str(tmp_path / "new"), "restore", str(made)]) == 1
    assert "not empty" in capsys.readouterr().err
