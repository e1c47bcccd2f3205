"""The first tables."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Create every table of the first release."""
    _create_inspections_and_captures()
    _create_arrivals()
    _create_work()


def _create_inspections_and_captures() -> None:
    op.create_table(
        "inspections",
        sa.Column("id", sa.String(64), nullable=False),
        sa.Column("unit", sa.Text),
        sa.Column("folder", sa.Text, nullable=False),
        sa.Column("started_at", sa.String(40), nullable=False),
        sa.Column("ended_at", sa.String(40), nullable=False),
        sa.Column("state", sa.String(16), nullable=False),
        sa.Column("version", sa.Integer, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_inspections"),
    )
    op.create_table(
        "captures",
        sa.Column("sha256", sa.String(64), nullable=False),
        sa.Column("kind", sa.String(16), nullable=False),
        sa.Column("original_name", sa.Text, nullable=False),
        sa.Column("folder", sa.Text, nullable=False),
        sa.Column("size", sa.BigInteger, nullable=False),
        sa.Column("captured_at", sa.String(40), nullable=False),
        sa.Column("time_source", sa.String(16), nullable=False),
        sa.Column("zone_known", sa.Boolean, nullable=False),
        sa.Column("duration_s", sa.Float(53)),
        sa.Column("width", sa.Integer),
        sa.Column("height", sa.Integer),
        sa.Column("arrived_at", sa.String(40), nullable=False),
        sa.Column("inspection", sa.String(64)),
        sa.PrimaryKeyConstraint("sha256", name="pk_captures"),
        sa.ForeignKeyConstraint(["inspection"], ["inspections.id"], name="fk_captures_inspection"),
    )
    op.create_index("ix_captures_inspection", "captures", ["inspection"])


def _create_arrivals() -> None:
    op.create_table(
        "sightings",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("sha256", sa.String(64), nullable=False),
        sa.Column("original_name", sa.Text, nullable=False),
        sa.Column("folder", sa.Text, nullable=False),
        sa.Column("at", sa.String(40), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_sightings"),
        sa.ForeignKeyConstraint(["sha256"], ["captures.sha256"], name="fk_sightings_sha256"),
    )
    op.create_index("ix_sightings_sha256", "sightings", ["sha256"])
    op.create_table(
        "rejections",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("reason", sa.Text, nullable=False),
        sa.Column("at", sa.String(40), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_rejections"),
    )


def _create_work() -> None:
    op.create_table(
        "artefacts",
        sa.Column("owner", sa.String(64), nullable=False),
        sa.Column("stage", sa.String(64), nullable=False),
        sa.Column("version", sa.String(128), nullable=False),
        sa.Column("payload", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("owner", "stage", "version", name="pk_artefacts"),
    )
    for name in ("drafts", "signed_records"):
        op.create_table(
            name,
            sa.Column("inspection", sa.String(64), nullable=False),
            sa.Column("record", sa.Text, nullable=False),
            sa.PrimaryKeyConstraint("inspection", name=f"pk_{name}"),
            sa.ForeignKeyConstraint(["inspection"], ["inspections.id"], name=f"fk_{name}_inspection"),
        )
    op.create_table(
        "review_events",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("inspection", sa.String(64), nullable=False),
        sa.Column("version", sa.Integer, nullable=False),
        sa.Column("event", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_review_events"),
        sa.ForeignKeyConstraint(["inspection"], ["inspections.id"], name="fk_review_events_inspection"),
        sa.UniqueConstraint("inspection", "version", name="uq_review_events_inspection_version"),
    )
    op.create_table(
        "outbox",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("inspection", sa.String(64), nullable=False),
        sa.Column("delivered_at", sa.String(40)),
        sa.PrimaryKeyConstraint("id", name="pk_outbox"),
        sa.ForeignKeyConstraint(["inspection"], ["inspections.id"], name="fk_outbox_inspection"),
        sa.UniqueConstraint("inspection", name="uq_outbox_inspection"),
    )
