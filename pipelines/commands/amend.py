"""`droplight amend`: a new draft that puts a signed record right."""

import argparse

from models.settings import Settings
from pipelines.commands.failure import Failure
from pipelines.commands.tools import open_store

EXAMPLE = "droplight amend 0d2b9a56-3a3f-4f5c-9a7c-5c7f0a1b2c3d"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The words of the command."""
    parser.add_argument("inspection", help="id of the signed inspection (see its JSON file)")


def run(args: argparse.Namespace, settings: Settings) -> int:
    """Open the amendment; the signed record stays as it is."""
    from models.store.amending import open_amendment

    with open_store(settings) as store:
        try:
            new = open_amendment(store, args.inspection)
        except LookupError as error:
            raise Failure(str(error)) from None
    print(f"Inspection {new} amends {args.inspection}: decide about every finding and sign it.")
    print("Review it with: droplight review")
    return 0
