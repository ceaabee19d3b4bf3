"""Measured values of a set: strength, keying, range."""

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the change."""
    op.add_column("kit", sa.Column("figures", sa.JSON, nullable=True))
