"""Memory that is free again goes back to the system, so that a long recording takes no more than a short one.

Only the GNU C library hoards what was freed; with any other these functions do nothing.
"""

import ctypes
import sys
from functools import cache
from typing import Any

_M_ARENA_MAX = -8  # of malloc.h, see mallopt(3)


@cache
def _c_library(name: str) -> Any:
    """A function of the C library, or one that does nothing where it has none of that name."""
    library = ctypes.CDLL(None) if sys.platform == "linux" else None
    return getattr(library, name, lambda *_: 0)


def keep_one_reserve() -> None:
    """Let all threads that start from now on share one reserve of freed memory, instead of one each."""
    _c_library("mallopt")(_M_ARENA_MAX, 1)


def give_back() -> None:
    """Give back what is held in reserve: windows of many lengths leave holes of many sizes."""
    _c_library("malloc_trim")(0)
