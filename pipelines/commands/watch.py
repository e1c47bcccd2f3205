"""`droplight watch`: takes in what is dropped into a folder."""

import argparse
import logging
import queue
import signal
import threading
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
    from pipelines.workshop import Workshop

EXAMPLE = "droplight watch inbox/"
_log = logging.getLogger("droplight.watch")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The words of the command."""
    parser.add_argument(
        "inbox", type=Path, help="folder where notes and photos are dropped; made when missing"
    )


def _refuse_overlap(inbox: Path, home: Path) -> None:
    one, other = inbox.resolve(), home.resolve()
    if one == other or one in other.parents or other in one.parents:
        raise Failure(f"The inbox {inbox} and the data folder {home} must not lie inside each other.")


def run(args: argparse.Namespace, settings: Settings) -> int:
    """Watch until interrupted."""
    from capture.ingest import ingest
    from capture.watch import watch
    from pipelines.order import unfinished

    inbox: Path = args.inbox
    _refuse_overlap(inbox, settings.home)
    inbox.mkdir(parents=True, exist_ok=True)
    shop = workshop(settings)
    stop = threading.Event()
    for number in (signal.SIGINT, signal.SIGTERM):
        signal.signal(number, lambda *_: stop.set())
    work: queue.SimpleQueue[str | None] = queue.SimpleQueue()
    with open_store(settings) as store, watched_over(settings, store):

        def take(path: Path) -> None:
            taken = ingest(path, inbox, store, settings.home, datetime.now(UTC), shop.originals)
            if isinstance(taken, Rejection):
                print(f"rejected: {taken.reason} It lies in {inbox / 'rejected'}.", flush=True)
            else:
                print(f"taken in: {taken.original_name}", flush=True)
                if store.jobs is None:  # else workers take it from the queue
                    work.put(taken.sha256)

        if store.jobs is not None:
            print("What is taken in waits for droplight worker, here or on other computers.", flush=True)
        for sha256 in unfinished(store, shop) if store.jobs is None else ():
            work.put(sha256)
        worker = threading.Thread(target=_work, args=(work, store, shop), name="worker")
        worker.start()
        print(f"Watching {inbox} (stop with Ctrl+C)", flush=True)
        with sending(store, settings):
            watch(inbox, take, settings.watch, stop)
        work.put(None)
        print("Finishing what is in hand…", flush=True)
        worker.join(timeout=60)
    return 0


def _work(work: "queue.SimpleQueue[str | None]", store: "Store", shop: "Workshop") -> None:
    """Take captures one after another; what fails is said and stays unfinished for the next start."""
    from pipelines.order import advance

    while (sha256 := work.get()) is not None:
        try:
            _report(store, sha256, advance(store, sha256, shop))
        except Exception as error:
            _log.error(
                "Could not draft from %s…: %s. It is kept; start again to try again.", sha256[:12], error
            )
            _log.debug("", exc_info=True)


def _report(store: "Store", sha256: str, inspection: str | None) -> None:
    capture, record = store.capture(sha256), store.draft(inspection) if inspection else None
    assert capture is not None
    if record is None:
        print(f"{capture.original_name}: waits in the tray; no inspection is near it in time.", flush=True)
        return
    asked = [f for f in record.findings if f.attention]
    unit = record.inspection.unit or "unknown"
    counts = f"{len(record.findings)} findings, {len(asked)} to look at"
    print(f"{capture.original_name}: unit {unit}, {counts}", flush=True)
    for line in call_back_lines(record):
        print(f"  {line}", flush=True)
