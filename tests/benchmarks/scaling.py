"""Inspections an hour against workers: measured parts, put together by a small simulation of the queues.

Measured here: the processor time of each stage with the real recognisers on the sample, the time that the
database server spends on a job, how long the lock of a sub-folder is held, and what one and two workers do
with recognisers that take no time. Simulated: 8, 64 and 512 workers, each with a core of its own.
"""

import heapq
import multiprocessing
import os
import random
import signal
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Iterable
from datetime import UTC, datetime
from functools import partial
from pathlib import Path
from typing import NamedTuple

os.environ["OMP_NUM_THREADS"] = "1"  # before any library reads it

from capture.ingest import ingest, scan
from models.settings import Settings, SpeechSettings, WorkerSettings
from models.store import Store
from pipelines.operations.working import work_on
from pipelines.order import draft_folder
from pipelines.workshop import open_workshop
from samples import demo_folder
from tests.database_server import fresh_schema, postgres
from tests.doubles import Scripted, Shelf, workshop, write_note

WORKERS = (1, 2, 8, 64, 512)
DATABASE_CORES = 4
LINK_BYTES_S = 1e9 / 8
JOBS = 48
NOTES_A_TRUCK = 6
_TICK = os.sysconf("SC_CLK_TCK")


class Parts(NamedTuple):
    """What was measured. Seconds of processor time unless said otherwise.

    Attributes:
        captures: of one inspection.
        recognising_s: of one inspection, all captures together.
        drafting_s: by the worker around the recognisers, for one capture.
        database_s: by the database server, for one capture.
        lock_s: wall time that the lock of a sub-folder is held, for one capture.
        bytes: read from the store of originals, for one capture.
    """

    captures: int
    recognising_s: float
    drafting_s: float
    database_s: float
    lock_s: float
    bytes: float


def _processor_s(processes: Iterable[int]) -> float:
    """Processor time of processes that are alive, in seconds."""
    total = 0
    for process in processes:
        try:
            fields = Path(f"/proc/{process}/stat").read_text().rsplit(") ", 1)[1].split()
        except OSError:
            continue
        total += int(fields[11]) + int(fields[12])
    return total / _TICK


def _named(word: str) -> list[int]:
    found = []
    for entry in Path("/proc").glob("[0-9]*"):
        try:
            if word in (entry / "comm").read_text():
                found.append(int(entry.name))
        except OSError:
            continue
    return found


def _family() -> list[int]:
    """This process and all below it."""
    parents: dict[int, int] = {}
    for entry in Path("/proc").glob("[0-9]*"):
        try:
            parents[int(entry.name)] = int((entry / "stat").read_text().rsplit(") ", 1)[1].split()[1])
        except OSError:
            continue
    family = [os.getpid()]
    for one in family:
        family += [child for child, parent in parents.items() if parent == one]
    return family


def recognise() -> tuple[int, float, float]:
    """The sample with the real recognisers: captures, processor seconds, bytes of all originals."""
    inbox = demo_folder() / "inbox"
    with tempfile.TemporaryDirectory() as folder:
        # one thread: a worker is taken to have one core
        shop = open_workshop(Settings(home=Path(folder), speech=SpeechSettings(threads=1)))
        draft_folder(inbox, Shelf(), shop, lambda _: None)  # weights loaded, caches filled
        before = _processor_s(_family())
        draft_folder(inbox, Shelf(), shop, lambda _: None)
        spent = _processor_s(_family()) - before
    files = scan(inbox)
    return len(files), spent, float(sum(path.stat().st_size for path in files))


class Run(NamedTuple):
    """Jobs done by workers whose recognisers take no time: wall and processor seconds for one job."""

    wall_s: float
    worker_s: float
    database_s: float
    lock_s: float


def run_workers(server: str, count: int) -> Run:
    """Have so many workers, each a process, do the jobs."""
    url = fresh_schema(server, "droplight_scaling")
    store = Store.open(url)
    jobs = store.jobs
    assert jobs is not None
    with tempfile.TemporaryDirectory() as folder:
        home, inbox = Path(folder) / "home", Path(folder) / "inbox"
        _take_in(1, store, home, inbox)  # what each worker warms up on
        begun = multiprocessing.get_context("spawn")
        workers = [begun.Process(target=_work, args=(url, home, home / f"{n}.lock")) for n in range(count)]
        for worker in workers:
            worker.start()
        while jobs.counts().left or jobs.counts().workers < count:
            time.sleep(0.05)
        mine = [worker.pid or 0 for worker in workers]
        database, own, began = _processor_s(_named("postgres")), _processor_s(mine), time.perf_counter()
        _take_in(JOBS, store, home, inbox)
        while jobs.counts().left:
            time.sleep(0.02)
        wall = time.perf_counter() - began
        spent = (_processor_s(mine) - own, _processor_s(_named("postgres")) - database)
        for worker in workers:
            worker.terminate()
            worker.join()
        held = [float(line) for path in home.glob("*.lock") for line in path.read_text().split()]
    store.close()
    return Run(wall / JOBS, spent[0] / JOBS, spent[1] / JOBS, sum(held) / len(held))


