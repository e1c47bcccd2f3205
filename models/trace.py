"""The thread that leads through the logs from a file to its record."""

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar

_current: ContextVar[str] = ContextVar("droplight_trace", default="")


def trace_of(sha256: str) -> str:
    """The trace of a capture: the beginning of its hash, so every host knows it without being told."""
    return sha256[:16]


def current_trace() -> str:
    """The trace of what is being worked on in this thread; empty when nothing is."""
    return _current.get()


@contextmanager
def tracing(sha256: str) -> Iterator[None]:
    """Whatever is logged inside belongs to this capture."""
    token = _current.set(trace_of(sha256))
    try:
        yield
    finally:
        _current.reset(token)
