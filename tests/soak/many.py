"""Ten thousand files that lie there at the start: ``python -m tests.soak.many --files 10000 --seconds 60``.

The real ``droplight watch``, with doubles for the recognisers, finds them all in its inbox. They must be
taken in by name, none left and none twice, and be read; afterwards the watch must cost next to nothing.
"""

import argparse
import sqlite3
import sys
import tempfile
import time
from contextlib import closing
from pathlib import Path

from capture.ingest import scan
from tests.soak.idle import cpu_s
from tests.soak.site import Site, drop, memory_mb, whole

MOST_IDLE = 0.01
LONGEST_S = 3600.0


def _order(home: Path) -> list[str]:
    """What was taken in, in that order."""
    with closing(sqlite3.connect(home / "droplight.db", timeout=30)) as connection:
        rows = connection.execute("SELECT folder, original_name FROM captures ORDER BY rowid")
        return [f"{folder}/{name}" for folder, name in rows]


def work_off(folder: Path, files: int, seconds: float) -> list[str]:
    """Have so many taken in and read, then look on while nothing happens.

    Args:
        folder: to work in.
        files: how many lie there at the start.
        seconds: how long it is looked on.

    Returns:
        What is wrong.
    """
    site = Site(folder)
    for number in range(files):
        drop(site.inbox, number)
    there = [str(path.relative_to(site.inbox)) for path in scan(site.inbox)]
    began = time.monotonic()
    with site.watched() as (store, process):
        while (found := store.figures()).captures < files or scan(site.inbox):
            if time.monotonic() > began + LONGEST_S:
                return [f"only {found.captures} of {files} taken in within an hour"]
            time.sleep(1.0)
        taken_s, spent_s = time.monotonic() - began, cpu_s(process)
        print(f"{files} taken in in {taken_s:.0f} s, {found.captures - found.waiting} read by then")
        while (wrong := whole(store, files)) and time.monotonic() < began + LONGEST_S:
            time.sleep(5.0)
        read_s = time.monotonic() - began
        print(
            f"all read after {read_s:.0f} s, with {cpu_s(process):.0f} s of processor time "
            f"({spent_s:.0f} s until all were taken in), {memory_mb(process):.0f} MB"
        )
        if _order(site.home) != sorted(there):
            wrong.append("they were not taken in by name")
        time.sleep(5.0)
        before = cpu_s(process)
        time.sleep(seconds)
        share = (cpu_s(process) - before) / seconds
    print(f"idle afterwards: {share:.3%} of a core over {seconds:.0f} s")
    if share > MOST_IDLE:
        wrong.append(f"idling costs {share:.1%} of a core")
    return wrong


def main() -> int:
    """Work off, and print what it took; 1 when something is wrong."""
    words = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    words.add_argument("--files", type=int, default=10_000)
    words.add_argument("--seconds", type=float, default=60.0, help="how long idling is looked at")
    asked = words.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        wrong = work_off(Path(folder), asked.files, asked.seconds)
    for sentence in wrong:
        print(f"WRONG: {sentence}")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