def _take_in(count: int, store: Store, home: Path, inbox: Path) -> None:
    for number in range(count):
        truck, note = divmod(number, NOTES_A_TRUCK)
        path = write_note(
            inbox / f"{count}-{truck}" / f"20261120T08{note:02}00.wav", 1.0, salt=number + count
        )
        ingest(path, inbox, store, home, datetime.now(UTC))


def _work(url: str, home: Path, locks: Path) -> None:
    stop = threading.Event()
    signal.signal(signal.SIGTERM, lambda *_: stop.set())
    store = Store.open(url)
    assert store.jobs is not None
    _time_lock(store, locks)
    tools = workshop(home, Scripted(["Left front outer pad, six millimeters."]))
    store.jobs.work(partial(work_on, store, tools), WorkerSettings(poll_s=0.2), stop)


def _time_lock(store: Store, locks: Path) -> None:
    real: Callable[..., str | None] = store.settle

    def settle(*arguments: object) -> str | None:
        began = time.perf_counter()
        try:
            return real(*arguments)
        finally:
            with locks.open("a") as file:
                print(time.perf_counter() - began, file=file)

    store.settle = settle  # type: ignore[method-assign, assignment]


class Station:
    """Servers that work first come, first served."""

    def __init__(self, servers: int) -> None:
        self.free = [0.0] * servers
        self.busy = 0.0

    def serve(self, at: float, seconds: float) -> float:
        """When somebody who comes at this time is done."""
        start = max(at, heapq.heappop(self.free))
        heapq.heappush(self.free, start + seconds)
        self.busy += seconds
        return start + seconds

    def used(self, until: float) -> float:
        """The share of its time that it worked."""
        return self.busy / (until * len(self.free))


def simulate(parts: Parts, workers: int, seed: int = 7) -> tuple[float, dict[str, float]]:
    """Inspections an hour, and how busy each shared thing was.

    Args:
        parts: measured.
        workers: each with a core of its own.
        seed: of the spread of recognising times, which is taken as exponential: notes are long or short.
    """
    chance = random.Random(seed)
    database, link = Station(DATABASE_CORES), Station(1)
    mean = parts.recognising_s / parts.captures
    jobs = 200 * workers + 2000
    coming = [(0.0, n, 0) for n in range(workers)]
    done, last = 0, 0.0
    while done < jobs:
        at, worker, step = heapq.heappop(coming)
        if step == 0:
            at = link.serve(at, parts.bytes / LINK_BYTES_S)
        elif step == 1:
            at += chance.expovariate(1 / mean) + parts.drafting_s + parts.lock_s
        else:
            at = database.serve(at, parts.database_s)
            done, last = done + 1, max(last, at)
        heapq.heappush(coming, (at, worker, (step + 1) % 3))
    hourly = jobs / parts.captures / last * 3600
    return hourly, {"database": database.used(last), "link": link.used(last)}


def main() -> int:
    """Print the table."""
    captures, recognising, size = recognise()
    with postgres() as server:
        if server is None:
            print("PostgreSQL is not installed here: nothing can be said about many workers.")
            return 0
        runs = {count: run_workers(server, count) for count in (1, 2)}
    one = runs[1]
    parts = Parts(captures, recognising, one.worker_s, one.database_s, one.lock_s, size / captures)
    print(f"one inspection: {captures} captures, {recognising:.1f} s of processor time in the recognisers")
    print(
        f"one capture: worker {one.worker_s * 1000:.1f} ms, database {one.database_s * 1000:.1f} ms,", end=" "
    )
    print(f"lock of a sub-folder {one.lock_s * 1000:.1f} ms, {size / captures / 1000:.0f} KB read")
    for count, run in runs.items():
        hourly = 3600 / run.wall_s / captures
        print(f"{count} worker(s) with recognisers that take no time: {hourly:.0f} inspections an hour")
    for workers in WORKERS:
        hourly, used = simulate(parts, workers)
        shares = ", ".join(f"{name} {share:.1%}" for name, share in used.items())
        print(f"{workers:4} workers: {hourly:9.0f} inspections an hour (simulated; busy: {shares})")
    bounds = {"database": DATABASE_CORES / parts.database_s, "link": LINK_BYTES_S / parts.bytes}
    name, most = min(bounds.items(), key=lambda item: item[1])
    needed = most * (recognising / captures + parts.drafting_s)
    print(
        f"bound: the {name}, {most / captures * 3600:.0f} inspections an hour, with {needed:.0f} workers;",
        end=" ",
    )
    print(
        f"files without a sub-folder share one lock: {3600 / parts.lock_s / captures:.0f} inspections an hour"
    )
    return 0


if __name__ == "__main__":
    sys.exit(main())
