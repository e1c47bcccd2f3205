"""`droplight retention`: what is kept longer than the settings ask for, shown and removed."""

import argparse
from datetime import UTC, datetime

from models.settings import Settings
from pipelines.commands.failure import Failure
from pipelines.commands.tools import open_store

EXAMPLE = "droplight retention --apply"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The words of the command."""
    parser.add_argument("--apply", action="store_true", help="remove it; without this it is only shown")


def run(args: argparse.Namespace, settings: Settings) -> int:
    """Show, and remove when asked."""
    from capture.originals import Bucket, OriginalsError, open_originals
    from pipelines.operations.retention import overdue, remove_overdue

    now = datetime.now(UTC)
    try:
        originals = open_originals(settings.home, settings.originals_url)
    except OriginalsError as error:
        raise Failure(str(error)) from None
    with open_store(settings) as store:
        found = overdue(store, settings.keeping, now)
        if args.apply:
            remove_overdue(store, originals, settings.home, found, now)
    done = "removed" if args.apply else "would be removed (--apply does it)"
    print(f"{len(found.media)} originals and {len(found.records)} signed records {done}.")
    if found.waiting:
        print(f"{len(found.waiting)} old records were not delivered yet and stay: droplight deliver.")
    if found.unsigned:
        print(f"{len(found.unsigned)} old inspections are not signed and stay whole: {found.unsigned[0]}…")
    if isinstance(originals, Bucket) and args.apply:
        count = originals.trim(round(settings.keeping.copies_gb * 1e9))
        print(f"{count} copies of originals removed from this computer; the store has them.")
    return 0
