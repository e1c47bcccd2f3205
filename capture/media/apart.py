"""Decoding in a process apart, and the sentence for a file that the process did not survive."""

import atexit
import threading
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Any, NamedTuple

from capture.apart import Crashed, Helper, JobFailed, NoMemory, Overrun, Reply, Stopped, Words
from capture.identity import printable_name
from capture.media.unreadable import UnreadableMedia


class Allowance(NamedTuple):
    """What decoding one file may take.

    Attributes:
        cpu_s: seconds of computing.
        cpu_s_per_mb: more for every megabyte of the file.
        longest_s: whatever its size.
        memory: bytes of address space of the process.
        idle: processes that are kept ready between jobs.
    """

    cpu_s: float = 30.0
    cpu_s_per_mb: float = 10.0
    longest_s: float = 900.0
    memory: int = 3 << 30
    idle: int = 2

    def for_size(self, size: int) -> float:
        """Seconds of computing that a file of so many bytes may take."""
        return min(self.cpu_s + self.cpu_s_per_mb * size / 1e6, self.longest_s)


# By the clock a job may take longer than by computing: the disk may be slow, the processor busy.
_PATIENCE = 3.0
# A library that leaks must not fill the memory of a program that runs for months.
_MOST_JOBS = 1000


class Decoders:
    """As many processes as there are files being decoded at the same time; a few are kept ready."""

    module = "capture.media.decoder"

    def __init__(self, allowance: Allowance) -> None:
        self._allowance = allowance
        self._idle: list[tuple[Helper, int]] = []
        self._lock = threading.Lock()

    def run(self, job: str, path: Path, words: Words | None = None) -> Iterator[Reply]:
        """Have one file worked on.

        Args:
            job: name of a job of `capture.media.decoder`.
            path: the file.
            words: what the job is told beside the path.

        Raises:
            UnreadableMedia: it cannot be read, or its decoder crashed, hung or swelled.
            OSError: it cannot be opened just now, or the process was ended from outside.
        """
        name = printable_name(path.name)
        cpu_s = self._allowance.for_size(path.stat().st_size)
        asked = {**(words or {}), "path": str(path)}
        try:
            yield from self._twice(job, asked, cpu_s)
        except JobFailed as error:
            raise _raised(error, path) from None
        except Overrun:
            raise UnreadableMedia(
                f"{name} was not read to its end within {cpu_s:.0f} second(s): it is damaged or "
                "made to mislead; convert it, or record it again."
            ) from None
        except NoMemory:
            raise UnreadableMedia(
                f"{name} needs more than {self._allowance.memory / (1 << 30):.0f} GB of memory to be read: "
                "save it smaller and drop it again."
            ) from None
        except Crashed:
            raise UnreadableMedia(
                f"{name} makes its decoder crash: it is damaged; convert it, or record it again."
            ) from None
        except Stopped:
            raise OSError(
                f"the process that reads {name} was ended from outside; is this computer short of memory?"
            ) from None

    def start(self) -> None:
        """Have one process ready before the first file."""
        helper, count = self._taken()
        helper.start()
        self._given_back(helper, count)

    def close(self) -> None:
        """End the processes that are kept ready."""
        with self._lock:
            idle, self._idle = self._idle, []
        for helper, _ in idle:
            helper.close()

    def _twice(self, job: str, words: Words, cpu_s: float) -> Iterator[Reply]:
        # A process that an earlier file has harmed may fall over a good one: only the second fall counts.
        said = False
        try:
            for reply in self._once(job, words, cpu_s):
                said = True
                yield reply
        except (Crashed, NoMemory):
            if said:
                raise
            self.close()
            yield from self._once(job, words, cpu_s)

    def _once(self, job: str, words: Words, cpu_s: float) -> Iterator[Reply]:
        helper, count = self._taken()
        try:
            with closing(helper.ask(job, words, cpu_s=cpu_s, wall_s=cpu_s * _PATIENCE)) as replies:
                yield from replies
        finally:
            self._given_back(helper, count)

    def _taken(self) -> tuple[Helper, int]:
        with self._lock:
            if self._idle:
                helper, count = self._idle.pop()
                return helper, count + 1
        # One thread: the numbers are small, and threads reserve address space.
        environment = {"OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"}
        return Helper(self.module, (), self._allowance.memory, environment), 1

    def _given_back(self, helper: Helper, count: int) -> None:
        with self._lock:
            if len(self._idle) < self._allowance.idle and count < _MOST_JOBS:
                self._idle.append((helper, count))
                return
        helper.close()


def _raised(error: JobFailed, path: Path) -> Exception:
    if error.kind == UnreadableMedia.__name__:
        return UnreadableMedia(str(error))
    if error.kind == "OSError":
        made: Any = OSError(error.errno, str(error), str(path)) if error.errno else OSError(str(error))
        return made  # type: ignore[no-any-return]
    return UnreadableMedia(
        f"{printable_name(path.name)} cannot be read ({error.kind}): convert it, or record it again."
    )


decoders = Decoders(Allowance())
atexit.register(decoders.close)
