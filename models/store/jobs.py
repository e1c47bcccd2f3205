"""The job queue on PostgreSQL: one job a capture, stored in the transaction that stores the capture.

Procrastinate keeps it. A job is only a nudge: what is done and what is missing stands in our own tables, so a
job that runs twice does nothing the second time, and one that got lost is made anew by :meth:`Jobs.ensure`.
"""

import asyncio
import contextlib
import logging
import random
import threading
from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING, Any

from sqlalchemy import Connection, text
from sqlalchemy.exc import DBAPIError

from models.frozen import Frozen
from models.settings import WorkerSettings
from models.store.connection import Database, is_newer
from models.store.queue_tables import MISSING
from models.store.types import StoreError

if TYPE_CHECKING:
    from procrastinate import App

QUEUE = "captures"
TASK = "droplight.advance"
MOST_ATTEMPTS = 5
"""A capture that failed this often, or took its worker with it this often, waits for a person."""

_REAPER_LOCK = 0x64726F71
_log = logging.getLogger("droplight.worker")


class JobCounts(Frozen):
    """How full the queue is.

    Attributes:
        waiting: jobs that nobody has begun.
        running: jobs in hand.
        failed: jobs that were given up and wait for a person.
        workers: workers that were heard of within the last half minute.
    """

    waiting: int
    running: int
    failed: int
    workers: int

    @property
    def left(self) -> int:
        """Jobs that are not done."""
        return self.waiting + self.running + self.failed


class Jobs:
    """The queue of one PostgreSQL database."""

    def __init__(self, database: Database) -> None:
        self._db = database
        self._deferring: App | None = None

    def enqueue(self, connection: Connection, sha256: str) -> None:
        """Add the job of a capture, in the transaction of this connection."""
        if self._deferring is None:
            from procrastinate import App, SyncPsycopgConnector

            self._deferring = App(connector=SyncPsycopgConnector())
        raw: Any = connection.connection.driver_connection
        self._deferring.configure_task(TASK, queue=QUEUE, connection=raw).defer(sha256=sha256)

    def ensure(self, sha256s: Iterable[str]) -> int:
        """Add a job for each of these captures that has none, not even one given up; returns how many."""
        query = text("SELECT args->>'sha256' FROM procrastinate_jobs WHERE task_name = :task")
        with self._db.write() as connection:
            # Two workers that start at once would both find none.
            connection.execute(text("SELECT pg_advisory_xact_lock(:key)"), {"key": _REAPER_LOCK})
            there = set(connection.execute(query, {"task": TASK}).scalars())
            new = [sha256 for sha256 in dict.fromkeys(sha256s) if sha256 not in there]
            for sha256 in new:
                self.enqueue(connection, sha256)
        return len(new)

    def counts(self) -> JobCounts:
        """How full the queue is, and who works on it."""
        by_state = text("SELECT status::text, count(*) FROM procrastinate_jobs GROUP BY status")
        alive = text(
            "SELECT count(*) FROM procrastinate_workers WHERE last_heartbeat > now() - interval '30 seconds'"
        )
        with self._db.read() as connection:
            found = {state: int(count) for state, count in connection.execute(by_state).all()}
            workers = int(connection.execute(alive).scalar_one())
        return JobCounts(
            waiting=found.get("todo", 0),
            running=found.get("doing", 0),
            failed=found.get("failed", 0) + found.get("aborted", 0),
            workers=workers,
        )

    def failed(self) -> list[str]:
        """Captures whose jobs were given up, by sha256."""
        query = text(
            "SELECT DISTINCT args->>'sha256' FROM procrastinate_jobs WHERE status IN ('failed', 'aborted')"
        )
        with self._db.read() as connection:
            return sorted(connection.execute(query).scalars())

    def retry_failed(self) -> int:
        """Put every job that was given up back, with its attempts forgotten; returns how many."""
        gone = text(
            "DELETE FROM procrastinate_jobs WHERE status IN ('failed', 'aborted') RETURNING args->>'sha256'"
        )
        with self._db.write() as connection:
            found = set(connection.execute(gone).scalars())
            for sha256 in sorted(found):
                self.enqueue(connection, sha256)
        return len(found)

    def work(self, handle: Callable[[str], None], times: WorkerSettings, stop: threading.Event) -> None:
        """Take jobs one at a time and hand their captures over, until ``stop`` is set.

        Any number of processes on any number of hosts may do this at once. A job whose handler raises is
        tried again later, and so is one whose worker died. A job in hand is finished before this returns.

        Args:
            handle: works on the capture of this sha256.
            times: how to keep time.
            stop: ends the work after the job in hand.

        Raises:
            StoreError: the library is not installed, or a newer Droplight has changed the tables.
        """
        try:
            import procrastinate  # noqa: F401
        except ImportError:
            raise StoreError(MISSING) from None
        asyncio.run(_Worker(self._db, handle, times, stop).run())


