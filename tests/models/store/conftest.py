"""A fresh store for each test.

On SQLite always; also on PostgreSQL where it is installed or DROPLIGHT_TEST_POSTGRES holds the address of a
database, in a schema of its own (droplight_test).
"""

from collections.abc import Iterator
from pathlib import Path

import pytest

from models.store import Store
from tests.database_server import fresh_schema


@pytest.fixture(params=["sqlite", "postgresql"])
def url(request: pytest.FixtureRequest, tmp_path: Path, server: str | None) -> str:
    if request.param == "sqlite":
        return f"sqlite:///{tmp_path / 'droplight.db'}"
    if server is None:
        pytest.skip("PostgreSQL is not installed here, and DROPLIGHT_TEST_POSTGRES names no database")
    return fresh_schema(server)


@pytest.fixture
def store(url: str) -> Iterator[Store]:
    opened = Store.open(url)
    yield opened
    opened.close()
