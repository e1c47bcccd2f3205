"""Whether this program can work, for whoever watches over it."""

import shutil
from collections.abc import Callable
from pathlib import Path

from models.frozen import Frozen
from models.store import Store

LEAST_FREE = 500 * 1024**2


class Health(Frozen):
    """What was looked at.

    Attributes:
        ready: everything is as it must be.
        checks: each check with ``good`` or what is wrong, in words.
    """

    ready: bool
    checks: dict[str, str]


def health(store: Store, home: Path) -> Health:
    """Look at the database and the disk, in a few milliseconds.

    Args:
        store: the state.
        home: the data folder.
    """
    checks = {}
    looks: dict[str, Callable[[], None]] = {
        "database": lambda: _database(store),
        "disk": lambda: _disk(home),
    }
    for name, look in looks.items():
        try:
            look()
            checks[name] = "good"
        except Exception as error:
            checks[name] = str(error).strip().splitlines()[0] if str(error).strip() else type(error).__name__
    return Health(ready=set(checks.values()) == {"good"}, checks=checks)


def _database(store: Store) -> None:
    if store.is_newer():
        raise RuntimeError("a newer Droplight has changed the tables: install that version here")


def _disk(home: Path) -> None:
    free = shutil.disk_usage(home).free
    if free < LEAST_FREE:
        raise RuntimeError(f"only {free / 1e6:.0f} MB are free: make room")
