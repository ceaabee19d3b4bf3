"""Keep the measures of a track's file; existing tracks are measured when a list needs them."""

import sqlalchemy as sa
from alembic import op

revision = "0010"
down_revision = "0009"
branch_labels = None
depends_on = None

TEXT = sa.String(64).with_variant(sa.String(64, collation="C"), "postgresql")


def upgrade() -> None:
    """Make the change."""
    track = sa.ForeignKey("track.id", name="fk_track_measure_track_id", ondelete="CASCADE")
    op.create_table(
        "track_measure",
        sa.Column("track_id", TEXT, track),
        sa.Column("measured_by", sa.String(64), nullable=False),
        sa.Column("document", sa.JSON, nullable=False),
        sa.PrimaryKeyConstraint("track_id", name="pk_track_measure"),
    )
