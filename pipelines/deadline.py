"""A recogniser that hangs must not stop the shop."""

import threading
from collections.abc import Callable
from typing import TypeVar

T = TypeVar("T")


class StageFailed(Exception):
    """A stage could not be done for one file; the message says what to do. The file itself is safe."""


def within(seconds: float, work: Callable[[], T], what: str) -> T:
    """Do some work, but wait for it no longer than `seconds`.

    The work that is given up goes on in its own thread until the program ends: a native library cannot be
    stopped from outside.

    Args:
        seconds: how long to wait.
        work: what to do.
        what: what it is about, for the message: "transcribing note.wav".

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
