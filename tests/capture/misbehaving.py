"""Jobs that do what decoders do on their worst days."""

import os
import signal
import threading
import time
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import numpy as np

from capture.apart.serve import Job
from capture.apart.wire import Reply

_HELD: list[np.ndarray] = []


def jobs(*arguments: str) -> Mapping[str, Job]:
    return {
        "echo": lambda words, data: iter([Reply({"words": words["say"], "told": list(arguments)}, data)]),
        "count": lambda words, _: (Reply({"number": n}) for n in range(words["to"])),
        "who": lambda words, _: iter([Reply({"process": os.getpid()})]),
        "crash": _crash,
        "leave": lambda words, _: os._exit(3),
        "hang": _hang,
        "spin": _spin,
        "swell": _swell,
        "chatter": _chatter,
        "fail": _fail,
    }


def _crash(words: Any, _: Any) -> Iterator[Reply]:
    yield Reply({"before": True})
    os.kill(os.getpid(), signal.SIGSEGV)
    time.sleep(10)


def _hang(words: Any, _: Any) -> Iterator[Reply]:
    yield Reply({"process": os.getpid()})
    threading.Event().wait(60)


def _spin(words: Any, _: Any) -> Iterator[Reply]:
    while True:
        pass
    yield Reply({})


def _swell(words: Any, _: Any) -> Iterator[Reply]:
    while True:
        _HELD.append(np.empty(64 << 20, np.uint8))  # reserved and not touched
    yield Reply({})


def _chatter(words: Any, _: Any) -> Iterator[Reply]:
    os.write(1, b"a library says something\n" * 10)
    print("so does another", flush=True)
    yield Reply({"still": "understood"})


def _fail(words: Any, _: Any) -> Iterator[Reply]:
    Path(words["path"]).read_bytes()
    yield Reply({})
