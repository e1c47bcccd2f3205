"""What was removed on purpose, who speaks, and which migrations of the job queue were run."""

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add four tables; nothing that is there changes, so programs of the version before go on."""
    op.create_table(
        "removals",
        sa.Column("sha256", sa.String(64), nullable=False),
        sa.Column("at", sa.String(40), nullable=False),
        sa.Column("why", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("sha256", name="pk_removals"),
        sa.ForeignKeyConstraint(["sha256"], ["captures.sha256"], name="fk_removals_sha256"),
    )
    op.create_table(
        "voices",
        sa.Column("sha256", sa.String(64), nullable=False),
        sa.Column("person", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("sha256", name="pk_voices"),
        sa.ForeignKeyConstraint(["sha256"], ["captures.sha256"], name="fk_voices_sha256"),
    )
    op.create_index("ix_voices_person", "voices", ["person"])
    op.create_table(
        "removed_records",
        sa.Column("inspection", sa.String(64), nullable=False),
        sa.Column("chain", sa.Text, nullable=False),
        sa.Column("sha256", sa.String(64), nullable=False),
        sa.Column("signed_at", sa.String(40), nullable=False),
        sa.Column("removed_at", sa.String(40), nullable=False),
        sa.PrimaryKeyConstraint("inspection", name="pk_removed_records"),
    )
    op.create_table(
        "queue_migrations",
        sa.Column("name", sa.String(200), nullable=False),
        sa.PrimaryKeyConstraint("name", name="pk_queue_migrations"),
    )
