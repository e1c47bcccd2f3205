"""Load held for a while: ``python -m tests.soak --minutes 10 --rate 60 --falls 20``.

The real ``droplight watch`` in a process of its own, with doubles for the recognisers in processes beside it,
takes in notes and photos that are dropped at a fixed rate, ten to a truck. Every so many seconds the next of
the recognisers to be asked raises, runs out of memory, crashes, is killed or hangs. Every few seconds the
queue and the memory are looked at. It fails when something is lost or half done at the end, when the queue
grew, or when the memory did.
"""

import argparse
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import NamedTuple

from models.store import Store
from tests.soak.site import DEADLINE_S, LEFT_ALONE_S, LONGEST_ALONE_S, Site, drop, memory_mb, whole

LOOK_S = 5.0
DRAIN_S = 120.0
MOST_GROWTH = 1.10
MOST_AGE_S = 30.0
FALLS = ("fail", "swell", "crash", "killed", "hang")


class Look(NamedTuple):
    """What was seen at one moment: seconds since the start, captures read, the queue, and memory."""

    at_s: float
    read: int
    waiting: int
    age_s: float
    memory_mb: float


def _look(store: Store, at_s: float, process: int) -> Look:
    found = store.figures()
    age = found.queue_age_s(datetime.now(UTC))
    return Look(at_s, found.captures - found.waiting, found.waiting, age, memory_mb(process))


class Falls:
    """Has a recogniser fall every so many seconds, each time in another way."""

    def __init__(self, control: Path, every_s: float) -> None:
        self._control, self._every_s, self._next_s = control, every_s, every_s
        self.told = 0

    def befall(self, at_s: float) -> None:
        """What is due at this time."""
        if self._every_s > 0 and at_s >= self._next_s:
            self._next_s += self._every_s
            path = self._control / FALLS[self.told % len(FALLS)]
            if not path.exists():  # else nobody has been asked since
                path.touch()
                self.told += 1

    def stop(self) -> int:
        """No more of them; returns how many there were."""
        left = [self._control / name for name in FALLS if (self._control / name).exists()]
        for path in left:
            path.unlink(missing_ok=True)
        return self.told - len(left)


def _look(store: Store, at_s: float, process: int) -> Look:
    found = store.figures()
    age = found.queue_age_s(datetime.now(UTC))
    return Look(at_s, found.captures - found.waiting, found.waiting, age, memory_mb(process))


class Held(NamedTuple):
    """What came of it: what was seen, the files dropped, the falls met, and what is wrong at the end."""

    looks: list[Look]
    dropped: int
    falls: int
    wrong: list[str]


def hold(minutes: float, rate: float, falls_s: float, folder: Path) -> Held:
    """Hold the load.

    Args:
        minutes: how long files are dropped.
        rate: files a minute.
        falls_s: seconds from one fall of a recogniser to the next; 0 for none.
        folder: to work in.
    """
    site = Site(folder)
    falls = Falls(site.control, falls_s)
    looks: list[Look] = []
    with site.watched() as (store, process):

        def look(at_s: float) -> None:
            looks.append(_look(store, at_s, process))

        dropped = _feed(site.inbox, minutes * 60, rate / 60, look, falls)
        met, end = falls.stop(), time.monotonic() + DRAIN_S
        while (wrong := whole(store, dropped)) and time.monotonic() < end:
            time.sleep(1.0)
    return Held(looks, dropped, met, wrong)


def _feed(inbox: Path, seconds: float, per_second: float, look: Callable[[float], None], falls: Falls) -> int:
    began, number, next_look = time.monotonic(), 0, LOOK_S
    while (gone := time.monotonic() - began) < seconds:
        while number < gone * per_second:
            drop(inbox, number)
            number += 1
        falls.befall(gone)
        if gone >= next_look:
            look(gone)
            next_look += LOOK_S
        time.sleep(min(0.2, 1 / per_second))
    return number


def main() -> int:
    """Hold the load, print the figures; 1 when one is beyond its bound."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--minutes", type=float, default=30.0)
    parser.add_argument("--rate", type=float, default=60.0, help="files a minute")
    parser.add_argument(
        "--falls", type=float, default=20.0, help="seconds from one fall of a recogniser to the next, 0: none"
    )
    args = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        looks, dropped, falls, wrong = hold(args.minutes, args.rate, args.falls, Path(folder))
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
    print(f"{dropped} files dropped in {args.minutes:.1f} minutes, {falls} falls: {speed:.1f} read a minute,")
    print(
        f"longest wait {age:.1f} s, memory {early:.0f} MB in the middle third and {late:.0f} MB in the last."
    )
    if age > MOST_AGE_S + (LEFT_ALONE_S + LONGEST_ALONE_S + DEADLINE_S if falls else 0):
        wrong.append(f"a file waited {age:.0f} s")
    if late > early * MOST_GROWTH:
        wrong.append("the memory grew")
    for sentence in wrong:
        print(f"WRONG: {sentence}")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
