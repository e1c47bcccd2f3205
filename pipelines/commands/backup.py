"""`droplight backup`: a copy of everything, while everything goes on."""

import argparse
from datetime import UTC, datetime
from pathlib import Path

from models.settings import Settings
from pipelines.commands.failure import Failure
from pipelines.commands.tools import open_store

EXAMPLE = "droplight backup /mnt/disk/droplight-backups"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The words of the command."""
    parser.add_argument("folder", type=Path, help="folder of backups, on another disk; made when missing")


def run(args: argparse.Namespace, settings: Settings) -> int:
    """Back up, and read the backup through."""
    from capture.originals import OriginalsError
    from pipelines.operations.backup import BackupError, back_up, check_backup

    folder = args.folder.resolve()
    if folder.is_relative_to(settings.home.resolve()):
        raise Failure(f"{args.folder} lies in the data folder: a backup belongs on another disk.")
    try:
        with open_store(settings) as store:
            made = back_up(store, settings, folder, datetime.now(UTC))
        checked = check_backup(made)
    except (BackupError, OriginalsError) as error:
        raise Failure(str(error)) from None
    print(f"{made}: {checked.records} signed records verified, {checked.originals} originals, all whole.")
    print("It holds what settings.yaml holds, secrets included: keep it where only the shop can read it.")
    return 0
