"""`droplight amend`: a new draft that puts a signed record right."""

import argparse
from uuid import uuid4

from models.settings import Settings
from pipelines.commands.failure import Failure
from pipelines.commands.tools import open_store

EXAMPLE = "droplight amend 0d2b9a56-3a3f-4f5c-9a7c-5c7f0a1b2c3d"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The words of the command."""
    parser.add_argument("inspection", help="id of the signed inspection (see its JSON file)")


def run(args: argparse.Namespace, settings: Settings) -> int:
    """Open the amendment; the signed record stays as it is."""
    from models.signing import amendment
    from models.store import InspectionRow
    from models.store.store import AMENDMENT

    with open_store(settings) as store:
        signed = store.signed(args.inspection)
        if signed is None:
            raise Failure(f"There is no signed inspection {args.inspection}.")
        draft = amendment(signed, str(uuid4()))
        head = draft.inspection
        store.add_inspection(
            InspectionRow(
                id=head.id,
                unit=None,  # so that no new file is put here by its unit or time: see Store.assign
                folder=f"{AMENDMENT}{args.inspection}",
                started_at=head.started_at,
                ended_at=head.ended_at,
                state="open",
                version=0,
            )
        )
        store.put_draft(head.id, draft)
    print(f"Inspection {head.id} amends {args.inspection}: decide about every finding and sign it.")
    print("Review it with: droplight review")
    return 0
