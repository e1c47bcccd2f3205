"""When a file has stood still long enough to be taken."""

from collections.abc import Collection, Mapping
from pathlib import Path
from typing import NamedTuple

# A slow copy may show the name long before the first byte.
EMPTY_PATIENCE = 10.0


class Stamp(NamedTuple):
    """What changes while a file is being written.

    Attributes:
        size: bytes.
        mtime_ns: modification time in nanoseconds.
    """

    size: int
    mtime_ns: int


class Settling:
    """Tells which files have kept size and time for ``settle_s`` seconds, or ``closed_s`` once closed.

    It reads no disk and no clock: both are handed in, the clock as seconds of a clock that nobody sets.
    An empty file has to stand still ten times as long, closed or not.
    """

    def __init__(self, settle_s: float, closed_s: float | None = None) -> None:
        self._settle_s = settle_s
        self._closed_s = settle_s if closed_s is None else min(closed_s, settle_s)
        self._since: dict[Path, tuple[Stamp, float]] = {}
        self._closed: frozenset[Path] = frozenset()

    def look(self, files: Mapping[Path, Stamp], now: float, closed: Collection[Path] = ()) -> list[Path]:
        """Take in what the folder looks like now.

        Args:
            files: every file there; one that is missing is forgotten and starts anew when it returns.
            now: seconds.
            closed: those of which it is known that whoever wrote them has closed them as they are.

        Returns:
            Those that have settled, the longest settled first.
        """
        before, self._since, self._closed = self._since, {}, frozenset(closed)
        for path, stamp in files.items():
            known = before.get(path)
            unchanged = known is not None and known[0] == stamp and known[1] <= now
            self._since[path] = known if known is not None and unchanged else (stamp, now)
        ready = [path for path in self._since if self._due(path) <= now]
        return sorted(ready, key=self._due)

    def next_due(self, now: float) -> float | None:
        """Seconds until the next file settles if nothing changes; None when no file waits."""
        waits = [due - now for path in self._since if (due := self._due(path)) > now]
        return min(waits, default=None)

    def _due(self, path: Path) -> float:
        stamp, since = self._since[path]
        if stamp.size == 0:
            return since + self._settle_s * EMPTY_PATIENCE
        return since + (self._closed_s if path in self._closed else self._settle_s)
