"""The side that asks: starts the process, waits no longer than it may, and starts another after a fall."""

import contextlib
import os
import signal
import subprocess
import sys
import threading
from collections.abc import Generator, Mapping, Sequence
from typing import Any, BinaryIO, cast

from capture.apart.wire import Reply, Words, receive, send

# The path goes along, because whoever runs this may have found the packages in a way of its own.
_BOOT = (
    "import sys; n = int(sys.argv[1]); sys.path[:] = sys.argv[2:2 + n]; "
    "from capture.apart.serve import main; main(sys.argv[2 + n:])"
)


class JobFailed(Exception):
    """The job raised an error; the text is the error's own.

    Attributes:
        kind: name of the error's class; ``OSError`` for all of its kind.
        errno: of an OSError.
    """

    def __init__(self, kind: str, text: str, errno: int | None = None) -> None:
        super().__init__(text or kind)
        self.kind = kind
        self.errno = errno


class NoMemory(Exception):
    """The job needed more memory than the process may have."""


class Overrun(Exception):
    """The job took longer than it may; its process was ended."""


class Stopped(Exception):
    """The process was ended by somebody else: :meth:`Helper.stop`, or a system without memory."""


class Crashed(Exception):
    """The process ended by itself in the middle of a job."""


class Helper:
    """A process that does one job after another; started when first needed, and anew after a fall.

    Several threads may ask; one job is done at a time.
    """

    def __init__(
        self,
        module: str,
        arguments: Sequence[str] = (),
        memory: int = 0,
        environment: Mapping[str, str] | None = None,
    ) -> None:
        """Remember what to start.

        Args:
            module: its ``jobs(*arguments)`` gives the jobs by name.
            arguments: for that function.
            memory: most bytes of address space the process may take; 0 for no limit.
            environment: variables over those of this process.
        """
        self._command = (module, str(memory))
        self._arguments = tuple(arguments)
        self._environment = dict(environment or {})
        self._process: subprocess.Popen[bytes] | None = None
        self._life = -1
        self._turn = threading.Lock()
        self._starting = threading.Lock()
        self._overrun = False

    def start(self) -> None:
        """Start the process unless it runs; what it imports is then ready when the first job comes."""
        with self._starting:
            if self._process is not None and self._process.poll() is None:
                return
            self._close()
            self._open()

    def stop(self) -> None:
        """End the process, in the middle of a job too; the next job starts another."""
        process = self._process
        if process is not None:
            process.kill()

    def close(self) -> None:
        """End the process and wait until it is gone."""
        self.stop()
        with self._turn, self._starting:
            self._close()

    def ask(
        self, job: str, words: Words, data: bytes | memoryview = b"", *, cpu_s: float, wall_s: float
    ) -> Generator[Reply, None, None]:
        """Have one job done.

        Args:
            job: its name.
            words: what it is told.
            data: bytes for it.
            cpu_s: seconds it may compute.
            wall_s: seconds that it may take for each of its replies.

        Yields:
            Its replies. A caller that stops listening half way ends the process.

        Raises:
            JobFailed: it raised an error.
            NoMemory: it needed too much memory.
            Overrun: it took too long.
            Stopped: its process was ended from outside.
            Crashed: its process ended by itself.
        """
        with self._turn:
            self.start()
            process = self._process
            assert process is not None
            self._overrun = False
            done = False
            try:
                with self._timed(process, wall_s):
                    self._say(process, {**words, "job": job, "cpu_s": cpu_s}, data)
                while (reply := self._hear(process, wall_s)) is not None:
                    yield reply
                done = True
            except JobFailed:
                done = True
                raise
            finally:
                if not done:
                    process.kill()
                    with self._starting:
                        self._close()

    def _say(self, process: "subprocess.Popen[bytes]", words: Words, data: bytes | memoryview) -> None:
        try:
            send(cast("BinaryIO", process.stdin), words, data)
        except OSError:
            raise self._end_of(process) from None

    def _hear(self, process: "subprocess.Popen[bytes]", wall_s: float) -> Reply | None:
        try:
            with self._timed(process, wall_s):
                words, data = receive(cast("BinaryIO", process.stdout))
        except EOFError:
            raise self._end_of(process) from None
        if raised := words.get("raised"):
            raise _error(raised)
        return None if words.get("end") else Reply(words.get("reply", {}), data)

    @contextlib.contextmanager
    def _timed(self, process: "subprocess.Popen[bytes]", wall_s: float) -> Generator[None, None, None]:
        # A timer and not a wait on the pipe, because not every system can wait on pipes.
        timer = threading.Timer(wall_s, self._give_up, (process,))
        timer.daemon = True
        timer.start()
        try:
            yield
        finally:
            timer.cancel()

    def _give_up(self, process: "subprocess.Popen[bytes]") -> None:
        self._overrun = True
        process.kill()

    def _end_of(self, process: "subprocess.Popen[bytes]") -> Exception:
        if self._overrun:
            return Overrun()
        try:
            code = process.wait(5)
        except subprocess.TimeoutExpired:
            return Crashed("it sent what is no message")
        if code == -getattr(signal, "SIGXCPU", 24):
            return Overrun()
        if code in (-getattr(signal, "SIGKILL", 9), -signal.SIGTERM):
            return Stopped()
        return Crashed(f"signal {-code}" if code < 0 else f"status {code}")

    def _open(self) -> None:
        reader, writer = os.pipe() if os.name != "nt" else (-1, -1)
        module, memory = self._command
        path = [entry for entry in sys.path if isinstance(entry, str)]
        command = [sys.executable, "-c", _BOOT, str(len(path)), *path, module, memory, str(reader)]
        try:
            self._process = subprocess.Popen(  # noqa: S603 - this very program
                [*command, *self._arguments],
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL,
                env={**os.environ, **self._environment},
                pass_fds=(reader,) if reader >= 0 else (),
                start_new_session=True,  # an interrupt at the terminal is for the asking side alone
            )
        except OSError:
            if writer >= 0:
                os.close(writer)
            raise
        finally:
            if reader >= 0:
                os.close(reader)
        self._life = writer

    def _close(self) -> None:
        process, self._process = self._process, None
        if self._life >= 0:
            os.close(self._life)
            self._life = -1
        if process is None:
            return
        process.kill()
        for file in (process.stdin, process.stdout):
            with contextlib.suppress(OSError):
                cast("BinaryIO", file).close()
        process.wait()


def _error(raised: Any) -> Exception:
    if raised["kind"] == "MemoryError":
        return NoMemory()
    return JobFailed(raised["kind"], raised["text"], raised.get("errno"))
