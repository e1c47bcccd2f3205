"""The whole state as one SQLite file, and back: for backups, and for moving to PostgreSQL."""

import sqlite3
from pathlib import Path

from sqlalchemy import Connection, Integer, func, insert, select, text

from models.store import tables as t
from models.store.connection import Database, connect, open_database, upgrade
from models.store.types import StoreError

_ROWS = 500
# The queue is filled from the captures, and its migrations belong to the server.
_OWN = [table for table in t.metadata.sorted_tables if table.name != t.queue_migrations.name]


def write_copy(database: Database, target: Path) -> None:
    """Write the state of one moment into a new SQLite file, while others go on reading and writing.

    Args:
        database: SQLite or PostgreSQL.
        target: must not be there.

    Raises:
        FileExistsError: it is there.
    """
    if target.exists():
        raise FileExistsError(f"{target} is there already")
    if database.dialect == "sqlite":
        _online_copy(database, target)
        return
    place, copy = connect(f"sqlite:///{target}")
    try:
        upgrade(copy, place)
        snapshot = database.engine.execution_options(isolation_level="REPEATABLE READ")
        with snapshot.begin() as source, copy.write() as sink:
            _copy_rows(source, sink)
    finally:
        copy.engine.dispose()
    _without_log(target)


def _online_copy(database: Database, target: Path) -> None:
    source = sqlite3.connect(str(database.engine.url.database))
    sink = sqlite3.connect(target)
    try:
        source.backup(sink)
    finally:
        sink.close()
        source.close()
    _without_log(target)


def _without_log(target: Path) -> None:
    # A copy is one file: nothing of it may be left in a write-ahead log beside it.
    done = sqlite3.connect(target, isolation_level=None)
    try:
        done.execute("PRAGMA journal_mode=DELETE")
        damage = done.execute("PRAGMA integrity_check").fetchone()[0]
        if damage != "ok":
            raise StoreError(f"{target} did not come out whole: {damage}")
    finally:
        done.close()


def read_copy(source: Path, url: str) -> None:
    """Fill an empty database with the state in a file that :func:`write_copy` wrote.

    Args:
        source: the file; only read, from a copy if it must be upgraded first.
        url: an SQLAlchemy URL of a database without inspections and captures.

    Raises:
        StoreError: it cannot be used, is not empty, or the file belongs to a newer program.
    """
    kept, database = open_database(f"sqlite:///{source}"), open_database(url)
    try:
        with kept.read() as rows, database.write() as sink:
            for table in _OWN:
                if sink.execute(select(table).limit(1)).first() is not None:
                    raise StoreError(f"the database is not empty: it holds {table.name}")
            _copy_rows(rows, sink)
            if database.dialect == "postgresql":
                _go_on_counting(sink)
    finally:
        kept.engine.dispose()
        database.engine.dispose()


def _copy_rows(source: Connection, sink: Connection) -> None:
    for table in _OWN:
        found = source.execution_options(yield_per=_ROWS).execute(select(table)).mappings()
        for part in found.partitions(_ROWS):
            sink.execute(insert(table), [dict(row) for row in part])


def _go_on_counting(connection: Connection) -> None:
    """Numbers that the server gives out go on after those that were copied."""
    for table in _OWN:
        key = next(iter(table.primary_key))
        if isinstance(key.type, Integer):
            last = connection.execute(select(func.max(key))).scalar()
            if last is not None:
                query = text("SELECT setval(pg_get_serial_sequence(:name, :key), :last)")
                connection.execute(query, {"name": table.name, "key": key.name, "last": last})
