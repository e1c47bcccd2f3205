"""A store on PostgreSQL, and captures in it."""

from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from capture.ingest import ingest
from models.capture import Capture
from models.store import Store
from tests.database_server import fresh_schema
from tests.doubles import write_note


@pytest.fixture
def address(server: str | None) -> str:
    if server is None:
        pytest.skip("PostgreSQL is not installed here, and DROPLIGHT_TEST_POSTGRES names no database")
    return fresh_schema(server, "droplight_workers")


@pytest.fixture
def store(address: str) -> Iterator[Store]:
    opened = Store.open(address)
    yield opened
    opened.close()


def drop(store: Store, home: Path, units: int, notes: int) -> list[Capture]:
    """Take notes in: as many units, each with as many notes a minute apart."""
    inbox, taken = home.parent / "inbox", []
    for note in range(notes):
        for unit in range(units):
            path = inbox / str(400 + unit) / f"20261120T08{note:02}00.wav"
            write_note(path, 1.5, salt=unit * 100 + note + 1)
            found = ingest(path, inbox, store, home, datetime.now(UTC))
            assert isinstance(found, Capture), found
            taken.append(found)
    return taken
