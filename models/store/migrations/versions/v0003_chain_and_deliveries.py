"""The chain of a unit's signed records, and HTTP deliveries."""

import json

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add what the chain is found by, fill it from the records that are there, and add delivery tables."""
    op.add_column("signed_records", sa.Column("chain", sa.Text))
    op.add_column("signed_records", sa.Column("sha256", sa.String(64)))
    op.create_index("ix_signed_records_chain", "signed_records", ["chain"])
    _fill()
    op.create_table(
        "deliveries",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("inspection", sa.String(64), nullable=False),
        sa.Column("endpoint", sa.String(64), nullable=False),
        sa.Column("message", sa.String(64), nullable=False),
        sa.Column("state", sa.String(16), nullable=False),
        sa.Column("attempts", sa.Integer, nullable=False),
        sa.Column("due", sa.Float(53), nullable=False),
        sa.Column("problem", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_deliveries"),
        sa.ForeignKeyConstraint(["inspection"], ["inspections.id"], name="fk_deliveries_inspection"),
        sa.UniqueConstraint("inspection", "endpoint", name="uq_deliveries_inspection_endpoint"),
    )
    op.create_table(
        "closed_endpoints",
        sa.Column("endpoint", sa.String(64), nullable=False),
        sa.Column("why", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("endpoint", name="pk_closed_endpoints"),
    )


def _fill() -> None:
    table = sa.table("signed_records", *(sa.column(n) for n in ("inspection", "record", "chain", "sha256")))
    connection = op.get_bind()
    for inspection, text in connection.execute(sa.select(table.c.inspection, table.c.record)).all():
        data = json.loads(text)
        unit = " ".join((data["inspection"].get("unit") or "").split()).casefold()
        values = {"chain": unit, "sha256": data["signature"]["sha256"]}
        connection.execute(sa.update(table).where(table.c.inspection == inspection).values(values))
