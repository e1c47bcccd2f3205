"""`droplight people`: accounts are made, listed, signed out and removed."""

import io
import re
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from models.store import Store
from pipelines.commands.main import main
from pipelines.review.passwords import matches
from pipelines.review.visitor import digest_of


@pytest.fixture
def people(tmp_path: Path, monkeypatch, capsys):
    """Runs the command with a password on standard input; gives back status, output and errors."""

    def run(*words: str, typed: str = "") -> tuple[int, str, str]:
        monkeypatch.setattr("sys.stdin", io.StringIO(typed))
        status = main(["--home", str(tmp_path), "people", *words])
        said = capsys.readouterr()
        return status, said.out, said.err

    return run


@pytest.fixture
def store(tmp_path: Path):
    opened = Store.open(f"sqlite:///{tmp_path / 'droplight.db'}")
    yield opened
    opened.close()


def test_a_reviewer_is_added_listed_and_removed(people, store: Store) -> None:
    assert people("list")[1].startswith("No accounts: droplight review prints a link")
    added = people("add", "  Ana   Cole ", "--role", "reviewer", typed="a long enough secret\n")
    assert added == (0, "Ana Cole is a reviewer now.\n", "")
    assert matches(store.people.password_hash("Ana Cole"), "a long enough secret")
    assert re.fullmatch(r"reviewer    since \d{4}-\d\d-\d\d  Ana Cole\n", people("list")[1])
    status, _, said = people("add", "ana cole", "--role", "technician", typed="a long enough secret\n")
    assert (status, said) == (
        1,
        "droplight: There is an account ana cole already: remove it first to make it anew.\n",
    )
    status, out, _ = people("remove", "Ana Cole")
    assert status == 0
    assert "removed and signed out" in out
    assert "prints a link again" in out
    assert store.people.all() == []


@pytest.mark.parametrize(
    ("name", "typed", "words"),
    [
        ("Ana", "short\n", "12 to 200 characters"),
        ("Ana", "", "12 to 200 characters"),
        (" ", "a long enough secret\n", "A name has 1 to 80 characters"),
        ("x" * 81, "a long enough secret\n", "A name has 1 to 80 characters"),
        ("a\x1b[31m", "a long enough secret\n", "that can be printed"),
    ],
)
def test_what_cannot_be_an_account_is_said(people, store: Store, name: str, typed: str, words: str) -> None:
    status, out, said = people("add", name, "--role", "reviewer", typed=typed)
    assert (status, out) == (1, "")
    assert words in said
    assert len(said.splitlines()) == 1
    assert store.people.all() == []


def test_two_passwords_on_a_terminal_must_agree(people, store: Store, monkeypatch) -> None:
    typed = iter(["a long enough secret", "a long enough sekret"])
    monkeypatch.setattr("getpass.getpass", lambda prompt: next(typed))

    class Terminal(io.StringIO):
        def isatty(self) -> bool:
            return True

    monkeypatch.setattr("io.StringIO", lambda text: Terminal(text))
    status, _, said = people("add", "Ana", "--role", "reviewer")
    assert status == 1
    assert "The two passwords differ" in said
    assert store.people.all() == []


def test_open_sessions_are_closed(people, store: Store) -> None:
    people("add", "Ana", "--role", "technician", typed="a long enough secret\n")
    now = datetime.now(UTC)
    for letter, whose in (("a", "Ana"), ("b", "Ana"), ("c", None)):
        store.people.open_session(letter * 64, whose, now, now + timedelta(hours=1))
    assert people("revoke", "Ana")[1] == "2 open sessions of Ana closed.\n"
    assert store.people.session("c" * 64, now) is not None
    assert people("revoke")[1] == "1 open session of start-up links closed.\n"
    assert store.people.session("c" * 64, now) is None
    for what in ("revoke", "remove"):
        status, _, said = people(what, "Nobody")
        assert (status, said) == (1, "droplight: There is no account Nobody. See droplight people list.\n")


def test_a_system_gets_a_token_once(people, store: Store) -> None:
    status, out, _ = people("add", "counter", "--role", "system")
    assert status == 0
    found = re.search(r"Authorization: Bearer ([\w-]{43})'", out)
    assert found is not None
    session = store.people.session(digest_of(found[1]), datetime.now(UTC))
    assert session is not None and session.person is not None
    assert session.person.role == "system"
    assert found[1] not in people("list")[1]
