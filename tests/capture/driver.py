"""Processes that watch an inbox and take files in until they are killed: ``driver.py INBOX HOME``.

Their disk is slow, so that a kill at a random moment meets every step of the way and not only the decoding.
"""

import os
import sys
import threading
import time
from datetime import UTC, datetime
from pathlib import Path

from capture.ingest import ingest
from capture.watch import watch
from models.capture import Capture, Rejection
from models.settings import WatchSettings
from models.store import Store

SYNC_S = 0.005
COMMIT_S = 0.03


class SlowStore(Store):
    """A store on a slow disk."""

    def add_capture(self, capture: Capture, arrived_at: datetime) -> bool:
        time.sleep(COMMIT_S)
        added = super().add_capture(capture, arrived_at)
        time.sleep(COMMIT_S)
        return added

    def add_rejection(self, rejection: Rejection) -> None:
        time.sleep(COMMIT_S)
        super().add_rejection(rejection)
        time.sleep(COMMIT_S)


def slow_fsync(handle: int, real=os.fsync) -> None:
    time.sleep(SYNC_S)
    real(handle)


def main() -> None:
    """For each line read, start one more process that watches, and print its number."""
    inbox, home = Path(sys.argv[1]), Path(sys.argv[2])
    os.fsync = slow_fsync
    for _ in sys.stdin:
        child = (
            os.fork()
        )  # nothing is open yet and no thread runs: this only saves loading the libraries again
        if child == 0:
            run(inbox, home)
        print(child, flush=True)
        os.waitpid(child, 0)


def run(inbox: Path, home: Path) -> None:
    store = SlowStore.open(f"sqlite:///{home / 'droplight.db'}")
    settings = WatchSettings(settle_s=0.05, rescan_s=0.2)
    watch(inbox, lambda path: take(path, inbox, store, home), settings, threading.Event())


def take(path: Path, inbox: Path, store: Store, home: Path) -> None:
    ingest(path, inbox, store, home, datetime.now(UTC))


if __name__ == "__main__":
    main()
