"""`droplight deliver`: signed records to files, and to receivers over HTTP."""

import argparse
import time
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from models.settings import Settings
from pipelines.commands.failure import Failure
from pipelines.commands.tools import open_store

if TYPE_CHECKING:
    from models.store import Store

EXAMPLE = "droplight deliver --out delivered/"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The words of the command."""
    parser.set_defaults(refuse=parser.error)
    parser.add_argument("--out", type=Path, help="folder to write to; made when missing")
    parser.add_argument("--inspection", help="only this one, by its id; an unsigned one is refused")
    parser.add_argument("--no-report", action="store_true", help="without the owner's report (HTML and PDF)")
    parser.add_argument(
        "--send", action="store_true", help="send to the receivers of settings.yaml what is due"
    )
    parser.add_argument("--resend", action="store_true", help="the same, with what was given up before")


def run(args: argparse.Namespace, settings: Settings) -> int:
    """Write what is signed and not yet written; send what is due."""
    sending = args.send or args.resend
    if args.out is None and not sending:
        args.refuse("say --out FOLDER to write files, or --send for the receivers of settings.yaml")
    if args.inspection and args.out is None:
        raise Failure("--inspection writes files: add --out FOLDER.")
    if sending and not settings.delivery.endpoints:
        raise Failure(f"No receiver is set: add delivery.endpoints to {settings.home / 'settings.yaml'}.")
    with open_store(settings) as store:
        if args.out is not None:
            _write(store, args, settings)
        return _send(store, args.resend, settings) if sending else 0


def _write(store: "Store", args: argparse.Namespace, settings: Settings) -> None:
    from capture.originals import open_originals
    from pipelines.delivery.export import DeliveryError, deliver, export_record
    from pipelines.delivery.extras import making
    from pipelines.delivery.mapping import MappingError

    try:
        originals = open_originals(settings.home, settings.originals_url)
        tables = settings.delivery.tables
        extras = making(settings.home, settings.shop, tables, not args.no_report, originals)
        if args.inspection:
            record = store.signed(args.inspection) or store.draft(args.inspection)
            if record is None:
                raise Failure(f"There is no inspection {args.inspection}.")
            written = export_record(record, args.out, extras)
        else:
            written = deliver(store, args.out, extras)
    except (DeliveryError, MappingError) as error:
        raise Failure(str(error)) from None
    for path in written:
        print(path)
    if not written:
        print("Nothing to write: no signed record is waiting.")
    if waiting := [row for row in store.inspections() if row.state == "open"]:
        print(f"{len(waiting)} inspection(s) are not signed and stay here.")


def _send(store: "Store", resend: bool, settings: Settings) -> int:
    from pipelines.delivery.sending import send_due
    from pipelines.delivery.webhook import SecretError

    if resend:
        print(f"{store.deliveries.revive()} given up before, tried again.")
    try:
        went = send_due(store, settings.delivery.endpoints)
    except SecretError as error:
        raise Failure(str(error)) from None
    print(f"{went.sent} sent, {went.again} to be tried again, {went.given_up} given up.")
    for receiver in settings.delivery.endpoints:
        if store.deliveries.sender(receiver.name, time.time()):
            print(f"{receiver.name} is being sent to by another Droplight just now.")
    for endpoint, why in store.deliveries.closed().items():
        print(f"{endpoint} is closed: {why}. Open it again with: droplight deliver --resend")
    dead = store.deliveries.all("dead")
    for delivery in dead:
        print(f"given up: {delivery.inspection} to {delivery.endpoint}: {delivery.problem}")
    for delivery in store.deliveries.all("waiting"):
        at = f"{datetime.fromtimestamp(delivery.due).astimezone():%Y-%m-%d %H:%M}"
        why = delivery.problem or "not tried yet"
        print(f"waiting until {at}: {delivery.inspection} to {delivery.endpoint}: {why}")
    return 1 if dead else 0
