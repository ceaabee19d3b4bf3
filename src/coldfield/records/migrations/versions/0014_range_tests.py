"""Range tests, and further fields of a piece of kit."""

import sqlalchemy as sa
from alembic import op

revision = "0014"
down_revision = "0013"
branch_labels = None
depends_on = None

ID = sa.String(64).with_variant(sa.String(64, collation="C"), "postgresql")
STAMP = sa.String(24).with_variant(sa.String(24, collation="C"), "postgresql")


def upgrade() -> None:
    """Make the change."""
    for name in ("serial", "battery", "firmware", "faults"):
        op.add_column("kit", sa.Column(name, sa.Text, nullable=False, server_default=""))
    op.add_column("kit", sa.Column("made_year", sa.Integer, nullable=True))
    op.add_column("kit", sa.Column("last_check", STAMP, nullable=True))
    op.add_column("kit", sa.Column("next_check", STAMP, nullable=True))
    op.create_table(
        "range_test",
        sa.Column("id", ID, nullable=False),
        sa.Column("version", sa.Integer, nullable=False),
        sa.Column("created_utc", STAMP, nullable=False),
        sa.Column("changed_utc", STAMP, nullable=False),
        sa.Column("deletion_id", ID, nullable=True),
        sa.Column("kit_id", ID, nullable=False),
        sa.Column("held", STAMP, nullable=False),
        sa.Column("against", sa.Text, nullable=False),
        sa.Column("field_at_10m_ua_per_m", sa.Float(53), nullable=False),
        sa.Column("antennas", sa.Integer, nullable=False),
        sa.Column("coaxial_m", sa.JSON, nullable=False),
        sa.Column("coplanar_m", sa.JSON, nullable=False),
        sa.Column("upright_m", sa.JSON, nullable=False),
        sa.Column("measured", sa.String(8), nullable=False),
        sa.Column("notes", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_range_test"),
        sa.ForeignKeyConstraint(["deletion_id"], ["deletion.id"], name="fk_range_test_deletion_id"),
        sa.ForeignKeyConstraint(["kit_id"], ["kit.id"], name="fk_range_test_kit_id"),
    )
    deleted = sa.text("deletion_id IS NOT NULL")
    op.create_index(
        "ix_range_test_deletion_id",
        "range_test",
        ["deletion_id"],
        sqlite_where=deleted,
        postgresql_where=deleted,
    )
    op.create_index("ix_range_test_kit_id_held_id", "range_test", ["kit_id", "held", "id"])
    op.create_index("ix_range_test_held_id", "range_test", ["held", "id"])
