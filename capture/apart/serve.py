"""The side that works: takes jobs one after another until the other side is gone."""

import importlib
import os
import signal
import sys
import threading
from collections.abc import Callable, Iterator, Mapping
from typing import Any, BinaryIO

from capture.apart.wire import Reply, Words, receive, send

Job = Callable[[Words, bytes | bytearray | memoryview], Iterator[Reply]]


def main(argv: list[str]) -> None:
    """Serve the jobs of one module.

    Args:
        argv: name of the module, whose ``jobs(*arguments)`` gives the jobs by name; most bytes of memory,
            0 for no limit; number of the pipe that ends with the other side, or -1; then the arguments.
    """
    module, memory, life, *arguments = argv
    reader, writer = _pipes()
    _end_with(int(life))
    _limit_memory(int(memory))
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    jobs: Mapping[str, Job] = importlib.import_module(module).jobs(*arguments)
    while True:
        try:
            asked = receive(reader)
        except EOFError:
            return
        _limit_time(asked.words["cpu_s"])
        try:
            _do(jobs[asked.words["job"]], asked, writer)
        except BrokenPipeError:
            return


def _do(job: Job, asked: Reply, writer: BinaryIO) -> None:
    try:
        for reply in job(asked.words, asked.data):
            send(writer, {"reply": reply.words}, reply.data)
    except BrokenPipeError:
        raise
    except BaseException as error:
        send(writer, {"raised": _told(error)})
    else:
        send(writer, {"end": True})


def _told(error: BaseException) -> dict[str, Any]:
    told: dict[str, Any] = {"kind": type(error).__name__, "text": str(error)}
    if isinstance(error, MemoryError):
        told["kind"] = "MemoryError"
    elif isinstance(error, OSError):
        told |= {"kind": "OSError", "errno": error.errno, "text": error.strerror or str(error)}
    return told


def _pipes() -> tuple[BinaryIO, BinaryIO]:
    # A library that prints must not write into the messages.
    reader, writer = os.fdopen(os.dup(0), "rb"), os.fdopen(os.dup(1), "wb")
    nothing = os.open(os.devnull, os.O_RDWR)
    os.dup2(nothing, 0)
    os.dup2(nothing, 1)
    os.close(nothing)
    return reader, writer


def _end_with(life: int) -> None:
    """End at once when the other side ends, however it ends, and whatever is being done."""
    if life < 0:
        return

    def wait() -> None:
        os.read(life, 1)
        os._exit(0)

    threading.Thread(target=wait, name="life", daemon=True).start()


def _limit_memory(most: int) -> None:
    if sys.platform == "win32":
        return
    import resource

    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    if most:
        resource.setrlimit(resource.RLIMIT_AS, (most, most))


def _limit_time(seconds: float) -> None:
    """Let the system end this process once it has computed that much longer."""
    if sys.platform == "win32":
        return
    import resource

    used = resource.getrusage(resource.RUSAGE_SELF)
    most = resource.getrlimit(resource.RLIMIT_CPU)[1]
    limit = int(used.ru_utime + used.ru_stime + seconds) + 1
    if most == resource.RLIM_INFINITY or limit < most:
        resource.setrlimit(resource.RLIMIT_CPU, (limit, most))
