"""`droplight deliver`: signed records to files."""

import argparse
from pathlib import Path

from models.settings import Settings
from pipelines.commands.failure import Failure
from pipelines.commands.tools import open_store

EXAMPLE = "droplight deliver --out delivered/"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The words of the command."""
    parser.add_argument("--out", type=Path, required=True, help="folder to write to; made when missing")
    parser.add_argument("--inspection", help="only this one, by its id; an unsigned one is refused")
    parser.add_argument("--no-report", action="store_true", help="without the owner's report (HTML and PDF)")


def run(args: argparse.Namespace, settings: Settings) -> int:
    """Write what is signed and not yet written."""
    from pipelines.delivery.export import DeliveryError, deliver, export_record
    from pipelines.delivery.extras import making
    from pipelines.delivery.mapping import MappingError

    try:
        extras = making(settings.home, settings.shop, settings.delivery.tables, not args.no_report)
    except MappingError as error:
        raise Failure(str(error)) from None
    with open_store(settings) as store:
        try:
            if args.inspection:
                record = store.signed(args.inspection) or store.draft(args.inspection)
                if record is None:
                    raise Failure(f"There is no inspection {args.inspection}.")
                written = export_record(record, args.out, extras)
            else:
                written = deliver(store, args.out, extras)
        except DeliveryError as error:
            raise Failure(str(error)) from None
        waiting = [row for row in store.inspections() if row.state == "open"]
    for path in written:
        print(path)
    if not written:
        print("Nothing to write: no signed record is waiting.")
    if waiting:
        print(f"{len(waiting)} inspection(s) are not signed and stay here.")
    return 0
