"""A fresh store for each test.

On SQLite always; also on PostgreSQL where DROPLIGHT_TEST_POSTGRES holds the address of a database, in a
schema of its own (droplight_test).
"""

import os
from collections.abc import Iterator
from pathlib import Path

import pytest

from models.store import Store

POSTGRES = os.environ.get("DROPLIGHT_TEST_POSTGRES", "")


@pytest.fixture(params=["sqlite", "postgresql"])
def url(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    if request.param == "sqlite":
        return f"sqlite:///{tmp_path / 'droplight.db'}"
    if not POSTGRES:
        pytest.skip("DROPLIGHT_TEST_POSTGRES names no database")
    from sqlalchemy import create_engine, text

    engine = create_engine(POSTGRES)
    with engine.begin() as connection:
        connection.execute(text("DROP SCHEMA IF EXISTS droplight_test CASCADE"))
        connection.execute(text("CREATE SCHEMA droplight_test"))
    engine.dispose()
    return f"{POSTGRES}?options=-csearch_path%3Ddroplight_test"


@pytest.fixture
def store(url: str) -> Iterator[Store]:
    opened = Store.open(url)
    yield opened
    opened.close()
