"""The chain of a unit's signed records: each names the hash of the one that was signed before it."""

from typing import Any, cast

from sqlalchemy import Connection, Select, func, select

from models.store import tables as t

_SIGNING = 0x7369676E  # any number of our own, for PostgreSQL's advisory lock


def chain_name(unit: str) -> str:
    """What a unit's chain is kept under: its name in small letters, blanks made even; empty for no name."""
    return " ".join(unit.split()).casefold()


def records_of(chain: str) -> Select[Any]:
    """The records of a chain as JSON text, in the order signed."""
    s = t.signed_records.c
    query = select(s.record).join(t.outbox, t.outbox.c.inspection == s.inspection)
    return query.where(s.chain == chain).order_by(t.outbox.c.id)


def last_sha256(connection: Connection, chain: str) -> str | None:
    """The hash that the next record of a chain must name; None when it is the first, or names no unit.

    Nobody else can sign a record until the transaction ends: that keeps a chain from forking, and whoever
    reads signed records one after another never meets a later one before an earlier one.
    """
    if connection.dialect.name == "postgresql":
        connection.execute(select(func.pg_advisory_xact_lock(_SIGNING)))
    if not chain:
        return None
    s = t.signed_records.c
    query = select(s.sha256).join(t.outbox, t.outbox.c.inspection == s.inspection)
    query = query.where(s.chain == chain).order_by(t.outbox.c.id.desc())
    last = cast("str | None", connection.execute(query).scalar())
    if last is not None:
        return last
    r = t.removed_records.c  # all of them were kept for long enough
    removed = connection.execute(select(r.sha256, r.signed_at).where(r.chain == chain)).all()
    return str(max(removed, key=lambda row: row.signed_at).sha256) if removed else None
