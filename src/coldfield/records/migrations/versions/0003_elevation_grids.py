"""Elevation grids of drills, with their original files."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the change."""
    op.create_table(
        "grid",
        _id("id"),
        sa.Column("version", sa.Integer, nullable=False),
        _stamp("created_utc"),
        _stamp("changed_utc"),
        _id("deletion_id", nullable=True),
        _id("drill_id"),
        sa.Column("file_name", sa.Text, nullable=False),
        sa.Column("crs", sa.Text, nullable=True),
        sa.Column("size_bytes", sa.Integer, nullable=False),
        sa.Column("sha256", sa.String(64), nullable=False),
        sa.ForeignKeyConstraint(["drill_id"], ["drill.id"], name="fk_grid_drill_id"),
        sa.ForeignKeyConstraint(["deletion_id"], ["deletion.id"], name="fk_grid_deletion_id"),
        sa.PrimaryKeyConstraint("id", name="pk_grid"),
    )
    deleted = sa.text("deletion_id IS NOT NULL")
    op.create_index(
        "ix_grid_deletion_id", "grid", ["deletion_id"], sqlite_where=deleted, postgresql_where=deleted
    )
    op.create_index("ix_grid_drill_id_created_utc_id", "grid", ["drill_id", "created_utc", "id"])
    op.create_index("ix_grid_created_utc_id", "grid", ["created_utc", "id"])
    op.create_table(
        "grid_file",
        _id("grid_id"),
        sa.Column("content", sa.LargeBinary, nullable=False),
        sa.ForeignKeyConstraint(["grid_id"], ["grid.id"], name="fk_grid_file_grid_id"),
        sa.PrimaryKeyConstraint("grid_id", name="pk_grid_file"),
    )


def _id(name: str, *, nullable: bool = False) -> sa.Column[str]:
    kind = sa.String(64).with_variant(sa.String(64, collation="C"), "postgresql")
    return sa.Column(name, kind, nullable=nullable)


def _stamp(name: str) -> sa.Column[str]:
    kind = sa.String(24).with_variant(sa.String(24, collation="C"), "postgresql")
    return sa.Column(name, kind, nullable=False)
