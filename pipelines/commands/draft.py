"""`droplight draft`: one folder, no server."""

import argparse
import json
import os
import tempfile
from pathlib import Path

from models.settings import Settings
from pipelines.commands.failure import Failure
from pipelines.commands.tools import open_store, print_record, workshop

EXAMPLE = "droplight draft inbox/ --out draft.json"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The words of the command."""
    parser.add_argument("inbox", type=Path, help="folder with audio notes and photos; it is only read")
    parser.add_argument(
        "--out", type=Path, help="write the draft record here as JSON; else it is printed as a table"
    )


def write_whole(path: Path, text: str) -> None:
    """Write a file that is never seen half: beside it, then renamed."""
    path.parent.mkdir(parents=True, exist_ok=True)
    handle, name = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent)
    try:
        with os.fdopen(handle, "w", encoding="utf-8") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        Path(name).chmod(0o644)
        Path(name).replace(path)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise


def run(args: argparse.Namespace, settings: Settings) -> int:
    """Draft, write or print."""
    inbox: Path = args.inbox
    if not inbox.is_dir():
        raise Failure(f"{inbox} is no folder. Name the folder with the notes and photos.")
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeElapsedColumn

    from capture.ingest import scan
    from pipelines.order import draft_folder

    shop = workshop(settings)
    columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(), TimeElapsedColumn())
    with open_store(settings) as store, Progress(*columns, console=Console(stderr=True)) as bar:
        task = bar.add_task("reading", total=len(scan(inbox)))
        started = False

        def progress(name: str) -> None:
            nonlocal started
            bar.update(task, advance=1 if started else 0, description=name[:40])
            started = True

        try:
            record = draft_folder(inbox, store, shop, progress)
        except ValueError as error:
            raise Failure(str(error)) from None
        bar.update(task, advance=1, description="done")
    if args.out is None:
        print_record(record)
    else:
        write_whole(args.out, json.dumps(record.to_json(), indent=2, ensure_ascii=False) + "\n")
        asked = sum(1 for f in record.findings if f.attention)
        print(f"{args.out}: {len(record.findings)} findings, {asked} to look at before accepting.")
        for notice in record.notices:
            print(f"- {notice}")
    return 0
