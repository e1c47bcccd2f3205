"""Works through captures one after another; what fails is tried again later, and stops nothing."""

import logging
import queue
import threading
import time
from collections.abc import Callable

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

    A database that is locked, a disk that is full or a recogniser that falls costs a capture its turn: it is
    unfinished in the store, and everything unfinished is looked for again after a growing while.
    """

    def __init__(self, store: Store, shop: Workshop, report: Report) -> None:
        """Begin with what an earlier run left unfinished."""
        self._store, self._shop, self._report = store, shop, report
        self._queue: queue.SimpleQueue[str | None] = queue.SimpleQueue()
        self._stop = threading.Event()
        self._retry_s = FIRST_RETRY_S
        self._again_at: float | None = time.monotonic()

    def put(self, sha256: str) -> None:
        """Add a capture."""
        self._queue.put(sha256)

    def stop(self) -> None:
        """End after the capture in hand; the others stay unfinished for the next start."""
        self._stop.set()
        self._queue.put(None)

    def run(self) -> None:
        """Work until stopped; the models are loaded first."""
        self._shop.make_ready()
        while not self._stop.is_set():
            try:
                sha256 = self._queue.get(timeout=self._wait_s())
            except queue.Empty:
                self._look_again()
                continue
            if sha256 is None:
                return
            self._advance(sha256)

    def _wait_s(self) -> float | None:
        waits = [] if self._again_at is None else [max(0.0, self._again_at - time.monotonic())]
        if (left_alone_s := self._shop.patience.next_try_s()) is not None:
            waits.append(max(left_alone_s, FIRST_RETRY_S))
        return min(waits, default=None)

    def _look_again(self) -> None:
        self._again_at = None
        try:
            missing = unfinished(self._store, self._shop)
            self._shop.patience.forget_others(set(missing))
            for sha256 in missing:
                self._queue.put(sha256)
        except Exception as error:
            self._failed("Could not look for what is unfinished", error)

    def _advance(self, sha256: str) -> None:
        try:
            self._report(sha256, advance(self._store, sha256, self._shop))
            self._retry_s = FIRST_RETRY_S
        except Exception as error:
            self._failed(f"Could not draft from {sha256[:12]}…", error)

    def _failed(self, what: str, error: Exception) -> None:
        why = (str(error) or type(error).__name__).splitlines()[0].rstrip(".")
        _log.error("%s: %s. It is kept and tried again in %.0f s.", what, why, self._retry_s)
        _log.debug("", exc_info=True)
        if self._again_at is None:
            self._again_at = time.monotonic() + self._retry_s
            self._retry_s = min(2 * self._retry_s, LONGEST_RETRY_S)
