"""Move runs held before 1970 or after 2099 UTC, which cannot be read back, to the nearest valid time."""

import sqlalchemy as sa
from alembic import op

revision = "0009"
down_revision = "0008"
branch_labels = None
depends_on = None

FIRST, LAST = "1970-01-01T00:00:00.000Z", "2099-12-31T23:59:59.999Z"


def upgrade() -> None:
    """Make the change."""
    for name in ("run", "run_searcher"):
        table = sa.table(name, sa.column("held_utc"))
        op.execute(table.update().where(table.c.held_utc < FIRST).values(held_utc=FIRST))
        op.execute(table.update().where(table.c.held_utc > LAST).values(held_utc=LAST))
