"""Load held for a while: ``python -m tests.soak --minutes 10 --rate 60``.

The real ``droplight watch`` in a process of its own, with doubles for the recognisers, takes notes in that
are dropped at a fixed rate, ten to a truck. Every few seconds the queue and the memory are looked at. It
fails when something is lost or half done at the end, when the queue grew, or when the memory did.
"""

import argparse
import os
import signal
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import NamedTuple

from models.store import Store
from tests.doubles import write_note

ROOT = Path(__file__).parents[2]
NOTES_A_TRUCK = 10
LOOK_S = 5.0
DRAIN_S = 120.0
MOST_GROWTH = 1.10
MOST_AGE_S = 30.0

_CHILD = """
import sys
from pipelines import workshop as tools
from tests.doubles import Scripted, workshop
TEXT = "Left front outer pad, six millimeters."
tools.open_workshop = lambda settings: workshop(settings.home, Scripted([TEXT]))
from pipelines.commands.main import main
sys.exit(main(sys.argv[1:]))
"""
_SETTINGS = "watch: {settle_s: 0.5, rescan_s: 5}\n"


class Look(NamedTuple):
    """What was seen at one moment: seconds since the start, captures read, the queue, and memory."""

    at_s: float
    read: int
    waiting: int
    age_s: float
    memory_mb: float


def _memory_mb(process: int) -> float:
    pages = int(Path(f"/proc/{process}/statm").read_text().split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE") / 1e6


def _drop(inbox: Path, number: int) -> None:
    truck, note = divmod(number, NOTES_A_TRUCK)
    folder = inbox / f"truck-{truck:04}"
    folder.mkdir(exist_ok=True)
    minute = number % 1440
    name = f"20261120T{minute // 60:02}{minute % 60:02}{note:02}.wav"
    # written under a name that is left alone, so that the settling time is the only wait
    part = write_note(folder / f".{name}.part", 1.0, salt=number + 1)
    part.rename(folder / name)


def _look(store: Store, at_s: float, process: int) -> Look:
    found = store.figures()
    age = found.queue_age_s(datetime.now(UTC))
    return Look(at_s, found.captures - found.waiting, found.waiting, age, _memory_mb(process))


def hold(minutes: float, rate: float, folder: Path) -> tuple[list[Look], int, Store]:
    """Hold the load.

    Args:
        minutes: how long notes are dropped.
        rate: notes a minute.
        folder: to work in.

    Returns:
        What was seen, how many notes were dropped, and the store.
    """
    inbox, home = folder / "inbox", folder / "home"
    inbox.mkdir()
    home.mkdir()
    (home / "settings.yaml").write_text(_SETTINGS)
    environment = {**os.environ, "PYTHONPATH": str(ROOT), "DATABASE_URL": ""}
    command = [sys.executable, "-c", _CHILD, "--home", str(home), "watch", str(inbox)]
    child = subprocess.Popen(command, env=environment, cwd=ROOT, stdout=subprocess.PIPE, text=True)
    assert child.stdout is not None
    while "Watching" not in child.stdout.readline():
        pass
    threading.Thread(target=child.stdout.read, daemon=True).start()  # so that it never waits for a reader
    store = Store.open(f"sqlite:///{home / 'droplight.db'}")
    looks: list[Look] = []
    try:
        dropped = _feed(
            inbox, minutes * 60, rate / 60, lambda at_s: looks.append(_look(store, at_s, child.pid))
        )
        end = time.monotonic() + DRAIN_S
        while time.monotonic() < end and (store.figures().captures < dropped or store.figures().waiting):
            time.sleep(0.5)
    finally:
        child.send_signal(signal.SIGTERM)
        child.wait(DRAIN_S)
    return looks, dropped, store


def _feed(inbox: Path, seconds: float, per_second: float, look: Callable[[float], None]) -> int:
    began, number, next_look = time.monotonic(), 0, LOOK_S
    while (gone := time.monotonic() - began) < seconds:
        while number < gone * per_second:
            _drop(inbox, number)
            number += 1
        if gone >= next_look:
            look(gone)
            next_look += LOOK_S
        time.sleep(min(0.2, 1 / per_second))
    return number


def whole(store: Store, dropped: int) -> list[str]:
    """What is wrong at the end; nothing when every note is in one draft, once."""
    wrong = []
    found = store.figures()
    if (found.captures, found.waiting, found.rejected) != (dropped, 0, 0):
        taken = f"{found.captures} taken in, {found.waiting} unread, {found.rejected} refused"
        wrong.append(f"{dropped} dropped, {taken}")
    drafted = [c.sha256 for row in store.inspections() if (d := store.draft(row.id)) for c in d.captures]
    if len(drafted) != len(set(drafted)) or len(drafted) != dropped:
        wrong.append(f"{len(drafted)} notes in drafts, {len(set(drafted))} of them different")
    return wrong


def main() -> int:
    """Hold the load, print the figures; 1 when one is beyond its bound."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--minutes", type=float, default=30.0)
    parser.add_argument("--rate", type=float, default=60.0, help="notes a minute")
    args = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        looks, dropped, store = hold(args.minutes, args.rate, Path(folder))
        wrong = whole(store, dropped)
        store.close()
    third = max(len(looks) // 3, 1)
    early = statistics.median(look.memory_mb for look in looks[third : 2 * third] or looks)
    late = statistics.median(look.memory_mb for look in looks[-third:])
    age = max(look.age_s for look in looks)
    for look in looks[:: max(len(looks) // 20, 1)]:
        print(
            f"{look.at_s:6.0f} s  {look.read:6} read  {look.waiting:4} waiting  "
            f"first for {look.age_s:5.1f} s  {look.memory_mb:6.0f} MB"
        )
    speed = looks[-1].read / looks[-1].at_s * 60
    print(f"{dropped} notes dropped in {args.minutes:.1f} minutes: {speed:.1f} read a minute,")
    print(
        f"longest wait {age:.1f} s, memory {early:.0f} MB in the middle third and {late:.0f} MB in the last."
    )
    if age > MOST_AGE_S:
        wrong.append(f"a note waited {age:.0f} s")
    if late > early * MOST_GROWTH:
        wrong.append("the memory grew")
    for sentence in wrong:
        print(f"WRONG: {sentence}")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
