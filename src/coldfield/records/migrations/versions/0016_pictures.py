"""Pictures under the plans of drills, with their files."""

import sqlalchemy as sa
from alembic import op

revision = "0016"
down_revision = "0015"
branch_labels = None
depends_on = None

ID = sa.String(64).with_variant(sa.String(64, collation="C"), "postgresql")
STAMP = sa.String(24).with_variant(sa.String(24, collation="C"), "postgresql")


def upgrade() -> None:
    """Make the change."""
    op.create_table(
        "ground_picture",
        sa.Column("id", ID, nullable=False),
        sa.Column("version", sa.Integer, nullable=False),
        sa.Column("created_utc", STAMP, nullable=False),
        sa.Column("changed_utc", STAMP, nullable=False),
        sa.Column("deletion_id", ID, nullable=True),
        sa.Column("drill_id", ID, nullable=False),
        sa.Column("file_name", sa.Text, nullable=False),
        sa.Column("width_px", sa.Integer, nullable=False),
        sa.Column("height_px", sa.Integer, nullable=False),
        sa.Column("shown", sa.Float(53), nullable=False),
        sa.Column("points", sa.JSON, nullable=False),
        sa.Column("placed_by", sa.String(8), nullable=True),
        sa.Column("matrix", sa.JSON, nullable=True),
        sa.Column("residual_m", sa.Float(53), nullable=True),
        sa.Column("size_bytes", sa.Integer, nullable=False),
        sa.Column("sha256", sa.String(64), nullable=False),
        sa.ForeignKeyConstraint(["drill_id"], ["drill.id"], name="fk_ground_picture_drill_id"),
        sa.ForeignKeyConstraint(["deletion_id"], ["deletion.id"], name="fk_ground_picture_deletion_id"),
        sa.PrimaryKeyConstraint("id", name="pk_ground_picture"),
    )
    deleted = sa.text("deletion_id IS NOT NULL")
    op.create_index(
        "ix_ground_picture_deletion_id",
        "ground_picture",
        ["deletion_id"],
        sqlite_where=deleted,
        postgresql_where=deleted,
    )
    op.create_index(
        "ix_ground_picture_drill_id_created_utc_id", "ground_picture", ["drill_id", "created_utc", "id"]
    )
    op.create_index("ix_ground_picture_created_utc_id", "ground_picture", ["created_utc", "id"])
    op.create_table(
        "picture_file",
        sa.Column("picture_id", ID, nullable=False),
        sa.Column("content", sa.LargeBinary, nullable=False),
        sa.ForeignKeyConstraint(["picture_id"], ["ground_picture.id"], name="fk_picture_file_picture_id"),
        sa.PrimaryKeyConstraint("picture_id", name="pk_picture_file"),
    )
