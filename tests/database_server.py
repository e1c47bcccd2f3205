"""A PostgreSQL server for the tests: the one that is named, or one of our own for as long as they run."""

import os
import shutil
import socket
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

NAMED = "DROPLIGHT_TEST_POSTGRES"


def _programs() -> Path | None:
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"))
    return found[-1].parent if found else None


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@contextmanager
def postgres() -> Iterator[str | None]:
    """The address of a database, or None where PostgreSQL is not installed.

    PostgreSQL refuses to run as root: then its own user runs it.
    """
    if named := os.environ.get(NAMED):
        yield named
        return
    programs = _programs()
    if programs is None:
        yield None
        return
    folder = Path(tempfile.mkdtemp(prefix="droplight-postgres-"))
    as_user = ["runuser", "-u", "postgres", "--"] if os.geteuid() == 0 else []
    if as_user:
        shutil.chown(folder, "postgres")
    port = _free_port()

    def run(program: str, *args: str) -> None:
        command = [*as_user, str(programs / program), *args]
        subprocess.run(command, check=True, capture_output=True, cwd=folder, timeout=120)

    run("initdb", "-D", f"{folder}/data", "-U", "droplight", "-A", "trust", "--no-sync")
    options = f"-p {port} -k {folder} -c listen_addresses=127.0.0.1 -c fsync=off"
    run("pg_ctl", "-D", f"{folder}/data", "-w", "-l", f"{folder}/log", "-o", options, "start")
    try:
        yield f"postgresql+psycopg://droplight@127.0.0.1:{port}/postgres"
    finally:
        run("pg_ctl", "-D", f"{folder}/data", "-m", "immediate", "stop")
        shutil.rmtree(folder, ignore_errors=True)


def fresh_schema(server: str, name: str = "droplight_test") -> str:
    """The address of an empty schema in the database."""
    from sqlalchemy import create_engine, text

    engine = create_engine(server)
    with engine.begin() as connection:
        connection.execute(text(f"DROP SCHEMA IF EXISTS {name} CASCADE"))
        connection.execute(text(f"CREATE SCHEMA {name}"))
    engine.dispose()
    return f"{server}?options=-csearch_path%3D{name}"
