"""Data from phones: phones, group checks, hidden sets, and each original item."""

from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0012"
down_revision = "0011"
branch_labels = None
depends_on = None

ID = sa.String(64).with_variant(sa.String(64, collation="C"), "postgresql")
STAMP = sa.String(24).with_variant(sa.String(24, collation="C"), "postgresql")


def _record(name: str, *columns: sa.Column[Any], refers: dict[str, str] | None = None) -> None:
    keys = {"deletion_id": "deletion", **(refers or {})}
    op.create_table(
        name,
        sa.Column("id", ID, nullable=False),
        sa.Column("version", sa.Integer, nullable=False),
        sa.Column("created_utc", STAMP, nullable=False),
        sa.Column("changed_utc", STAMP, nullable=False),
        sa.Column("deletion_id", ID, nullable=True),
        *columns,
        sa.PrimaryKeyConstraint("id", name=f"pk_{name}"),
        *(
            sa.ForeignKeyConstraint([column], [f"{table}.id"], name=f"fk_{name}_{column}")
            for column, table in keys.items()
        ),
    )
    deleted = sa.text("deletion_id IS NOT NULL")
    op.create_index(
        f"ix_{name}_deletion_id", name, ["deletion_id"], sqlite_where=deleted, postgresql_where=deleted
    )


def _index(table: str, *columns: str) -> None:
    op.create_index(f"ix_{table}_{'_'.join(columns)}", table, list(columns))


def _text(name: str) -> sa.Column[Any]:
    return sa.Column(name, sa.Text, nullable=False)


def _number(name: str) -> sa.Column[Any]:
    return sa.Column(name, sa.Float(53), nullable=True)


def upgrade() -> None:
    """Make the change."""
    _record("phone", _text("name"), _text("keeper"))
    _index("phone", "created_utc", "id")
    _record(
        "group_check",
        sa.Column("run_id", ID, nullable=True),
        sa.Column("extent", sa.String(8), nullable=True),
        _text("leader"),
        sa.Column("begun_utc", STAMP, nullable=False),
        sa.Column("ended_utc", STAMP, nullable=True),
        sa.Column("checked", sa.JSON, nullable=False),
        sa.Column("not_checked", sa.JSON, nullable=False),
        refers={"run_id": "run"},
    )
    _index("group_check", "begun_utc", "id")
    _index("group_check", "run_id", "begun_utc", "id")
    _record(
        "hiding",
        sa.Column("run_id", ID, nullable=False),
        sa.Column("when", sa.String(8), nullable=False),
        sa.Column("burial", sa.String(64), nullable=False),
        sa.Column("set", sa.String(64), nullable=True),
        sa.Column("transmits", sa.Boolean, nullable=True),
        sa.Column("place", sa.JSON, nullable=True),
        *map(_number, ("depth_m", "azimuth_deg", "tilt_deg")),
        _text("by"),
        sa.Column("out", sa.Boolean, nullable=False),
        _number("time_unix_s"),
        refers={"run_id": "run"},
    )
    _index("hiding", "run_id", "created_utc", "id")
    _index("hiding", "created_utc", "id")
    _record(
        "day_item",
        sa.Column("run_id", ID, nullable=True),
        sa.Column("check_id", ID, nullable=True),
        sa.Column("of", ID, nullable=False),
        sa.Column("phone", ID, nullable=False),
        sa.Column("n", sa.Integer, nullable=False),
        sa.Column("told", sa.JSON, nullable=False),
        refers={"run_id": "run", "check_id": "group_check"},
    )
    _index("day_item", "of")
    _index("day_item", "run_id", "created_utc", "id")
    _index("day_item", "check_id")
    _index("day_item", "created_utc", "id")
