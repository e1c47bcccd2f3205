"""How long a note takes from its arrival to the call-back list.

``python -m tests.accuracy.call_back_time [NOTE ...]`` starts ``droplight watch`` with a plan on an inbox
of its own, drops one note after another as a phone would (the whole file at once), and tells how many
seconds pass until the list stands on the terminal and on the page for the bay. Without arguments the notes
of the sample are taken.
"""

import os
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from fastapi.testclient import TestClient

from capture.media import probe
from models.settings import load_settings
from models.store import Store
from pipelines.review.app import create_app
from samples import demo_folder

WANTED_S = 15.0
_SETTINGS = "truck: {plan: light_truck}\nspeech: {threads: 2}\n"
_KEY = "only-for-this-measurement"


def _wait_for(watching: "subprocess.Popen[str]", mark: str) -> str:
    """The first line of the terminal that holds a mark."""
    assert watching.stdout is not None
    for line in watching.stdout:
        if mark in line:
            return line
    raise RuntimeError(f"the program ended before it said '{mark}'")


def _cpu_s(pid: int) -> float:
    """Processor time of a process and its helpers so far; other programs do not lengthen it."""
    ticks = 0
    for path in Path("/proc").glob("[0-9]*/stat"):
        try:
            fields = path.read_text(encoding="ascii", errors="replace").rsplit(")", 1)[1].split()
        except OSError:
            continue  # it has ended meanwhile
        if pid in (int(path.parent.name), int(fields[1])):
            # Its own time, and that of helpers that have ended.
            ticks += sum(int(field) for field in fields[11:15])
    return ticks / os.sysconf("SC_CLK_TCK")


def _page_s(home: Path, unit: str) -> float:
    """Seconds that the page for the bay takes with this store, once the list is in it."""
    settings = load_settings(home)
    store = Store.open(settings.store_url())
    try:
        with TestClient(create_app(store, home, settings, key=_KEY), base_url="http://localhost") as browser:
            start = time.perf_counter()
            text = browser.get(f"/bay?key={_KEY}").text
            took = time.perf_counter() - start
    finally:
        store.close()
    if f"Unit {unit}" not in text or "missing" not in text:
        raise RuntimeError("the page for the bay does not show the list")
    return took


def main() -> None:
    """Measures each note in turn and says which took longer than is wanted."""
    inbox = demo_folder() / "inbox"
    notes = [Path(a) for a in sys.argv[1:]] or [*sorted(inbox.glob("*.flac")), *sorted(inbox.glob("*.ogg"))]
    with tempfile.TemporaryDirectory() as folder:
        home, dropped = Path(folder) / "home", Path(folder) / "inbox"
        home.mkdir()
        (home / "settings.yaml").write_text(_SETTINGS, encoding="utf-8")
        command = [
            sys.executable,
            "-u",
            "-m",
            "pipelines.commands.main",
            "--home",
            str(home),
            "watch",
            str(dropped),
        ]
        with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as watching:
            try:
                _wait_for(watching, "Watching")
                for note in notes:
                    _measure(watching, home, dropped, note)
            finally:
                watching.terminate()


def _measure(watching: "subprocess.Popen[str]", home: Path, dropped: Path, note: Path) -> None:
    length = probe(note, "").duration_s or 0.0
    start, worked = time.perf_counter(), _cpu_s(watching.pid)
    shutil.copy2(note, dropped / note.name)
    _wait_for(watching, "taken in")
    taken = time.perf_counter() - start
    line = _wait_for(watching, f"{note.name}: unit")
    _wait_for(watching, "Still missing")
    listed = time.perf_counter() - start
    worked = _cpu_s(watching.pid) - worked
    page = _page_s(home, line.split("unit ")[1].split(",")[0])
    verdict = "in time" if listed + page <= WANTED_S else f"longer than {WANTED_S:.0f} s"
    print(
        f"{note.name}, {length:.0f} s of sound: taken in after {taken:.1f} s, list on the terminal after"
        f" {listed:.1f} s, on the page {page:.2f} s later ({worked:.1f} s of processor time): {verdict}",
        flush=True,
    )


if __name__ == "__main__":
    main()
