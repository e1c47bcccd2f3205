"""Kills the watch at random moments and mistreats its folders: ``python -m tests.soak.crash --kills 300``."""

import argparse
import os
import shutil
import signal
import sqlite3
import subprocess
import tempfile
import time
from collections import Counter
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

from tests.soak.yard import Yard, children


def _mount(*words: str) -> bool:
    """Mounting needs the superuser."""
    return os.geteuid() == 0 and subprocess.run(["mount", *words], capture_output=True).returncode == 0


def _unmount(folder: Path) -> None:
    subprocess.run(["umount", str(folder)], check=True, capture_output=True)


def disk_full(yard: Yard) -> str:
    """No room: on the whole data folder where it may be mounted small, else for copies and reasons."""
    small = yard.home / "small.mark"
    yard.drop()  # before, because nobody can drop anything where there is no room
    if small.exists():
        free = shutil.disk_usage(yard.home).free
        ballast = yard.home / "ballast"
        ballast.write_bytes(bytes(max(0, free - 4096)))
    else:
        (yard.control / "full").touch()
    yard.start()
    time.sleep(1.0)
    yard.kill()
    for path in (yard.home / "ballast", yard.control / "full"):
        path.unlink(missing_ok=True)
    yard.check_now()
    return "disk full (small mount)" if small.exists() else "disk full (double)"


def read_only(yard: Yard) -> str:
    """The inbox may only be read."""
    if _mount("--bind", str(yard.inbox), str(yard.inbox)):
        try:
            if not _mount("-o", "remount,ro,bind", str(yard.inbox)):
                return "read-only inbox (not possible here)"
            _live(yard)
        finally:
            yard.kill() if yard.watcher is not None else None
            _unmount(yard.inbox)
        return "read-only inbox (mount)"
    if os.geteuid() == 0:
        return "read-only inbox (not possible here)"
    yard.inbox.chmod(0o555)
    try:
        _live(yard)
    finally:
        yard.inbox.chmod(0o755)
    return "read-only inbox (mode)"


def _live(yard: Yard) -> None:
    yard.start()
    time.sleep(0.8)
    yard.kill()
    yard.check_now()


def inbox_away(yard: Yard) -> str:
    """The inbox goes away and comes back while the watch runs."""
    away = yard.inbox.with_name("away")
    yard.drop()
    yard.start()
    yard.wait_for_work(2.0)
    yard.inbox.rename(away)
    time.sleep(0.5)
    away.rename(yard.inbox)
    return "inbox away and back"


def clock_back(yard: Yard) -> str:
    """The clock is set back by a month."""
    (yard.control / "clock").write_text(str(-30 * 86400.0))
    yard.drop()
    yard.start()
    yard.wait_for_work(3.0)
    (yard.control / "clock").unlink()
    return "clock set back and forth"


def locked(yard: Yard) -> str:
    """Another program holds the database for longer than anybody waits."""
    yard.drop()
    with closing(sqlite3.connect(yard.home / "droplight.db", isolation_level=None, timeout=30)) as other:
        other.execute("BEGIN IMMEDIATE")
        yard.start()
        time.sleep(1.5)
        other.execute("ROLLBACK")
    return "database locked"


def model_gone(yard: Yard) -> str:
    """The folder of the model is deleted, and is back later."""
    (yard.control / "model.bin").unlink()
    yard.drop()
    yard.start()
    yard.wait_for_work(3.0)
    yard.kill()
    yard.check_now()
    (yard.control / "model.bin").touch()
    return "model deleted"


def helper_killed(yard: Yard) -> str:
    """The system ends whatever process decodes or recognises, as it does without memory."""
    yard.drop()
    yard.start()
    yard.wait_for_work(3.0)
    assert yard.watcher is not None
    for helper in children(yard.watcher):
        os.kill(helper, signal.SIGKILL)
    return "helpers killed"


def _recogniser(name: str) -> Callable[[Yard], str]:
    def befall(yard: Yard) -> str:
        (yard.control / name).touch()
        yard.drop()
        yard.start()
        yard.wait_for_work(3.0)
        return f"recogniser: {name}"

    return befall


MISHAPS = (
    disk_full,
    read_only,
    inbox_away,
    clock_back,
    locked,
    model_gone,
    helper_killed,
    *(_recogniser(name) for name in ("swell", "crash", "killed", "fail", "hang")),
)


def soak(
    base: Path, kills: int, seed: int, share: int = 8, drain_every: int = 20, patience_s: float = 300.0
) -> Counter[str]:
    """Kill so many times, with a mishap now and then.

    Args:
        base: an empty folder, or one that is not there yet.
        kills: how often.
        seed: of chance.
        share: a mishap in so many kills.
        drain_every: so many kills are followed by letting it finish and looking at everything.
        patience_s: how long finishing may take.

    Returns:
        What happened how often.

    Raises:
        AssertionError: a file was lost, doubled or kept half.
    """
    yard = Yard(base, seed)
    happened: Counter[str] = Counter()
    try:
        for number in range(kills):
            if number % share == share - 1:
                happened[MISHAPS[number // share % len(MISHAPS)](yard)] += 1
            if yard.watcher is None:
                yard.start()
            for _ in range(yard.chance.randint(1, 4)):
                yard.drop()
            yard.wait_for_work(8.0)
            time.sleep(yard.chance.uniform(0, 0.4))
            yard.kill()
            happened["kills"] += 1
            yard.check_now()
            if number % drain_every == drain_every - 1:
                _calm(yard)
                yard.drain(patience_s)
                print(f"{number + 1} kills, {len(yard.good) + len(yard.bad)} files: all in place", flush=True)
        _calm(yard)
        yard.drain(patience_s)
        happened |= Counter({"files": yard._count, "kept": len(yard.good), "rejected": len(yard.bad)})
    except BaseException:
        print("The log ends with:", yard.log.read_text(errors="replace")[-3000:])
        raise
    finally:
        yard.close()
    return happened


def _calm(yard: Yard) -> None:
    for name in ("hang", "crash", "swell", "fail", "killed"):
        (yard.control / name).unlink(missing_ok=True)


def main() -> None:
    """Soak and print what happened."""
    words = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    words.add_argument("--kills", type=int, default=300)
    words.add_argument("--seed", type=int, default=417)
    asked = words.parse_args()
    began = time.monotonic()
    with tempfile.TemporaryDirectory() as folder:
        base = Path(folder) / "base"
        base.mkdir()
        mounted = _mount("-t", "tmpfs", "-o", "size=96m", "none", str(base))
        (base / "home").mkdir() if mounted else None
        if mounted:
            (base / "home" / "small.mark").touch()
        try:
            happened = soak(base, asked.kills, asked.seed)
        finally:
            if mounted:
                _unmount(base)
    for what, count in sorted(happened.items()):
        print(f"{count:6} {what}")
    print(f"{time.monotonic() - began:6.0f} seconds; nothing lost, doubled or half")


if __name__ == "__main__":
    main()
