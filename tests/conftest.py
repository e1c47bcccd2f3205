"""For every test: one thread for native libraries, hypothesis without a stopwatch, one PostgreSQL server."""

import os
from collections.abc import Iterator

# Before anything loads a library that reads them: on shared processors more threads are slower, not faster.
os.environ["OMP_NUM_THREADS"] = "1"
os.environ["OMP_THREAD_LIMIT"] = "1"

import pytest
from hypothesis import settings

from tests.database_server import postgres

settings.register_profile("default", deadline=None)
settings.register_profile("ci", deadline=None, derandomize=True)
settings.register_profile("long", deadline=None, max_examples=1500)
settings.load_profile("ci" if os.environ.get("CI") else "default")


@pytest.fixture(scope="session")
def server() -> Iterator[str | None]:
    """The address of a PostgreSQL database, started when it is first asked for; None where there is none."""
    with postgres() as address:
        yield address
