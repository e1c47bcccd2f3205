"""The real ``droplight watch`` with fake recognisers, in processes that may be killed: ``driver.py``.

For each line of JSON read, one more process is started, and its number printed. One process that only forks
is kept for that, because loading the libraries each time would take most of the time. Its disk is slow, so
that a kill meets every step of the way.
"""

import errno
import faulthandler
import json
import os
import signal
import sys
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

SLOW_S = 0.004


def main() -> None:
    """Load once, then fork for each order."""
    import pipelines.backlog
    import pipelines.commands.main
    import pipelines.commands.watch
    import pipelines.order  # noqa: F401 - loaded before the forks

    for line in sys.stdin:
        order = json.loads(line)
        child = os.fork()
        if child == 0:
            _run(order)
        print(child, flush=True)
        os.waitpid(child, 0)


def _run(order: dict[str, Any]) -> None:
    try:
        log = os.open(order["log"], os.O_WRONLY | os.O_APPEND | os.O_CREAT, 0o666)
        os.dup2(log, 1)
        os.dup2(log, 2)
        faulthandler.register(signal.SIGUSR1)  # whoever waits in vain may ask where it stands
        _equip(Path(order["control"]))
        from pipelines.commands.main import main as droplight

        os._exit(droplight(["--home", order["home"], "watch", order["inbox"]]))
    except BaseException as error:
        os.write(2, f"DRIVER {type(error).__name__}: {error}\n".encode())
        os._exit(70)


def _equip(control: Path) -> None:
    """Fake recognisers; a clock, a disk and a patience that the control folder governs."""
    import pipelines.backlog
    import pipelines.commands.watch
    import pipelines.workshop
    from capture import disk
    from models.store import connection
    from pipelines.deadline import Patience

    patience = Patience(first_s=0.2, longest_s=1.0)
    pipelines.workshop.open_workshop = lambda settings: apart(settings, control, patience)
    pipelines.commands.watch._now = lambda: datetime.now(UTC) + timedelta(seconds=_number(control / "clock"))
    pipelines.backlog.FIRST_RETRY_S = 0.2
    pipelines.backlog.LONGEST_RETRY_S = 1.0
    connection.BUSY_TIMEOUT_S = 0.3
    _slow_and_full(disk, control)


def apart(settings: Any, control: Path, patience: Any) -> Any:
    """The tools with fake recognisers, each in a process of its own."""
    from capture.apart import Helper
    from models.limits import load_limits
    from models.vocabulary import load_vocabulary
    from pipelines.recognisers import FarListener, FarReader, Recogniser
    from pipelines.workshop import Workshop

    hears = Recogniser(Helper("tests.soak.fake_recogniser", ("speech", str(control))))
    reads = Recogniser(Helper("tests.soak.fake_recogniser", ("displays", str(control))))
    reader = FarReader(reads)
    return Workshop(
        settings=settings,
        vocabulary=load_vocabulary(),
        limits=load_limits(),
        listener=FarListener(hears),
        read_display=reader.read_display,
        read_print=reader.read_print,
        patience=patience,
        stop_listener=hears.stop,
        stop_reader=reads.stop,
    )


def _number(path: Path) -> float:
    try:
        return float(path.read_text())
    except (OSError, ValueError):
        return 0.0


def _slow_and_full(disk: Any, control: Path) -> None:
    real_copy, real_write, real_sync = disk.copy, disk.write, os.fsync

    def full() -> None:
        if (control / "full").exists():
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    def copy(source: Path, target: Path) -> str:
        full()
        return str(real_copy(source, target))

    def write(path: Path, text: str, mode: str) -> None:
        full()
        real_write(path, text, mode)

    def sync(handle: int) -> None:
        time.sleep(SLOW_S)
        real_sync(handle)

    disk.copy, disk.write, os.fsync = copy, write, sync


if __name__ == "__main__":
    main()
