"""Standards that an instructor defines."""

import sqlalchemy as sa
from alembic import op

revision = "0013"
down_revision = "0012"
branch_labels = None
depends_on = None

ID = sa.String(64).with_variant(sa.String(64, collation="C"), "postgresql")
SORTED = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")
STAMP = sa.String(24).with_variant(sa.String(24, collation="C"), "postgresql")


def upgrade() -> None:
    """Make the change."""
    op.create_table(
        "standard",
        sa.Column("id", ID, nullable=False),
        sa.Column("version", sa.Integer, nullable=False),
        sa.Column("created_utc", STAMP, nullable=False),
        sa.Column("changed_utc", STAMP, nullable=False),
        sa.Column("deletion_id", ID, nullable=True),
        sa.Column("name", SORTED, nullable=False),
        sa.Column("what", sa.String(16), nullable=False),
        sa.Column("most_s", sa.Float(53), nullable=False),
        sa.Column("least_burials", sa.Integer, nullable=False),
        sa.Column("least_depth_m", sa.Float(53), nullable=False),
        sa.Column("valid_days", sa.Integer, nullable=True),
        sa.Column("notes", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_standard"),
        sa.ForeignKeyConstraint(["deletion_id"], ["deletion.id"], name="fk_standard_deletion_id"),
    )
    deleted = sa.text("deletion_id IS NOT NULL")
    op.create_index(
        "ix_standard_deletion_id",
        "standard",
        ["deletion_id"],
        sqlite_where=deleted,
        postgresql_where=deleted,
    )
    op.create_index("ix_standard_name_id", "standard", ["name", "id"])
