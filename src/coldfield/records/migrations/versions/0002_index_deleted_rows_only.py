"""Index deleted rows only: with the full index, lists of records that are not deleted read whole tables."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None

TABLES = (
    "person",
    "kit",
    "site",
    "course",
    "day",
    "participant",
    "drill",
    "run",
    "split",
    "observation",
    "track",
    "debrief",
)


def upgrade() -> None:
    """Make the change."""
    deleted = sa.text("deletion_id IS NOT NULL")
    for table in TABLES:
        op.drop_index(f"ix_{table}_deletion_id", table)
        op.create_index(
            f"ix_{table}_deletion_id", table, ["deletion_id"], sqlite_where=deleted, postgresql_where=deleted
        )
