"""`droplight verify`: whether a record is still what was signed."""

import argparse
from pathlib import Path

from models.settings import Settings
from pipelines.commands.failure import Failure
from pipelines.commands.tools import open_store

EXAMPLE = "droplight verify delivered/417-20261120-0d2b9a56.json --folder delivered/"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The words of the command."""
    parser.add_argument("record", type=Path, help="a signed record as JSON")
    among = parser.add_mutually_exclusive_group()
    among.add_argument("--folder", type=Path, help="also check that it follows from the records in here")
    among.add_argument("--store", action="store_true", help="the same against the data folder")


def run(args: argparse.Namespace, settings: Settings) -> int:
    """Check hash, format and, when asked, what was signed before."""
    from pipelines.delivery.verifying import Wrong, by_hash, check_chain, read_record, records_in

    try:
        record = read_record(args.record)
        steps = None
        if args.folder is not None:
            if not args.folder.is_dir():
                raise Failure(f"{args.folder} is no folder.")
            steps = check_chain(record, records_in(args.folder))
        elif args.store:
            with open_store(settings) as store:
                known = by_hash(store.chain(record.inspection.unit or ""))
                removed = {one.sha256 for one in store.keeping.removed_records()}
            if record.inspection.unit and record.signature and record.signature.sha256 not in known:
                raise Wrong(f"{args.record} is whole, but it was not signed in {settings.home}.")
            steps = check_chain(record, known, removed)
    except Wrong as wrong:
        raise Failure(str(wrong)) from None
    signature = record.signature
    assert signature is not None  # read_record gives only signed records
    print(f"{args.record} is what {signature.by} signed at {signature.at.isoformat()}.")
    if steps is not None:
        print(
            "It is the first record of its unit." if not steps else f"It follows {steps} earlier record(s)."
        )
    return 0
