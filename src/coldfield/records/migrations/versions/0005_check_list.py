"""The ticked items of a drill's checklist."""

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the change."""
    op.add_column("drill", sa.Column("checks", sa.JSON, nullable=False, server_default=sa.text("'[]'")))
