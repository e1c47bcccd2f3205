"""`droplight restore`: a backup, put back into an empty data folder."""

import argparse
from pathlib import Path

from models.settings import Settings
from pipelines.commands.failure import Failure

EXAMPLE = "droplight restore /mnt/disk/droplight-backups/20261120T093000Z"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The words of the command."""
    parser.add_argument("backup", type=Path, help="folder of one backup, named after its time")
    parser.add_argument("--check", action="store_true", help="only read it through; nothing is put back")


def run(args: argparse.Namespace, settings: Settings) -> int:
    """Check, or put back and check what came back."""
    from capture.originals import OriginalsError
    from models.store import StoreError
    from pipelines.operations.backup import BackupError, check_backup, restore

    try:
        done = check_backup(args.backup) if args.check else restore(args.backup, settings)
    except (BackupError, OriginalsError, StoreError) as error:
        raise Failure(str(error)) from None
    where = "are whole in the backup" if args.check else f"are back in {settings.home}"
    print(f"{done.records} signed records and {done.originals} originals {where}; every signature holds.")
    return 0
