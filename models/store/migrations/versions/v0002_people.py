"""Accounts and sessions."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Create the tables of accounts and sessions."""
    op.create_table(
        "people",
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("role", sa.String(16), nullable=False),
        sa.Column("password_hash", sa.Text, nullable=False),
        sa.Column("added_at", sa.String(40), nullable=False),
        sa.PrimaryKeyConstraint("name", name="pk_people"),
    )
    op.create_table(
        "sessions",
        sa.Column("digest", sa.String(64), nullable=False),
        sa.Column("person", sa.Text),
        sa.Column("opened_at", sa.String(40), nullable=False),
        sa.Column("expires_at", sa.String(40), nullable=False),
        sa.PrimaryKeyConstraint("digest", name="pk_sessions"),
        sa.ForeignKeyConstraint(["person"], ["people.name"], name="fk_sessions_person"),
    )
    op.create_index("ix_sessions_person", "sessions", ["person"])
