"""The queue's worker in this process: lost connections, and captures that take their workers with them."""

import threading
import time
from collections.abc import Callable, Iterator
from datetime import UTC, datetime

import pytest
from sqlalchemy import create_engine, text

from models.capture import Capture
from models.settings import WorkerSettings
from models.store import Store
from models.store.jobs import MOST_ATTEMPTS, Jobs
from tests.database_server import fresh_schema

NOON = datetime(2026, 11, 20, 12, tzinfo=UTC)
TIMES = WorkerSettings(heartbeat_s=2, poll_s=0.1, retry_s=0, reconnect_s=0.1)


@pytest.fixture
def address(server: str | None) -> str:
    if server is None:
        pytest.skip("PostgreSQL is not installed here, and DROPLIGHT_TEST_POSTGRES names no database")
    return fresh_schema(server, "droplight_jobs")


@pytest.fixture
def store(address: str) -> Iterator[Store]:
    opened = Store.open(address)
    yield opened
    opened.close()


def jobs_of(store: Store) -> Jobs:
    assert store.jobs is not None
    return store.jobs


def add(store: Store, *numbers: int) -> None:
    for number in numbers:
        capture = Capture(
            sha256=f"{number:064x}",
            kind="audio",
            original_name=f"{number}.wav",
            size=1,
            captured_at=NOON,
            time_source="file_time",
            zone_known=True,
        )
        store.add_capture(capture, NOON)


def run(store: Store, handle: Callable[[str], None], done: Callable[[], bool]) -> None:
    """Work until something holds."""
    stop = threading.Event()
    worker = threading.Thread(target=jobs_of(store).work, args=(handle, TIMES, stop))
    worker.start()
    end = time.monotonic() + 200
    while not done() and time.monotonic() < end:
        time.sleep(0.05)
    stop.set()
    worker.join(60)
    assert not worker.is_alive()
    assert done()


def execute(address: str, statement: str) -> None:
    engine = create_engine(address)
    with engine.begin() as connection:
        connection.execute(text(statement))
    engine.dispose()


def test_a_worker_whose_connections_are_cut_goes_on(store: Store, address: str) -> None:
    seen: list[str] = []
    cut = threading.Event()

    def handle(sha256: str) -> None:
        if len(seen) == 2 and not cut.is_set():
            cut.set()
            others = "pid <> pg_backend_pid() AND backend_type = 'client backend'"
            execute(address, f"SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE {others}")
        seen.append(sha256)

    add(store, *range(1, 7))
    other = Store.open(address)
    run(store, handle, lambda: len(set(seen)) == 6 and jobs_of(other).counts().left == 0)
    other.close()
    assert cut.is_set()


def test_a_capture_that_kills_every_worker_is_given_up(store: Store, address: str) -> None:
    add(store, 1)
    dead = "UPDATE procrastinate_jobs SET status = 'doing', worker_id = NULL WHERE status = 'todo'"
    counts = []
    for _ in range(MOST_ATTEMPTS):
        execute(address, dead)  # it was taken, and the worker is gone
        _take_over_once(store)
        counts.append(jobs_of(store).counts())
    assert [c.waiting for c in counts] == [1] * (MOST_ATTEMPTS - 1) + [0]
    assert counts[-1].failed == 1
    assert jobs_of(store).failed() == [f"{1:064x}"]


def _take_over_once(store: Store) -> None:
    import asyncio

    from models.store.jobs import _Worker

    worker = _Worker(store._db, lambda sha256: None, TIMES, threading.Event())

    async def once() -> None:
        app = worker._app()
        async with app.open_async():
            await worker._take_over(app)

    asyncio.run(once())


def test_a_job_that_fails_is_tried_again_and_then_waits_for_a_person(store: Store) -> None:
    tries: list[str] = []

    def handle(sha256: str) -> None:
        tries.append(sha256)
        raise ValueError("no")

    add(store, 1)
    run(store, handle, lambda: jobs_of(store).counts().failed == 1)
    assert len(tries) == MOST_ATTEMPTS
    assert jobs_of(store).counts().left == 1


def test_the_same_job_twice_is_handed_over_twice_and_lost_never(store: Store) -> None:
    seen: list[str] = []
    add(store, 1)
    with store._db.write() as connection:
        jobs_of(store).enqueue(connection, f"{1:064x}")
    run(store, seen.append, lambda: jobs_of(store).counts().left == 0)
    assert seen == [f"{1:064x}"] * 2
