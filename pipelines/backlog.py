"""Works through captures one after another; what fails is tried again later, and stops nothing."""

import logging
import queue
import threading
import time
from collections.abc import Callable
from functools import partial

from models.store import Store
from pipelines.order import advance, unfinished
from pipelines.workshop import Workshop

FIRST_RETRY_S = 5.0
LONGEST_RETRY_S = 300.0

Report = Callable[[str, str | None], None]
"""Told a capture's sha256 and its inspection, when all that can be done for it is done."""

_log = logging.getLogger("droplight.backlog")


class Backlog:
    """A queue of captures, and the loop that advances them.

    A database that is locked, a disk that is full or a recogniser that falls costs a capture its turn. It
    joins the queue again after a growing while, however many have come meanwhile.
    """

    def __init__(self, store: Store, shop: Workshop, report: Report) -> None:
        """Begin with what an earlier run left unfinished."""
        self._store, self._shop, self._report = store, shop, report
        self._queue: queue.SimpleQueue[str | None] = queue.SimpleQueue()
        self._waiting: set[str] = set()
        self._lock = threading.Lock()
        self._stop = threading.Event()
        self._due = _Due()
        self._due.now(None)

    def put(self, sha256: str) -> None:
        """Add a capture, unless it waits already."""
        with self._lock:
            if sha256 in self._waiting:
                return
            self._waiting.add(sha256)
        self._queue.put(sha256)

    def stop(self) -> None:
        """End after the capture in hand; the others stay unfinished for the next start."""
        self._stop.set()
        self._queue.put(None)

    def run(self) -> None:
        """Work until stopped; the models are loaded first."""
        self._shop.make_ready()
        while not self._stop.is_set():
            self._put_due()
            try:
                sha256 = self._queue.get(timeout=self._wait_s())
            except queue.Empty:
                continue
            if sha256 is None:
                return
            with self._lock:
                self._waiting.discard(sha256)
            self._try(sha256, f"Could not draft from {sha256[:12]}…", partial(self._advance, sha256))

    def _put_due(self) -> None:
        for sha256 in (*self._due.take(), *self._shop.patience.take_due()):
            if sha256 is None:
                self._try(None, "Could not look for what is unfinished", self._look)
            else:
                self.put(sha256)

    def _wait_s(self) -> float | None:
        waits = [s for s in (self._due.next_s(), self._shop.patience.next_try_s()) if s is not None]
        return min(waits, default=None)

    def _look(self) -> None:
        for sha256 in unfinished(self._store, self._shop):
            self.put(sha256)

    def _advance(self, sha256: str) -> None:
        if self._store.capture(sha256) is not None:  # else it was removed meanwhile
            self._report(sha256, advance(self._store, sha256, self._shop))

    def _try(self, key: str | None, what: str, work: Callable[[], None]) -> None:
        try:
            work()
        except Exception as error:
            wait_s = self._due.again(key)
            why = (str(error) or type(error).__name__).splitlines()[0].rstrip(".")
            _log.error("%s: %s. It is kept and tried again in %.0f s.", what, why, wait_s)
            _log.debug("", exc_info=True)
        else:
            self._due.forget(key)


class _Due:
    """When to try again what failed: captures by their sha256, and None for the look through the store."""

    def __init__(self) -> None:
        self._at: dict[str | None, float] = {}
        self._failures: dict[str | None, int] = {}

    def now(self, key: str | None) -> None:
        self._at[key] = time.monotonic()

    def again(self, key: str | None) -> float:
        """It failed; returns the seconds until it is due."""
        count = self._failures[key] = self._failures.get(key, 0) + 1
        wait_s = min(FIRST_RETRY_S * 2.0 ** min(count - 1, 20), LONGEST_RETRY_S)
        self._at[key] = time.monotonic() + wait_s
        return wait_s

    def forget(self, key: str | None) -> None:
        self._at.pop(key, None)
        self._failures.pop(key, None)

    def take(self) -> list[str | None]:
        """What is due, each once."""
        now = time.monotonic()
        due = [key for key, at in self._at.items() if at <= now]
        for key in due:
            del self._at[key]
        return due

    def next_s(self) -> float | None:
        """Seconds until something is due; None when nothing is."""
        return max(0.0, min(self._at.values()) - time.monotonic()) if self._at else None
