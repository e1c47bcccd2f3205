"""Opening the database: pragmas, transactions, migrations."""

import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from threading import Lock
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event, inspect, text
from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import ArgumentError, DBAPIError, InterfaceError, NoSuchModuleError, OperationalError

from models.store.queue_tables import bring_queue_up_to_date, queue_is_current
from models.store.types import StoreError

# The newest migration. Kept here so that opening a database that is up to date does not import Alembic.
HEAD = "0005"
BUSY_TIMEOUT_S = 30.0
_UPGRADE_LOCK = 0x64726F70  # any number of our own, for PostgreSQL's advisory lock


class Database:
    """Connections to one database, with explicit read and write transactions."""

    def __init__(self, engine: Engine) -> None:
        self.engine = engine
        self.dialect = engine.dialect.name
        # SQLite lets waiting writers poll; queueing the threads of one process here keeps them in turn.
        self._writing = Lock()

    @contextmanager
    def read(self) -> Iterator[Connection]:
        """A transaction that sees one state of the database and changes nothing."""
        with _said(), self.engine.begin() as connection:
            yield connection

    @contextmanager
    def write(self) -> Iterator[Connection]:
        """A transaction that holds SQLite's write lock from its first statement.

        A deferred one that reads before it writes fails at once, busy timeout or not, when another process
        committed in between.
        """
        with _said(), self._writing, self.engine.connect() as plain:
            connection = plain.execution_options(droplight_write=True)
            with connection.begin():
                yield connection


@contextmanager
def _said() -> Iterator[None]:
    """A database that is locked, full or gone is told in one sentence, without the statement that met it."""
    try:
        yield
    except (OperationalError, InterfaceError) as error:
        raise StoreError(
            f"the database cannot be used just now ({error.orig}): close other programs that use it, "
            "make room on the disk, and try again"
        ) from error


def open_database(url: str) -> Database:
    """Connect and bring the tables up to date.

    Args:
        url: SQLAlchemy URL.

    Raises:
        StoreError: the database cannot be reached, read or written, or belongs to a newer program.
    """
    place, database = connect(url)
    try:
        if not _is_current(database):
            upgrade(database, place)
    except DBAPIError as error:
        database.engine.dispose()
        raise StoreError(f"{place} cannot be used as Droplight's database: {error.orig}") from None
    except StoreError as error:
        database.engine.dispose()
        if isinstance(error.__cause__, DBAPIError):
            why = error.__cause__.orig
            raise StoreError(f"{place} cannot be used as Droplight's database: {why}") from None
        raise
    except BaseException:
        database.engine.dispose()
        raise
    return database


def connect(url: str) -> tuple[str, Database]:
    """The database of an address and its name for people, without looking at its tables.

    Raises:
        StoreError: the address cannot be used, or its driver is not installed.
    """
    place, parsed = _parsed(url)
    try:
        return place, Database(_engine(parsed))
    except ImportError as error:
        raise StoreError(f"{place} needs a driver that is not installed: {error}") from None


def _parsed(url: str) -> tuple[str, URL]:
    try:
        parsed = make_url(url)
        backend = parsed.get_backend_name()
        parsed.get_dialect()
    except (ArgumentError, NoSuchModuleError):
        raise StoreError(
            f"'{url}' is not a database address: write sqlite:////folder/droplight.db or "
            "postgresql+psycopg://user@host/name"
        ) from None
    if backend == "sqlite":
        return str(_checked_file(parsed)), parsed
    if backend == "postgresql":
        return parsed.render_as_string(hide_password=True), parsed
    raise StoreError(f"'{backend}' databases are not supported: use sqlite or postgresql")


