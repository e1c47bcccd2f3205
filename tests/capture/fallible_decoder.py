"""The decoder's jobs, with falls before and in them that the name of the file asks for."""

import os
import signal
import threading
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import numpy as np

from capture.apart.serve import Job
from capture.apart.wire import Reply
from capture.media import decoder


def jobs() -> Mapping[str, Job]:
    return {name: _falling(job) for name, job in decoder.jobs().items()}


def _falling(job: Job) -> Job:
    def fall(words: Any, data: Any) -> Iterator[Reply]:
        path = Path(words["path"])
        _before(path)
        for reply in job(words, data):
            yield reply
            if path.stem == "crash late":
                os.kill(os.getpid(), signal.SIGSEGV)

    return fall


def _before(path: Path) -> None:
    mark = path.with_name(f"{path.name}.crashed")
    if path.stem == "crash" or (path.stem == "crash once" and not mark.exists()):
        mark.touch() if path.stem == "crash once" else None
        os.kill(os.getpid(), signal.SIGSEGV)
    if path.stem == "killed":
        os.kill(os.getpid(), signal.SIGKILL)
    if path.stem == "hang":
        threading.Event().wait(60)
    while path.stem == "spin":
        pass
    held = []
    while path.stem == "swell":
        held.append(np.empty(64 << 20, np.uint8))  # reserved and not touched
    if path.stem == "odd":
        raise ZeroDivisionError
