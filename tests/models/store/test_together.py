"""What several programs at once may do to the same inspections; and jobs, which only PostgreSQL has."""

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from threading import Barrier, Thread

import pytest
from sqlalchemy import text

from models.capture import Capture
from models.record import Inspection, Record
from models.store import InspectionRow, SignedError, Store
from models.store.connection import is_newer, open_database

NOON = datetime(2026, 11, 20, 12, tzinfo=UTC)


def capture(number: int) -> Capture:
    return Capture(
        sha256=f"{number:064x}",
        kind="audio",
        original_name=f"{number}.wav",
        folder="417",
        size=1,
        captured_at=NOON + timedelta(minutes=number),
        time_source="file_time",
        zone_known=True,
    )


def new_row(one: Capture) -> InspectionRow:
    at = one.captured_at
    return InspectionRow(
        id=f"of-{one.original_name}",
        unit="417",
        folder="417",
        started_at=at,
        ended_at=at,
        state="open",
        version=0,
    )


def record(id: str) -> Record:
    return Record(inspection=Inspection(id=id, unit="417", started_at=NOON, ended_at=NOON), findings=())


def test_captures_that_arrive_at_once_find_one_inspection(store: Store, url: str) -> None:
    captures = [capture(n) for n in range(1, 9)]
    for one in captures:
        store.add_capture(one, NOON)
    others = [Store.open(url) for _ in captures]
    together, homes = Barrier(len(captures)), []

    def settle(mine: Store, one: Capture) -> None:
        def choose(rows: Sequence[InspectionRow]) -> InspectionRow:
            return rows[0] if rows else new_row(one)

        together.wait()
        homes.append(mine.settle(one.sha256, choose))

    threads = [Thread(target=settle, args=pair) for pair in zip(others, captures, strict=True)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    for other in others:
        other.close()
    assert len(homes) == 8 and len(set(homes)) == 1
    (row,) = store.inspections()
    assert (row.started_at, row.ended_at) == (captures[0].captured_at, captures[-1].captured_at)
    assert len(store.captures(row.id)) == 8


def test_a_capture_stays_where_it_was_put_first(store: Store) -> None:
    one = capture(1)
    store.add_capture(one, NOON)
    assert store.settle(one.sha256, lambda rows: None) is None
    first = store.settle(one.sha256, lambda rows: new_row(one))
    assert store.settle(one.sha256, lambda rows: new_row(capture(2))) == first
    with pytest.raises(LookupError, match="no capture"):
        store.settle("f" * 64, lambda rows: rows[0])


def test_only_open_inspections_are_offered(store: Store) -> None:
    for number in (1, 2):
        store.add_capture(capture(number), NOON)
    home = store.settle(capture(1).sha256, lambda rows: new_row(capture(1)))
    assert home is not None
    with open_database_of(store).write() as connection:
        connection.execute(text("UPDATE inspections SET state = 'signed'"))
    offered: list[InspectionRow] = []
    store.settle(capture(2).sha256, lambda rows: offered.extend(rows))  # type: ignore[func-returns-value]
    assert offered == []
    signed = store.inspection(home)
    with pytest.raises(SignedError):
        store.settle(capture(2).sha256, lambda rows: signed)


def open_database_of(store: Store):  # type: ignore[no-untyped-def]
    return store._db


def test_a_draft_of_fewer_captures_does_not_replace_a_fuller_one(store: Store) -> None:
    for number in (1, 2):
        store.add_capture(capture(number), NOON)
    first = store.settle(capture(1).sha256, lambda rows: new_row(capture(1)))
    assert first is not None
    store.assign(capture(2).sha256, first)
    both = [capture(1).sha256, capture(2).sha256]
    full, early = record(first).model_copy(update={"notices": ("full",)}), record(first)
    assert store.put_draft(first, full, both)
    assert not store.put_draft(first, early, both[:1])
    assert store.draft(first) == full
    assert store.put_draft(first, early, reversed(both))
    assert store.draft(first) == early


def test_the_job_is_stored_with_the_capture_or_not_at_all(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    if store.jobs is None:
        pytest.skip("SQLite has no queue")
    assert store.add_capture(capture(1), NOON)
    assert not store.add_capture(capture(1), NOON)  # seen again: no second job
    assert store.jobs.counts().waiting == 1
    enqueue = store.jobs.enqueue

    def then_fail(*arguments: object) -> None:
        enqueue(*arguments)  # type: ignore[arg-type]
        raise RuntimeError("power cut")

    monkeypatch.setattr(store.jobs, "enqueue", then_fail)
    with pytest.raises(RuntimeError):
        store.add_capture(capture(2), NOON)
    assert store.captures() == [capture(1)]
    assert store.jobs.counts().waiting == 1


def test_a_lost_job_is_made_anew_and_a_present_one_is_not(store: Store) -> None:
    if store.jobs is None:
        pytest.skip("SQLite has no queue")
    for number in (1, 2):
        store.add_capture(capture(number), NOON)
    with open_database_of(store).write() as connection:
        connection.execute(
            text("DELETE FROM procrastinate_jobs WHERE args->>'sha256' = :x"), {"x": capture(1).sha256}
        )
        connection.execute(text("UPDATE procrastinate_jobs SET status = 'failed'"))
    both = [capture(1).sha256, capture(2).sha256]
    assert store.jobs.ensure([*both, both[0]]) == 1
    assert store.jobs.failed() == [capture(2).sha256]
    assert store.jobs.retry_failed() == 1
    assert store.jobs.ensure(both) == 0
    counts = store.jobs.counts()
    assert (counts.waiting, counts.running, counts.failed, counts.workers) == (2, 0, 0, 0)


def test_a_newer_program_is_noticed(url: str) -> None:
    database = open_database(url)
    assert not is_newer(database)
    with database.write() as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = '9999'"))
    assert is_newer(database)
    database.engine.dispose()


def test_what_a_newer_queue_library_adds_is_run_once(
    store: Store, url: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    if store.jobs is None:
        pytest.skip("SQLite has no queue")
    from models.store import queue_tables

    shipped = queue_tables._shipped()
    monkeypatch.setattr(queue_tables, "_shipped", lambda: [*shipped, "99.00.00_01_pre_new.sql"])
    ran: list[str] = []
    monkeypatch.setattr(queue_tables, "_run", lambda connection, path: ran.append(path.name))
    for _ in range(2):
        Store.open(url).close()
    assert ran == ["99.00.00_01_pre_new.sql"]
