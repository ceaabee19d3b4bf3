"""Codes with which phones add to a run, and the phone that a track came from."""

import sqlalchemy as sa
from alembic import op

revision = "0015"
down_revision = "0014"
branch_labels = None
depends_on = None

ID = sa.String(64).with_variant(sa.String(64, collation="C"), "postgresql")
STAMP = sa.String(24).with_variant(sa.String(24, collation="C"), "postgresql")


def upgrade() -> None:
    """Make the change."""
    op.create_table(
        "phone_code",
        sa.Column("id", ID, nullable=False),
        sa.Column("run_id", ID, nullable=False),
        sa.Column("may", sa.String(8), nullable=False),
        sa.Column("digest", sa.String(64), nullable=False),
        sa.Column("typed_digest", sa.String(64), nullable=False),
        sa.Column("created_utc", STAMP, nullable=False),
        sa.Column("until_utc", STAMP, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_phone_code"),
        sa.ForeignKeyConstraint(["run_id"], ["run.id"], name="fk_phone_code_run_id"),
    )
    op.create_index("ix_phone_code_run_id", "phone_code", ["run_id"])
    # Written out as SQL: SQLite can add a column with a reference; rebuilding the table would copy its files.
    kind = "VARCHAR(64)" if op.get_bind().dialect.name == "sqlite" else 'VARCHAR(64) COLLATE "C"'
    op.execute(
        f"ALTER TABLE track ADD COLUMN phone_id {kind} CONSTRAINT fk_track_phone_id REFERENCES phone (id)"
    )
    op.create_index("ix_track_phone_id", "track", ["phone_id"])
