"""A worker in a process of its own, with slow doubles: ``worker_driver.py URL HOME MARK``.

The file MARK is there while it hears, so that a test can kill it then.
"""

import logging
import signal
import sys
import threading
import time
from functools import partial
from pathlib import Path

from models.settings import WorkerSettings
from models.store import Store
from pipelines.operations.working import work_on
from tests.doubles import Scripted, workshop

TIMES = WorkerSettings(heartbeat_s=0.3, poll_s=0.2, retry_s=0.2, reconnect_s=0.2)
HEARING_S = 0.15


class Slow(Scripted):
    """Takes its time, and says before that it has begun."""

    mark: Path

    def hear(self, samples: object) -> object:
        self.mark.write_text("hearing")
        time.sleep(HEARING_S)
        heard = super().hear(samples)  # type: ignore[arg-type]
        self.mark.unlink(missing_ok=True)
        return heard


def main() -> None:
    logging.basicConfig(level=logging.WARNING, format="%(message)s")
    url, home, mark = sys.argv[1], Path(sys.argv[2]), Path(sys.argv[3])
    listener = Slow(["Left front outer pad, six millimeters."])
    listener.mark = mark
    stop = threading.Event()
    signal.signal(signal.SIGTERM, lambda *_: stop.set())
    store = Store.open(url)
    assert store.jobs is not None
    store.jobs.work(partial(work_on, store, workshop(home, listener)), TIMES, stop)
    store.close()


if __name__ == "__main__":
    main()
