"""`droplight people`: accounts for a shop, and the sessions that are open."""

import argparse
import getpass
import secrets
import sys
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

from models.people import ROLES, Person
from models.settings import Settings
from pipelines.commands.failure import Failure
from pipelines.commands.tools import open_store

if TYPE_CHECKING:
    from models.store import Store

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
        else:
            _revoke(store, args.name)
    return 0


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
