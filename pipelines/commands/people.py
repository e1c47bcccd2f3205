"""`droplight people`: accounts for a shop, and the sessions that are open."""

import argparse
import getpass
import secrets
import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from models.people import ROLES, Person
from models.settings import Settings
from pipelines.commands.failure import Failure
from pipelines.commands.tools import open_store

if TYPE_CHECKING:
    from models.store import Store
    from pipelines.operations.voices import Forgotten

EXAMPLE = "droplight people add 'Ana Cole' --role reviewer"
_TOKEN_LASTS = timedelta(days=366)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The words of the command."""
    what = parser.add_subparsers(dest="what", required=True, metavar="WHAT")
    add = what.add_parser(
        "add", help="make an account; asks for the password, or reads it from standard input"
    )
    add.add_argument("name", metavar="NAME", help="what decisions and signatures carry")
    add.add_argument(
        "--role",
        choices=ROLES,
        required=True,
        help="a reviewer decides and signs, a technician looks, a system reads signed records with a token",
    )
    what.add_parser("list", help="list the accounts")
    remove = what.add_parser("remove", help="take an account away and close its sessions")
    remove.add_argument("name", metavar="NAME")
    revoke = what.add_parser("revoke", help="close the open sessions of an account, or of start-up links")
    revoke.add_argument("name", metavar="NAME", nargs="?", help="leave it out for start-up links")
    speaks = what.add_parser("speaks", help="note who speaks in recordings")
    speaks.add_argument("name", metavar="NAME")
    speaks.add_argument(
        "which", nargs="+", metavar="WHICH", help="an inspection's id, or a recording's sha256"
    )
    export = what.add_parser("export", help="give out the recordings of a person, with what was heard")
    export.add_argument("name", metavar="NAME")
    export.add_argument("--out", type=Path, required=True, help="folder to write to; made when missing")
    forget = what.add_parser("forget-voice", help="remove the recordings of a person for good")
    forget.add_argument("name", metavar="NAME")
    forget.add_argument("--unsigned-too", action="store_true", help="also of inspections that are not signed")


def run(args: argparse.Namespace, settings: Settings) -> int:
    """Do what was asked."""
    with open_store(settings) as store:
        if args.what == "add":
            _add(store, args.name, args.role)
        elif args.what == "list":
            _list(store)
        elif args.what == "remove":
            if not store.people.remove(args.name):
                raise Failure(_nobody(args.name))
            print(f"{args.name} is removed and signed out. Decisions and signatures keep the name.")
            if not store.people.needed():
                print("There are no accounts for people left: droplight review prints a link again.")
        elif args.what == "revoke":
            _revoke(store, args.name)
        else:
            _voice(store, settings, args)
    return 0


def _voice(store: "Store", settings: Settings, args: argparse.Namespace) -> None:
    from capture.originals import OriginalsError, open_originals
    from pipelines.operations import voices

    try:
        originals = open_originals(settings.home, settings.originals_url)
        if args.what == "speaks":
            print(f"{_speaks(store, args.name, args.which)} recordings are noted as spoken by {args.name}.")
        elif args.what == "export":
            count = voices.export_voice(store, originals, args.name, args.out)
            print(f"{args.out}: {count} recordings of {args.name}, listed in recordings.json.")
        else:
            now = datetime.now(UTC)
            done = voices.forget_voice(store, originals, settings.home, args.name, now, args.unsigned_too)
            _say_forgotten(args.name, done)
    except (OriginalsError, LookupError) as error:
        raise Failure(str(error)) from None


def _speaks(store: "Store", name: str, which: list[str]) -> int:
    recordings: list[str] = []
    for one in which:
        row = store.inspection(one)
        captures = store.captures(one) if row is not None else []
        recordings += [c.sha256 for c in captures if c.kind == "audio"] if row is not None else [one]
    return store.keeping.speaks(name, recordings)


def _say_forgotten(name: str, done: "Forgotten") -> None:
    print(
        f"The sound of {len(done.removed)} recordings of {name} is removed. Signed records keep their hashes."
    )
    if done.unsigned:
        print(f"{len(done.unsigned)} recordings stay, because their inspections are not signed:")
        for capture in done.unsigned:
            print(f"  {capture.original_name}")
        print("Sign them first, or say --unsigned-too.")
    print("Backups made before still hold it, and so do copies on other computers (droplight retention).")


def _nobody(name: str) -> str:
    return f"There is no account {name}. See droplight people list."


def _add(store: "Store", given: str, role: str) -> None:
    name = " ".join(given.split())
    if not name or len(name) > 80 or not name.isprintable():
        raise Failure("A name has 1 to 80 characters that can be printed.")
    if name.casefold() in {person.name.casefold() for person in store.people.all()}:
        raise Failure(f"There is an account {name} already: remove it first to make it anew.")
    person = Person.model_validate({"name": name, "role": role, "added_at": datetime.now(UTC)})
    digest = "" if role == "system" else _new_password(name)
    try:
        store.people.add(person, digest)
    except ValueError as error:
        raise Failure(f"Not done: {error}.") from None
    print(f"{name} is a {role} now.")
    if role == "system":
        _hand_out_token(store, person)


def _new_password(name: str) -> str:
    from pipelines.review.passwords import password_hash

    if sys.stdin.isatty():
        password = getpass.getpass(f"Password for {name}: ")
        if getpass.getpass("Once more: ") != password:
            raise Failure("The two passwords differ; nothing was changed.")
    else:
        password = sys.stdin.readline().rstrip("\r\n")
    try:
        return password_hash(password)
    except ValueError as error:
        raise Failure(f"{error} Nothing was changed.") from None


def _hand_out_token(store: "Store", person: Person) -> None:
    from pipelines.review.visitor import digest_of

    token = secrets.token_urlsafe(32)
    until = person.added_at + _TOKEN_LASTS
    store.people.open_session(digest_of(token), person.name, person.added_at, until)
    print(f"It reads /api/ with the header 'Authorization: Bearer {token}'")
    print(f"until {until:%Y-%m-%d}. The token is shown this once and kept nowhere.")


def _list(store: "Store") -> None:
    people = store.people.all()
    if not people:
        print("No accounts: droplight review prints a link for one person on this computer.")
    for person in people:
        print(f"{person.role:<11} since {person.added_at.astimezone():%Y-%m-%d}  {person.name}")


def _revoke(store: "Store", name: str | None) -> None:
    if name is not None and name not in {person.name for person in store.people.all()}:
        raise Failure(_nobody(name))
    count = store.people.revoke(name)
    whose = f"of {name}" if name else "of start-up links"
    print(f"{count} open session{'' if count == 1 else 's'} {whose} closed.")
