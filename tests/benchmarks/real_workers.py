"""One and two ``droplight worker`` with the real recognisers on PostgreSQL: clock and processor time.

Copies of the sample inspection, each with files of another content, are taken in at once; the workers are
warm. With two cores free the clock should halve with the second worker, and the processor time stay as it is.
On a busy computer only the processor time says something.
"""

import os
import subprocess
import sys
import tempfile
import time
import wave
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

os.environ["OMP_NUM_THREADS"] = "1"  # before any library reads it

import numpy as np
from PIL import Image
from PIL.PngImagePlugin import PngInfo

from capture.ingest import ingest, scan
from capture.media import load_audio
from models.store import Store
from samples import demo_folder
from tests.benchmarks.scaling import _family, _named, _processor_s
from tests.database_server import fresh_schema, postgres

COPIES = 2
RATE = 16_000
SETTINGS = "speech: {threads: 1}\nworker: {poll_s: 0.2}\n"


def copy_sample(inbox: Path, number: int) -> list[Path]:
    """The sample inspection under a truck of its own: the same sound and pictures in other files."""
    made = []
    for path in scan(demo_folder() / "inbox"):
        target = inbox / f"truck-{number}" / path.name
        target.parent.mkdir(parents=True, exist_ok=True)
        if path.suffix == ".jpg":
            target = target.with_suffix(".png")
            note = PngInfo()
            note.add_text("copy", str(number))
            Image.open(path).save(target, pnginfo=note)
        else:
            target = target.with_suffix(".wav")
            _write_sound(target, load_audio(path), number)
        made.append(target)
    return made


def _write_sound(target: Path, samples: np.ndarray, number: int) -> None:
    values = (np.clip(samples, -1, 1) * 32767).astype("<i2")
    values[0] = number
    with wave.open(str(target), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(RATE)
        file.writeframes(values.tobytes())


@contextmanager
def workers(count: int, url: str, home: Path) -> Iterator[list[int]]:
    """While it lasts so many workers run; gives their processes."""
    environment = {**os.environ, "DATABASE_URL": url}
    command = [sys.executable, "-m", "pipelines.commands.main", "--home", str(home), "worker"]
    running = [subprocess.Popen(command, env=environment, stdout=subprocess.DEVNULL) for _ in range(count)]
    try:
        yield [worker.pid for worker in running]
    finally:
        for worker in running:
            worker.terminate()
        for worker in running:
            worker.wait(120)


def work_off(server: str, count: int) -> tuple[int, float, float, float]:
    """Have so many workers read the copies.

    Returns:
        Captures, seconds of the clock, processor seconds of the workers and their recognisers, and those of
        the database server.
    """
    url = fresh_schema(server, "droplight_workers")
    store = Store.open(url)
    jobs = store.jobs
    assert jobs is not None
    with tempfile.TemporaryDirectory() as folder:
        home, inbox = Path(folder) / "home", Path(folder) / "inbox"
        home.mkdir()
        (home / "settings.yaml").write_text(SETTINGS)
        # as many as there are workers, so that each has loaded its models
        _take_in(store, home, inbox, range(count))
        with workers(count, url, home):
            while jobs.counts().workers < count or jobs.counts().left:
                time.sleep(1.0)
            own, database = _processor_s(_theirs()), _processor_s(_named("postgres"))
            began = time.perf_counter()
            captures = _take_in(store, home, inbox, range(count, count + COPIES))
            while jobs.counts().left:
                time.sleep(1.0)
            clock = time.perf_counter() - began
            spent = _processor_s(_theirs()) - own, _processor_s(_named("postgres")) - database
    drafts = [store.draft(row.id) for row in store.inspections()]
    store.close()
    assert sum(len(draft.captures) for draft in drafts if draft) == captures + captures // COPIES * count
    return captures, clock, *spent


def _theirs() -> list[int]:
    """Everything below this process; itself it takes in and asks how far they are."""
    return [process for process in _family() if process != os.getpid()]


def _take_in(store: Store, home: Path, inbox: Path, copies: range) -> int:
    paths = [path for number in copies for path in copy_sample(inbox, number)]
    for path in paths:
        ingest(path, inbox, store, home, datetime.now(UTC))
    return len(paths)


def main() -> int:
    """Print the figures."""
    with postgres() as server:
        if server is None:
            print("PostgreSQL is not installed here: nothing can be said about workers.")
            return 0
        for count in (1, 2):
            captures, clock, own, database = work_off(server, count)
            print(
                f"{count} worker(s), {captures} captures: {clock:.0f} s by the clock, "
                f"{own:.1f} s of processor time ({own / captures:.2f} s a capture), "
                f"database {1000 * database / captures:.0f} ms a capture, load {os.getloadavg()[0]:.1f}",
                flush=True,
            )
    return 0


if __name__ == "__main__":
    sys.exit(main())
