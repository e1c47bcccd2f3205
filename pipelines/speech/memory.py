"""Memory that is free again goes back to the system."""

import ctypes
import sys
from collections.abc import Callable
from functools import cache


@cache
def _trim() -> Callable[[int], object] | None:
    """The C library's own way to give memory back; only the GNU one has it, and only it hoards."""
    return getattr(ctypes.CDLL(None), "malloc_trim", None) if sys.platform == "linux" else None


def give_back() -> None:
    """Give back what the allocator holds in reserve.

    Windows of many lengths leave holes of many sizes: without this a long recording takes more and more.
    """
    if (trim := _trim()) is not None:
        trim(0)
