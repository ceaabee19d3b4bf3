"""Data of a run: whose each track is, clock shifts, standards, observations counted from the alarm."""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the change."""
    none = sa.text("'[]'")
    op.add_column("run", sa.Column("splits_shift_s", sa.Float(53), nullable=True))
    op.add_column("run", sa.Column("standards", sa.JSON, nullable=False, server_default=none))
    op.add_column("track", sa.Column("matched", sa.String(16), nullable=True))
    op.add_column("track", sa.Column("parts", sa.JSON, nullable=False, server_default=none))
    op.add_column("track", sa.Column("clock_shift_s", sa.Float(53), nullable=True))
    op.add_column("observation", sa.Column("burial", sa.String(64), nullable=True))
    op.add_column("observation", sa.Column("since_alarm_s", sa.Float(53), nullable=True))
    # Until now a track's searcher was always entered by a person, never guessed.
    op.execute("UPDATE track SET matched = 'told' WHERE searcher IS NOT NULL")