class _Worker:
    """One process at work."""

    def __init__(
        self, database: Database, handle: Callable[[str], None], times: WorkerSettings, stop: threading.Event
    ) -> None:
        self._db = database
        self._handle = handle
        self._times = times
        self._stop = stop
        self._newer = False

    async def run(self) -> None:
        while not self._stop.is_set():
            try:
                await self._until_stopped()
            except _away() as error:
                _log.warning("The database does not answer (%s): trying again.", _first_line(error))
            if self._newer:
                raise StoreError(
                    "A newer Droplight has changed the tables: this worker stops. Install that version here; "
                    "what it had not finished is done by others."
                )
            if not self._stop.is_set():
                await asyncio.to_thread(self._stop.wait, self._times.reconnect_s)

    def _app(self) -> "App":
        from procrastinate import App, PsycopgConnector

        address = self._db.engine.url.set(drivername="postgresql").render_as_string(hide_password=False)
        app = App(connector=PsycopgConnector(conninfo=address, min_size=1, max_size=4, timeout=10.0))
        app.task(name=TASK, queue=QUEUE, retry=_again(self._times))(self._advance)
        return app

    def _advance(self, sha256: str) -> None:
        if is_newer(self._db):
            self._newer = True
            raise StoreError("a newer Droplight has changed the tables")
        self._handle(sha256)

    async def _until_stopped(self) -> None:
        app = self._app()
        async with app.open_async():
            working = asyncio.create_task(
                app.run_worker_async(
                    queues=[QUEUE],
                    concurrency=1,
                    install_signal_handlers=False,
                    delete_jobs="successful",
                    fetch_job_polling_interval=self._times.poll_s,
                    update_heartbeat_interval=self._times.heartbeat_s,
                    stalled_worker_timeout=self._times.dead_after_s,
                )
            )
            minding = asyncio.create_task(self._mind(app, working))
            try:
                with contextlib.suppress(asyncio.CancelledError):
                    await working
            finally:
                minding.cancel()
                with contextlib.suppress(asyncio.CancelledError):
                    await minding

    async def _mind(self, app: "App", working: asyncio.Task[None]) -> None:
        """Take over from the dead, and end the work when it is asked for."""
        due = 0.0
        clock = asyncio.get_running_loop()
        while not (self._stop.is_set() or self._newer):
            if clock.time() >= due:
                try:
                    await self._take_over(app)
                    self._newer = self._newer or await asyncio.to_thread(is_newer, self._db)
                except _away():  # the worker itself meets it as well, and connects anew
                    _log.debug("", exc_info=True)
                due = clock.time() + self._times.heartbeat_s * random.uniform(0.8, 1.2)  # noqa: S311
            await asyncio.sleep(0.1)
        working.cancel()  # which only asks it to stop after the job in hand

    async def _take_over(self, app: "App") -> None:
        """Put back what dead workers had in hand; one worker at a time does this, the others pass."""
        from procrastinate.jobs import Status

        manager = app.job_manager
        with self._db.read() as connection:
            free = text("SELECT pg_try_advisory_xact_lock(:key)")
            if not connection.execute(free, {"key": _REAPER_LOCK}).scalar():
                return
            for job in await manager.get_stalled_jobs(
                queue=QUEUE, seconds_since_heartbeat=self._times.dead_after_s
            ):
                name = str(job.task_kwargs.get("sha256", ""))[:12]
                if job.attempts + 1 >= MOST_ATTEMPTS:
                    _log.error("%s was in hand of %d workers that died: given up.", name, MOST_ATTEMPTS)
                    await manager.finish_job(job, Status.FAILED, delete_job=False)
                else:
                    _log.warning("%s was in hand of a worker that died: taken over.", name)
                    await manager.retry_job(job)


def _away() -> tuple[type[Exception], ...]:
    """What is raised when the database does not answer just now."""
    from procrastinate.exceptions import ConnectorException
    from psycopg import OperationalError

    return ConnectorException, OperationalError, DBAPIError, StoreError


def _again(times: WorkerSettings) -> Any:
    from procrastinate import BaseRetryStrategy, RetryDecision

    class Again(BaseRetryStrategy):
        def get_retry_decision(self, *, exception: BaseException, job: Any) -> RetryDecision | None:
            if isinstance(exception, StoreError):  # not the job's fault
                return RetryDecision(retry_in={"seconds": 0})
            if job.attempts + 1 >= MOST_ATTEMPTS:
                return None
            return RetryDecision(retry_in={"seconds": round(min(times.retry_s * 4**job.attempts, 3600))})

    return Again()


def _first_line(error: BaseException) -> str:
    cause = error.__cause__ or error
    return (str(cause).strip().splitlines() or [type(cause).__name__])[0]
