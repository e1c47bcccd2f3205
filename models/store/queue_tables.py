"""The tables of the job queue on PostgreSQL: Procrastinate brings their SQL, we keep note of what was run."""

import importlib.util
from pathlib import Path

from sqlalchemy import Connection, insert, inspect, select

from models.store import tables as t
from models.store.types import StoreError

MISSING = (
    "PostgreSQL needs the job queue that is not installed here: install the extra 'workers' "
    "(pip install 'droplight[workers]')"
)


def _sql() -> Path:
    # Found without importing it: opening a store must stay quick.
    found = importlib.util.find_spec("procrastinate")
    if found is None or found.origin is None:
        raise StoreError(MISSING)
    return Path(found.origin).parent / "sql"


def _shipped() -> list[str]:
    """Names of the migrations that the installed library brings, in the order they are run."""
    return sorted(path.name for path in (_sql() / "migrations").glob("*.sql"))


def queue_is_current(connection: Connection) -> bool:
    """Whether every migration of the installed library has been run here.

    Raises:
        StoreError: the library is not installed.
    """
    if not inspect(connection).has_table(t.queue_migrations.name):
        return False
    return not set(_shipped()) - _done(connection)


def _done(connection: Connection) -> set[str]:
    return set(connection.execute(select(t.queue_migrations.c.name)).scalars())


def bring_queue_up_to_date(connection: Connection) -> None:
    """Make the queue's tables, or run what a newer version of the library adds to them.

    Migrations that a newer library ran are left: its tables are made so that the release before still works.

    Args:
        connection: in a write transaction, behind the lock of an upgrade.

    Raises:
        StoreError: the library is not installed.
    """
    done, shipped = _done(connection), _shipped()
    if not done:
        _run(connection, _sql() / "schema.sql")
    else:
        for name in shipped:
            if name not in done:
                _run(connection, _sql() / "migrations" / name)
    new = [{"name": name} for name in shipped if name not in done]
    if new:
        connection.execute(insert(t.queue_migrations), new)


def _run(connection: Connection, path: Path) -> None:
    # Without parameters psycopg sends the text as it is, several statements and per cent signs included.
    cursor = connection.connection.cursor()
    try:
        cursor.execute(path.read_text(encoding="utf-8"))
    finally:
        cursor.close()
