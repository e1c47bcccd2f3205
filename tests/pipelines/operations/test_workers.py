"""Several workers on one PostgreSQL: every capture is worked on once, whoever dies meanwhile."""

import os
import signal
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from sqlalchemy import create_engine, text

from models.store import Store
from models.store.connection import HEAD
from tests.pipelines.operations.conftest import drop

ROOT = Path(__file__).parents[3]
DRIVER = Path(__file__).with_name("worker_driver.py")

Start = Callable[[int], "subprocess.Popen[str]"]


def mark(home: Path, number: int) -> Path:
    return home / f"mark{number}"


@pytest.fixture
def start(address: str, tmp_path: Path) -> Iterator[Start]:
    begun: list[subprocess.Popen[str]] = []
    home = tmp_path / "home"

    def one(number: int) -> "subprocess.Popen[str]":
        begun.append(
            subprocess.Popen(
                [sys.executable, str(DRIVER), address, str(home), str(mark(home, number))],
                cwd=ROOT,
                env={**os.environ, "PYTHONPATH": str(ROOT)},
                stderr=subprocess.PIPE,
                text=True,
            )
        )
        return begun[-1]

    yield one
    for process in begun:
        process.kill()
        process.communicate()


def wait(what: Callable[[], object], seconds: float = 100.0) -> None:
    end = time.monotonic() + seconds
    while not what():
        assert time.monotonic() < end, "it took too long"
        time.sleep(0.05)


def jobs_left(store: Store) -> int:
    assert store.jobs is not None
    return store.jobs.counts().left


def artefacts(address: str) -> Counter[tuple[str, str]]:
    engine = create_engine(address)
    with engine.connect() as connection:
        rows = connection.execute(text("SELECT owner, stage FROM artefacts")).all()
    engine.dispose()
    return Counter((row.owner, row.stage) for row in rows)


def check_whole(store: Store, address: str, units: int, notes: int) -> None:
    """One inspection a unit with all its notes, one set of artefacts a note, nothing left over."""
    rows = store.inspections()
    assert sorted(row.folder for row in rows) == [str(400 + n) for n in range(units)]
    for row in rows:
        draft = store.draft(row.id)
        assert draft is not None
        assert [c.sha256 for c in draft.captures] == [c.sha256 for c in store.captures(row.id)]
        assert len(draft.captures) == notes
        assert draft.notices == ()
    expected = {(c.sha256, stage): 1 for c in store.captures() for stage in ("transcript", "notes")}
    assert artefacts(address) == expected


@pytest.mark.timeout(250)
def test_a_killed_worker_s_job_is_taken_over_and_all_is_done_once(
    store: Store, address: str, start: Start, tmp_path: Path
) -> None:
    home = tmp_path / "home"
    drop(store, home, units=4, notes=3)
    assert jobs_left(store) == 12
    workers = [start(n) for n in range(3)]
    wait(mark(home, 1).exists)
    os.kill(workers[1].pid, signal.SIGKILL)
    wait(lambda: jobs_left(store) == 0)
    check_whole(store, address, units=4, notes=3)
    for process in (workers[0], workers[2]):
        process.send_signal(signal.SIGTERM)
    said = [process.communicate(timeout=20)[1] for process in (workers[0], workers[2])]
    assert "in hand of a worker that died: taken over" in "".join(said)
    assert [process.wait(10) for process in workers] == [0, -signal.SIGKILL, 0]


@pytest.mark.timeout(250)
def test_what_is_dropped_while_workers_are_at_work_is_done_too(
    store: Store, address: str, start: Start, tmp_path: Path
) -> None:
    home = tmp_path / "home"
    worker = start(0)
    drop(store, home, units=2, notes=2)
    wait(lambda: jobs_left(store) == 0)
    check_whole(store, address, units=2, notes=2)
    worker.send_signal(signal.SIGTERM)
    assert worker.wait(20) == 0


@pytest.mark.timeout(250)
def test_a_worker_stops_and_says_so_when_a_newer_program_has_changed_the_tables(
    store: Store, address: str, start: Start, tmp_path: Path
) -> None:
    worker = start(0)
    drop(store, tmp_path / "home", units=1, notes=1)
    wait(lambda: jobs_left(store) == 0)
    engine = create_engine(address)
    with engine.begin() as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = '9999'"))
    drop(store, tmp_path / "home", units=2, notes=2)
    said = worker.communicate(timeout=20)[1]
    assert worker.returncode != 0
    assert "newer Droplight has changed the tables" in said
    assert store.jobs is not None
    assert store.jobs.counts().failed == 0 and jobs_left(store) >= 3  # all is still there for newer workers
    with engine.begin() as connection:
        connection.execute(text(f"UPDATE alembic_version SET version_num = '{HEAD}'"))
    engine.dispose()