def _checked_file(url: URL) -> Path:
    if not url.database or url.database == ":memory:":
        raise StoreError(
            "A database in memory would be lost at the end: name a file, sqlite:////folder/droplight.db"
        )
    path = Path(url.database)
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        probe = path.parent / f".{path.name}.writable"
        probe.touch()
        probe.unlink(missing_ok=True)
        if path.exists():
            path.open("r+b").close()
    except OSError as error:
        raise StoreError(
            f"{path} cannot be written ({error.strerror or error}): make the folder {path.parent} writable "
            "or choose another with DROPLIGHT_HOME"
        ) from None
    return path


def _engine(url: URL) -> Engine:
    if url.get_backend_name() != "sqlite":
        return create_engine(url, pool_pre_ping=True)
    engine = create_engine(url, connect_args={"timeout": BUSY_TIMEOUT_S, "check_same_thread": False})
    event.listen(engine, "connect", _prepare_sqlite)
    event.listen(engine, "begin", _begin_sqlite)
    return engine


def _prepare_sqlite(connection: Any, _: Any) -> None:
    connection.isolation_level = None  # the driver's own BEGIN comes too late and is never IMMEDIATE
    _switch_to_wal(connection)
    for pragma in (
        f"busy_timeout={int(BUSY_TIMEOUT_S * 1000)}",
        "foreign_keys=ON",
        # In WAL mode NORMAL may lose the last commits in a power cut. Every commit here is a file about to
        # leave the inbox, a person's decision, or many seconds of recognition: all are worth one fsync.
        "synchronous=FULL",
        "fullfsync=ON",
    ):
        connection.execute(f"PRAGMA {pragma}")


def _switch_to_wal(connection: Any) -> None:
    import sqlite3

    # The switch itself does not honour the busy timeout when two processes meet a new file.
    deadline = time.monotonic() + BUSY_TIMEOUT_S
    while True:
        try:
            if connection.execute("PRAGMA journal_mode=WAL").fetchone()[0] == "wal":
                return
            raise sqlite3.OperationalError(
                "this folder does not allow write-ahead logging (a network share?); use a local disk"
            )
        except sqlite3.OperationalError as error:
            if "locked" not in str(error) or time.monotonic() > deadline:
                raise
            time.sleep(0.02)


def _begin_sqlite(connection: Connection) -> None:
    immediate = connection.get_execution_options().get("droplight_write", False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if immediate else "BEGIN")


def _is_current(database: Database) -> bool:
    with database.read() as connection:
        if _version_of(connection) != HEAD:
            return False
        return database.dialect != "postgresql" or queue_is_current(connection)


def is_newer(database: Database) -> bool:
    """Whether a newer program has changed the tables since they were opened: this one must not write then."""
    with database.read() as connection:
        found = connection.execute(text("SELECT version_num FROM alembic_version")).scalar()
    return found is not None and str(found) > HEAD


def _version_of(connection: Connection) -> str | None:
    if not inspect(connection).has_table("alembic_version"):
        return None
    return connection.execute(text("SELECT version_num FROM alembic_version")).scalar()


def upgrade(database: Database, place: str, to: str = HEAD) -> None:
    """Run the migrations that are missing, in one transaction; other openers wait.

    Args:
        database: to be changed.
        place: its name for people.
        to: the migration to stop at.

    Raises:
        StoreError: it belongs to a newer program.
    """
    from alembic import command
    from alembic.config import Config
    from alembic.script import ScriptDirectory

    config = Config()
    config.set_main_option("script_location", str(Path(__file__).parent / "migrations").replace("%", "%%"))
    known = {script.revision for script in ScriptDirectory.from_config(config).walk_revisions()}
    with database.write() as connection:
        if database.dialect == "postgresql":
            connection.execute(text("SELECT pg_advisory_xact_lock(:key)"), {"key": _UPGRADE_LOCK})
        found = _version_of(connection)
        if found is not None and found not in known:
            raise StoreError(f"{place} was made by a newer Droplight (tables {found}): install that version")
        config.attributes["connection"] = connection
        command.upgrade(config, to)
        if database.dialect == "postgresql" and to == HEAD:
            bring_queue_up_to_date(connection)
