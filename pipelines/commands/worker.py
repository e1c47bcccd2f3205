"""`droplight worker`: takes captures from the queue of a PostgreSQL database, beside other workers."""

import argparse
import signal
import threading
from functools import partial

from models.settings import Settings
from pipelines.commands.failure import Failure
from pipelines.commands.tools import open_store, watched_over, workshop

EXAMPLE = "droplight worker --retry"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The words of the command."""
    parser.add_argument(
        "--retry", action="store_true", help="first put back what was given up after several tries"
    )


def run(args: argparse.Namespace, settings: Settings) -> int:
    """Work until interrupted; what is in hand is finished first."""
    from models.store import StoreError
    from pipelines.operations.working import work_on
    from pipelines.order import unfinished

    with open_store(settings) as store:
        if store.jobs is None:
            raise Failure(
                "Workers need a database that several programs can use: set database_url, or DATABASE_URL, "
                "to postgresql+psycopg://user@host/name. On one computer droplight watch does the work."
            )
        shop = workshop(settings)
        stop = threading.Event()
        for number in (signal.SIGINT, signal.SIGTERM):
            signal.signal(number, lambda *_: stop.set())
        if args.retry:
            print(f"{store.jobs.retry_failed()} given up before, tried again.", flush=True)
        if added := store.jobs.ensure(unfinished(store, shop)):
            print(f"{added} unfinished, put into the queue.", flush=True)
        try:
            with watched_over(settings, store):
                print("Working (stop with Ctrl+C)", flush=True)
                shop.make_ready()
                store.jobs.work(partial(work_on, store, shop), settings.worker, stop)
        except StoreError as error:
            raise Failure(str(error)) from None
        print("Stopped; nothing is in hand.", flush=True)
    return 0
