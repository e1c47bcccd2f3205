"""Who sends to a receiver just now."""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the table that keeps two programs from sending to the same receiver at once."""
    op.create_table(
        "senders",
        sa.Column("endpoint", sa.String(64), nullable=False),
        sa.Column("holder", sa.String(64), nullable=False),
        sa.Column("until", sa.Float(53), nullable=False),
        sa.PrimaryKeyConstraint("endpoint", name="pk_senders"),
    )
