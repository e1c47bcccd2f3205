"""`droplight`: finds the command and turns every expected failure into one sentence."""

import argparse
import importlib
import io
import logging
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import NoReturn

from models.settings import SettingsError, load_settings
from pipelines.commands.failure import Failure
from pipelines.operations.logs import set_up_logs

# Name -> what it does. Each module has `add_arguments(parser)` and `run(args, settings) -> int`.
COMMANDS = {
    "demo": "inspect the sample truck from sound and photos, and say where the review page is",
    "draft": "draft a record from one folder of notes and photos",
    "watch": "take in what is dropped into a folder, and keep drafts up to date",
    "worker": "work on what was taken in, on as many computers as share a PostgreSQL database",
    "review": "serve the review pages on this computer",
    "people": "make, list and remove accounts for the review pages, close their sessions",
    "deliver": "write signed records as files, or send them over HTTP",
    "verify": "check that a record is still what was signed",
    "amend": "open a new draft that puts a signed record right",
    "evaluate": "say how often drafts were right, by what was signed",
    "backup": "copy everything while everything goes on",
    "restore": "put a backup back, or only check it",
    "retention": "show and remove what is kept longer than the settings ask for",
    "doctor": "say what is missing on this computer and what to do about it",
}


class _Parser(argparse.ArgumentParser):
    def error(self, message: str) -> NoReturn:
        self.exit(2, f"{self.prog}: {message}. See {self.prog} --help.\n")


def _parser() -> argparse.ArgumentParser:
    parser = _Parser(
        prog="droplight",
        description="Drafts a checked truck-inspection record from spoken notes and gauge photos.",
        epilog="Example: droplight draft inbox/ --out draft.json",
    )
    parser.add_argument(
        "--home", type=Path, help="data folder (default: $DROPLIGHT_HOME, else in settings.yaml)"
    )
    commands = parser.add_subparsers(dest="command", required=True, metavar="COMMAND")
    for name, words in COMMANDS.items():
        module = importlib.import_module(f"pipelines.commands.{name}")
        sub = commands.add_parser(
            name,
            help=words,
            description=words[0].upper() + words[1:] + ".",
            epilog=f"Example: {module.EXAMPLE}",
        )
        module.add_arguments(sub)
    return parser


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command.

    Returns:
        0 when all went well, 1 when something could not be done (said on standard error), 2 for wrong words.
    """
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")  # a terminal may lack the letters of a file's name
    args = _parser().parse_args(argv)
    module = importlib.import_module(f"pipelines.commands.{args.command}")
    try:
        settings = load_settings(args.home)
        set_up_logs(settings.logs)
        return int(module.run(args, settings))
    except (Failure, SettingsError) as error:
        print(f"droplight: {error}", file=sys.stderr)
        return 1
    except KeyboardInterrupt:
        print("Stopped.", file=sys.stderr)
        return 130
    except OSError as error:
        where = f"{error.filename}: " if error.filename else ""
        print(f"droplight: {where}{error.strerror or error}", file=sys.stderr)
        return 1
    except Exception as error:
        what = f"{type(error).__name__}: {error}".rstrip(": .")
        logging.getLogger("droplight").exception(
            "droplight %s stopped at a fault of its own (%s). What was taken in is kept; run it again, and "
            "if it comes back, `logs: {level: debug}` in settings.yaml shows where.",
            args.command,
            what,
        )
        return 1


if __name__ == "__main__":
    sys.exit(main())
