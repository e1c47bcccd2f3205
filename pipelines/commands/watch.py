"""`droplight watch`: takes in what is dropped into a folder."""

import argparse
import contextlib
import signal
import threading
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from models.capture import Rejection
from models.settings import Settings
from pipelines.commands.call_back import call_back_lines
from pipelines.commands.failure import Failure
from pipelines.commands.tools import open_store, sending, watched_over, workshop

if TYPE_CHECKING:
    from models.store import Store
    from pipelines.backlog import Backlog
    from pipelines.workshop import Workshop

EXAMPLE = "droplight watch inbox/"
_FINISH_S = 60.0


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The words of the command."""
    parser.add_argument(
        "inbox", type=Path, help="folder where notes and photos are dropped; made when missing"
    )


def _refuse_overlap(inbox: Path, home: Path) -> None:
    one, other = inbox.resolve(), home.resolve()
    if one == other or one in other.parents or other in one.parents:
        raise Failure(f"The inbox {inbox} and the data folder {home} must not lie inside each other.")


def _now() -> datetime:
    return datetime.now(UTC)


def run(args: argparse.Namespace, settings: Settings) -> int:
    """Watch until interrupted."""
    inbox: Path = args.inbox
    _refuse_overlap(inbox, settings.home)
    inbox.mkdir(parents=True, exist_ok=True)
    from capture.ingest import ingest
    from capture.watch import watch

    shop = workshop(settings)
    stop = threading.Event()
    for number in (signal.SIGINT, signal.SIGTERM):
        signal.signal(number, lambda *_: stop.set())
    with open_store(settings) as store, watched_over(settings, store), _working(store, shop) as backlog:

        def take(path: Path) -> None:
            taken = ingest(path, inbox, store, settings.home, _now(), shop.originals)
            if isinstance(taken, Rejection):
                _say(f"rejected: {taken.reason} It lies in {inbox / 'rejected'}.")
                return
            if backlog is not None:
                backlog.put(taken.sha256)
            _say(f"taken in: {taken.original_name}")

        _say(f"Watching {inbox} (stop with Ctrl+C)")
        with sending(store, settings):
            watch(inbox, take, settings.watch, stop)
    return 0


@contextlib.contextmanager
def _working(store: "Store", shop: "Workshop") -> Iterator["Backlog | None"]:
    """While it lasts, a thread drafts from what is taken in; None where workers take it from a queue."""
    from pipelines.backlog import Backlog

    if store.jobs is not None:
        _say("What is taken in waits for droplight worker, here or on other computers.")
        yield None
        return
    backlog = Backlog(store, shop, lambda sha256, inspection: _report(store, sha256, inspection))
    worker = threading.Thread(target=backlog.run, name="worker")
    worker.start()
    try:
        yield backlog
    finally:
        backlog.stop()
        _say("Finishing what is in hand…")
        worker.join(timeout=_FINISH_S)
        if worker.is_alive():
            _say("It takes too long: it is done at the next start.")
            shop.stop_listener()
            shop.stop_reader()
            worker.join()


def _say(sentence: str) -> None:
    # Whoever read this may be gone, or may have no such letters: no reason to stop taking files in.
    with contextlib.suppress(OSError, ValueError):
        print(sentence, flush=True)


def _report(store: "Store", sha256: str, inspection: str | None) -> None:
    capture, record = store.capture(sha256), store.draft(inspection) if inspection else None
    assert capture is not None
    if record is None:
        _say(f"{capture.original_name}: waits in the tray; no inspection is near it in time.")
        return
    asked = [f for f in record.findings if f.attention]
    unit = record.inspection.unit or "unknown"
    counts = f"{len(record.findings)} findings, {len(asked)} to look at"
    _say(f"{capture.original_name}: unit {unit}, {counts}")
    for line in call_back_lines(record):
        _say(f"  {line}")
