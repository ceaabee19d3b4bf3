"""A separate table for phases of debriefs; drills in the order of their last change."""

import sqlalchemy as sa
from alembic import op

from coldfield.records.phases import phase_rows

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None

TEXT = sa.String(64).with_variant(sa.String(64, collation="C"), "postgresql")


def upgrade() -> None:
    """Make the change."""
    phase = op.create_table(
        "phase",
        sa.Column("debrief_id", TEXT, sa.ForeignKey("debrief.id", name="fk_phase_debrief_id")),
        sa.Column("number", sa.Integer),
        sa.Column("searcher", sa.String(64), nullable=False),
        sa.Column("burial", sa.String(64), nullable=False),
        sa.Column("phase", sa.String(16), nullable=False),
        sa.Column("start_s", sa.Float(53), nullable=False),
        sa.Column("end_s", sa.Float(53), nullable=False),
        sa.PrimaryKeyConstraint("debrief_id", "number", name="pk_phase"),
    )
    op.create_index("ix_drill_changed_utc_id", "drill", ["changed_utc", "id"])
    connection = op.get_bind()
    debrief = sa.table("debrief", sa.column("id", TEXT), sa.column("document", sa.JSON))
    for key in connection.execute(sa.select(debrief.c.id)).scalars().all():
        query = sa.select(debrief.c.document).where(debrief.c.id == key)
        rows = phase_rows(key, connection.execute(query).scalar_one())
        if rows:
            connection.execute(sa.insert(phase), rows)
