"""`droplight worker` in one process, and where there is nothing to work on together."""

import signal
import threading
import time
from datetime import UTC, datetime
from pathlib import Path

import pytest

from capture.ingest import ingest
from models.store import Store
from pipelines.commands.main import main
from tests.database_server import fresh_schema
from tests.doubles import Failing, Scripted, write_note
from tests.pipelines.commands.conftest import Equip

TIMES = "worker: {heartbeat_s: 2, poll_s: 0.1, retry_s: 0, reconnect_s: 0.1}\n"


@pytest.fixture(autouse=True)
def signals_as_before() -> object:
    kept = {number: signal.getsignal(number) for number in (signal.SIGINT, signal.SIGTERM)}
    yield
    for number, handler in kept.items():
        signal.signal(number, handler)


@pytest.fixture
def address(home: Path, server: str | None, monkeypatch: pytest.MonkeyPatch) -> str:
    if server is None:
        pytest.skip("PostgreSQL is not installed here, and DROPLIGHT_TEST_POSTGRES names no database")
    found = fresh_schema(server, "droplight_command")
    monkeypatch.setenv("DATABASE_URL", found)
    home.mkdir()
    (home / "settings.yaml").write_text(TIMES)
    return found


def run_until(store: Store, done: object, *words: str) -> int:
    """Run the command, and ask it to stop once there is nothing left to do."""

    def watch() -> None:
        end = time.monotonic() + 200
        while time.monotonic() < end and not done():  # type: ignore[operator]
            time.sleep(0.05)
        signal.raise_signal(signal.SIGTERM)

    thread = threading.Thread(target=watch)
    thread.start()
    try:
        return main(["worker", *words])
    finally:
        thread.join()


def test_without_a_shared_database_it_says_what_to_do(
    equip: Equip, capsys: pytest.CaptureFixture[str]
) -> None:
    equip(Scripted())
    assert main(["worker"]) == 1
    said = capsys.readouterr().err
    assert "postgresql+psycopg://" in said and "droplight watch" in said


def test_it_drafts_what_waits_and_what_failed_is_tried_again_when_asked(
    address: str, home: Path, tmp_path: Path, equip: Equip, capsys: pytest.CaptureFixture[str]
) -> None:
    note = write_note(tmp_path / "in" / "417" / "20261120T081500.wav")
    store = Store.open(address)
    jobs = store.jobs
    assert jobs is not None
    ingest(note, tmp_path / "in", store, home, datetime.now(UTC))
    equip(Failing())
    assert run_until(store, lambda: jobs.counts().failed == 1) == 0
    (row,) = store.inspections()
    draft = store.draft(row.id)
    assert draft is not None and "not enough memory" in " ".join(draft.notices)
    equip(Scripted(["Left front outer pad, six millimeters."]))
    # counted at one moment: between two counts the job may go from given up to waiting, and be in neither
    assert run_until(store, lambda: jobs.counts().left == 0, "--retry") == 0
    said = capsys.readouterr().out
    assert "1 given up before, tried again." in said
    draft = store.draft(row.id)
    assert draft is not None
    assert [len(draft.findings), draft.notices] == [1, ()]
    store.close()


def test_watch_leaves_the_work_to_workers(
    address: str, home: Path, tmp_path: Path, equip: Equip, capsys: pytest.CaptureFixture[str]
) -> None:
    (home / "settings.yaml").write_text(TIMES + "watch: {settle_s: 0, rescan_s: 0.2, mode: polling}\n")
    write_note(tmp_path / "in" / "417" / "20261120T081500.wav")
    equip(Scripted(["Left front outer pad, six millimeters."]))
    store = Store.open(address)
    jobs = store.jobs
    assert jobs is not None

    def stop_when_taken() -> None:
        end = time.monotonic() + 200
        while time.monotonic() < end and not store.captures():
            time.sleep(0.05)
        signal.raise_signal(signal.SIGTERM)

    thread = threading.Thread(target=stop_when_taken)
    thread.start()
    assert main(["watch", str(tmp_path / "in")]) == 0
    thread.join()
    assert jobs.counts().waiting == 1 and store.inspections() == []
    assert "waits for droplight worker" in capsys.readouterr().out
    store.close()
