"""The tables. SQL is kept to what SQLite and PostgreSQL both do."""

from datetime import datetime
from typing import Any

from sqlalchemy import (
    BigInteger,
    Boolean,
    Column,
    Dialect,
    Float,
    ForeignKey,
    Integer,
    MetaData,
    String,
    Table,
    Text,
    TypeDecorator,
    UniqueConstraint,
)


class Moment(TypeDecorator[datetime]):
    """A time with its zone, kept as RFC 3339 text.

    SQLite has no type for it and PostgreSQL's forgets the offset the time was given in. Texts with different
    offsets do not sort by time: order in Python.
    """

    impl = String(40)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> str | None:
        """The text of a time; a time without a zone is a mistake of the caller."""
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError(f"a time without a zone cannot be stored: {value}")
        return value.isoformat()

    def process_result_value(self, value: Any, dialect: Dialect) -> datetime | None:
        """The time of a text, in the zone it was given in."""
        return None if value is None else datetime.fromisoformat(value)


metadata = MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "fk": "fk_%(table_name)s_%(column_0_N_name)s",
        "pk": "pk_%(table_name)s",
    }
)

inspections = Table(
    "inspections",
    metadata,
    Column("id", String(64), primary_key=True),
    Column("unit", Text),
    Column("folder", Text, nullable=False),
    Column("started_at", Moment, nullable=False),
    Column("ended_at", Moment, nullable=False),
    Column("state", String(16), nullable=False),
    Column("version", Integer, nullable=False),
)

captures = Table(
    "captures",
    metadata,
    Column("sha256", String(64), primary_key=True),
    Column("kind", String(16), nullable=False),
    Column("original_name", Text, nullable=False),
    Column("folder", Text, nullable=False),
    Column("size", BigInteger, nullable=False),
    Column("captured_at", Moment, nullable=False),
    Column("time_source", String(16), nullable=False),
    Column("zone_known", Boolean, nullable=False),
    Column("duration_s", Float(53)),
    Column("width", Integer),
    Column("height", Integer),
    Column("arrived_at", Moment, nullable=False),
    Column("inspection", String(64), ForeignKey("inspections.id"), index=True),
)

# The same content arriving again, under whatever name.
sightings = Table(
    "sightings",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("sha256", String(64), ForeignKey("captures.sha256"), nullable=False, index=True),
    Column("original_name", Text, nullable=False),
    Column("folder", Text, nullable=False),
    Column("at", Moment, nullable=False),
)

rejections = Table(
    "rejections",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("name", Text, nullable=False),
    Column("reason", Text, nullable=False),
    Column("at", Moment, nullable=False),
)

# No foreign key: the owner is a capture's sha256 or an inspection's id.
artefacts = Table(
    "artefacts",
    metadata,
    Column("owner", String(64), primary_key=True),
    Column("stage", String(64), primary_key=True),
    Column("version", String(128), primary_key=True),
    Column("payload", Text, nullable=False),
)

drafts = Table(
    "drafts",
    metadata,
    Column("inspection", String(64), ForeignKey("inspections.id"), primary_key=True),
    Column("record", Text, nullable=False),
)

review_events = Table(
    "review_events",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("inspection", String(64), ForeignKey("inspections.id"), nullable=False),
    Column("version", Integer, nullable=False),
    Column("event", Text, nullable=False),
    UniqueConstraint("inspection", "version"),
)

signed_records = Table(
    "signed_records",
    metadata,
    Column("inspection", String(64), ForeignKey("inspections.id"), primary_key=True),
    Column("record", Text, nullable=False),
    Column("chain", Text, index=True),  # the unit in small letters; empty for a record of no named unit
    Column("sha256", String(64)),
)

# Signed records on their way out, in the order they were signed.
outbox = Table(
    "outbox",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("inspection", String(64), ForeignKey("inspections.id"), nullable=False, unique=True),
    Column("delivered_at", Moment),
)

# One row a signed record and receiver of HTTP deliveries. Times are Unix seconds, so that they sort.
deliveries = Table(
    "deliveries",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("inspection", String(64), ForeignKey("inspections.id"), nullable=False),
    Column("endpoint", String(64), nullable=False),
    Column("message", String(64), nullable=False),
    Column("state", String(16), nullable=False),
    Column("attempts", Integer, nullable=False),
    Column("due", Float(53), nullable=False),
    Column("problem", Text, nullable=False),
    UniqueConstraint("inspection", "endpoint"),
)

# Who sends to a receiver just now, so that two programs never do at once. Times are Unix seconds.
senders = Table(
    "senders",
    metadata,
    Column("endpoint", String(64), primary_key=True),
    Column("holder", String(64), nullable=False),
    Column("until", Float(53), nullable=False),
)

# Receivers that said they are gone.
closed_endpoints = Table(
    "closed_endpoints",
    metadata,
    Column("endpoint", String(64), primary_key=True),
    Column("why", Text, nullable=False),
)

people = Table(
    "people",
    metadata,
    Column("name", Text, primary_key=True),
    Column("role", String(16), nullable=False),
    Column("password_hash", Text, nullable=False),
    Column("added_at", Moment, nullable=False),
)

# Who was let in: the SHA-256 of the key that a browser keeps. No person: the start-up link of a single user.
sessions = Table(
    "sessions",
    metadata,
    Column("digest", String(64), primary_key=True),
    Column("person", Text, ForeignKey("people.name"), index=True),
    Column("opened_at", Moment, nullable=False),
    Column("expires_at", Moment, nullable=False),
)

# Captures whose original was removed on purpose. Their rows stay: signed records name their hashes.
removals = Table(
    "removals",
    metadata,
    Column("sha256", String(64), ForeignKey("captures.sha256"), primary_key=True),
    Column("at", Moment, nullable=False),
    Column("why", Text, nullable=False),
)

# Who speaks in a recording. The name need not be that of an account.
voices = Table(
    "voices",
    metadata,
    Column("sha256", String(64), ForeignKey("captures.sha256"), primary_key=True),
    Column("person", Text, nullable=False, index=True),
)

# Signed records whose time is over: what remains so that those signed after them can still be checked.
removed_records = Table(
    "removed_records",
    metadata,
    Column("inspection", String(64), primary_key=True),
    Column("chain", Text, nullable=False),
    Column("sha256", String(64), nullable=False),
    Column("signed_at", Moment, nullable=False),
    Column("removed_at", Moment, nullable=False),
)

# Which migrations of the job queue were run; empty on SQLite, which needs no queue.
queue_migrations = Table(
    "queue_migrations",
    metadata,
    Column("name", String(200), primary_key=True),
)
