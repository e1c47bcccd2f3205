"""A recogniser that hangs must not stop the shop."""

import threading
import time
from collections.abc import Callable
from typing import NamedTuple, TypeVar

T = TypeVar("T")


class StageFailed(Exception):
    """A stage could not be done for one file; the message says what to do. The file itself is safe."""


class _Failure(NamedTuple):
    """How often a stage failed on a file, until when it is left alone, why, and whether that end was told."""

    times: int = 0
    until: float = 0.0
    why: str = ""
    told: bool = False


class Patience:
    """Remembers what failed, so that a file on which a recogniser hangs is not tried with every other file.

    After each failure a file is left alone four times as long as before.
    """

    def __init__(
        self, first_s: float = 0.0, longest_s: float = 6 * 3600.0, clock: Callable[[], float] = time.monotonic
    ) -> None:
        """Begin with nothing remembered.

        Args:
            first_s: how long a file is left alone after its first failure (seconds); 0 remembers nothing.
            longest_s: the longest it is left alone.
            clock: seconds of a clock that nobody sets.
        """
        self._first_s, self._longest_s, self._clock = first_s, longest_s, clock
        self._failed: dict[tuple[str, str], _Failure] = {}
        self._lock = threading.Lock()

    def within(
        self, key: tuple[str, str], seconds: float, work: Callable[[], T], what: str, stop: Callable[[], None]
    ) -> T:
        """Like :func:`within`, for work on one file that is not tried again too soon.

        Args:
            key: the file and the stage.
            seconds: how long to wait.
            work: what to do.
            what: what it is about, for the message.
            stop: ends the recogniser when it is given up.

        Raises:
            StageFailed: it failed, now or not long ago.
        """
        with self._lock:
            last = self._failed.get(key, _Failure())
        if last.times and self._clock() < last.until:
            raise StageFailed(last.why)
        try:
            made = within(seconds, work, what, stop)
        except StageFailed as error:
            wait_s = min(self._first_s * 4.0 ** min(last.times, 20), self._longest_s)
            with self._lock:
                if wait_s > 0:
                    self._failed[key] = _Failure(last.times + 1, self._clock() + wait_s, str(error))
            raise
        with self._lock:
            self._failed.pop(key, None)
        return made

    def take_due(self) -> list[str]:
        """Files that may be tried again by now; each is told once after each failure."""
        with self._lock:
            now = self._clock()
            due = [key for key, last in self._failed.items() if not last.told and last.until <= now]
            for key in due:
                self._failed[key] = self._failed[key]._replace(told=True)
        return list(dict.fromkeys(file for file, _ in due))

    def next_try_s(self) -> float | None:
        """Seconds until :meth:`take_due` has something to tell; None when nothing waits."""
        with self._lock:
            waits = [last.until for last in self._failed.values() if not last.told]
        return max(0.0, min(waits) - self._clock()) if waits else None


def _nothing() -> None:
    return


def within(seconds: float, work: Callable[[], T], what: str, stop: Callable[[], None] = _nothing) -> T:
    """Do some work, but wait for it no longer than `seconds`.

    Args:
        seconds: how long to wait.
        work: what to do.
        what: what it is about, for the message: "transcribing note.wav".
        stop: ends the work when it is given up; else its thread goes on until the program ends.

    Raises:
        StageFailed: it took too long, ran out of memory or failed.
    """
    done: list[T] = []
    failed: list[BaseException] = []

    def run() -> None:
        try:
            done.append(work())
        except BaseException as error:
            failed.append(error)

    thread = threading.Thread(target=run, name=what, daemon=True)
    thread.start()
    thread.join(seconds)
    if done:
        return done[0]
    if not failed:
        stop()
        raise StageFailed(
            f"Gave up {what} after {seconds:.0f} s: the recogniser did not answer. "
            "The file is kept; start Droplight again to try once more."
        )
    if isinstance(failed[0], MemoryError):
        raise StageFailed(
            f"There was not enough memory for {what}. The file is kept; close other programs and try again."
        )
    if isinstance(failed[0], Exception):
        why = str(failed[0]) or type(failed[0]).__name__
        raise StageFailed(f"Failed {what}: {why.rstrip('.')}. The file is kept.") from failed[0]
    raise failed[0]
