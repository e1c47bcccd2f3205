"""Records and decisions as the text that is kept, and new rows that may be there already."""

import json
from datetime import datetime
from decimal import Decimal
from typing import Any

from sqlalchemy import Connection, Table
from sqlalchemy.dialects import postgresql, sqlite

from models.events import ReviewEvent
from models.record import Record


def record_text(record: Record) -> str:
    """A record as JSON that is the same for the same record."""
    return json.dumps(record.to_json(), ensure_ascii=False, sort_keys=True, separators=(",", ":"))


def _plain(value: object) -> str:
    if isinstance(value, Decimal):
        return str(value)
    if isinstance(value, datetime):
        return value.isoformat()
    raise TypeError(f"{type(value).__name__} has no JSON form")


def event_text(event: ReviewEvent) -> str:
    """A decision as JSON. Numbers go in as text: a corrected "6.50" must not come back as 6.5."""
    return json.dumps(event.model_dump(), default=_plain, ensure_ascii=False, sort_keys=True)


def record_of(text: str | None) -> Record | None:
    """The record of a text; None for none."""
    return None if text is None else Record.from_json(json.loads(text))


def insert_new(connection: Connection, table: Table, values: dict[str, Any]) -> bool:
    """Insert a row unless one with its key is there; True when it was new."""
    # "ON CONFLICT DO NOTHING" reads the same on both, only SQLAlchemy spells it once for each.
    build = postgresql.insert if connection.dialect.name == "postgresql" else sqlite.insert
    statement = build(table).values(values).on_conflict_do_nothing().returning(*table.primary_key)
    return connection.execute(statement).first() is not None
