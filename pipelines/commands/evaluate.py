"""`droplight evaluate`: how often drafts were right, by what reviewers signed."""

import argparse
import json

from models.settings import Settings
from pipelines.commands.tools import open_store

EXAMPLE = "droplight evaluate"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The words of the command."""
    parser.add_argument("--json", action="store_true", help="print the counts as JSON")


def run(args: argparse.Namespace, settings: Settings) -> int:
    """Compare every signed record with its draft; counts by part, measure and source, never by person."""
    from pipelines.evaluation import By, Share, judged_in, shares

    with open_store(settings) as store:
        records, judged = judged_in(store)
    ways: tuple[By, ...] = ("part", "measure", "source")
    if args.json:
        counts = {by: {n: s.model_dump() for n, s in shares(judged, by).items()} for by in ways}
        print(json.dumps({"records": records, **counts}, indent=2))
        return 0
    if not judged:
        print("Nothing to compare: no record with a draft of its own is signed yet.")
        return 0

    def line(name: str, share: Share) -> str:
        right = f"{share.right / share.drafted:.0%}" if share.drafted else "-"
        return f"{name:24}{share.drafted:>8}{right:>8}{share.silent:>14}{share.missed:>8}"

    print(f"{records} signed record(s)\n{'':24}{'drafted':>8}{'right':>8}{'wrong, silent':>14}{'missed':>8}")
    print(line("all", shares(judged)["all"]))
    for by in ways:
        print(f"\nby {by}")
        for name, share in shares(judged, by).items():
            print(line(name.replace("_", " "), share))
    return 0
