"""Digests of the ids forgotten with a person, so that nothing comes back under them."""

import sqlalchemy as sa
from alembic import op

revision = "0011"
down_revision = "0010"
branch_labels = None
depends_on = None

STAMP = sa.String(24).with_variant(sa.String(24, collation="C"), "postgresql")


def upgrade() -> None:
    """Make the change."""
    op.create_table(
        "forgotten",
        sa.Column("digest", sa.String(64), nullable=False),
        sa.Column("forgotten_utc", STAMP, nullable=False),
        sa.PrimaryKeyConstraint("digest", name="pk_forgotten"),
    )
