"""First tables: people, kit, sites, courses, drills with their versions, runs and what belongs to them."""

from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the change."""
    op.create_table(
        "deletion",
        _id("id"),
        sa.Column("kind", sa.String(16), nullable=False),
        _id("record_id"),
        _stamp("deleted_utc"),
        sa.PrimaryKeyConstraint("id", name="pk_deletion"),
    )
    _index("deletion", "deleted_utc", "id")
    _people_and_ground()
    _courses()
    _drills_and_runs()
    _parts_of_a_run()


def _people_and_ground() -> None:
    _record("person", _sorted("name"), _text("contact"), _text("notes"))
    _index("person", "name", "id")
    _record(
        "kit",
        sa.Column("kind", sa.String(8), nullable=False),
        _sorted("label"),
        _id("owner_id", nullable=True),
        sa.Column("state", sa.String(16), nullable=False),
        _text("notes"),
        _refers("kit", "owner_id", "person"),
    )
    _index("kit", "label", "id")
    _index("kit", "owner_id")
    _record("site", _sorted("name"), _text("notes"), _json("document", nullable=True))
    _index("site", "name", "id")


def _courses() -> None:
    _record("course", _sorted("name"), _text("notes"))
    _index("course", "name", "id")
    _record(
        "day",
        _id("course_id"),
        _stamp("date"),
        _id("site_id", nullable=True),
        _text("notes"),
        _refers("day", "course_id", "course"),
        _refers("day", "site_id", "site"),
    )
    _index("day", "course_id", "date", "id")
    _index("day", "date", "id")
    _index("day", "site_id")
    _record(
        "participant",
        _id("course_id"),
        _id("person_id"),
        sa.Column("role", sa.String(16), nullable=False),
        _refers("participant", "course_id", "course"),
        _refers("participant", "person_id", "person"),
    )
    _index("participant", "person_id", "id")
    op.create_index(
        "uq_participant_course_id_person_id",
        "participant",
        ["course_id", "person_id"],
        unique=True,
        sqlite_where=sa.text("deletion_id IS NULL"),
        postgresql_where=sa.text("deletion_id IS NULL"),
    )


def _drills_and_runs() -> None:
    _record(
        "drill",
        _sorted("name"),
        _id("site_id", nullable=True),
        _text("notes"),
        sa.Column("drill_version", sa.Integer, nullable=False),
        _refers("drill", "site_id", "site"),
    )
    _index("drill", "name", "id")
    _index("drill", "site_id")
    op.create_table(
        "drill_version",
        _id("drill_id"),
        sa.Column("number", sa.Integer, nullable=False),
        _stamp("created_utc"),
        _json("document"),
        _refers("drill_version", "drill_id", "drill"),
        sa.PrimaryKeyConstraint("drill_id", "number", name="pk_drill_version"),
    )
    _record(
        "run",
        _id("drill_id"),
        sa.Column("drill_version", sa.Integer, nullable=False),
        _id("day_id", nullable=True),
        _text("name"),
        _stamp("held_utc"),
        sa.Column("simulated", sa.Boolean, nullable=False),
        _text("notes"),
        _json("as_buried", nullable=True),
        _refers("run", "drill_id", "drill"),
        _refers("run", "day_id", "day"),
        sa.ForeignKeyConstraint(
            ["drill_id", "drill_version"],
            ["drill_version.drill_id", "drill_version.number"],
            name="fk_run_version",
        ),
    )
    _index("run", "held_utc", "id")
    _index("run", "drill_id", "held_utc", "id")
    _index("run", "day_id", "held_utc", "id")
    op.create_table(
        "run_searcher",
        _id("run_id"),
        sa.Column("searcher", sa.String(64), nullable=False),
        _id("person_id", nullable=True),
        _stamp("held_utc"),
        _refers("run_searcher", "run_id", "run"),
        _refers("run_searcher", "person_id", "person"),
        sa.PrimaryKeyConstraint("run_id", "searcher", name="pk_run_searcher"),
    )
    _index("run_searcher", "person_id", "held_utc", "run_id")


def _parts_of_a_run() -> None:
    _part_of_a_run(
        "split",
        sa.Column("split", sa.String(64), nullable=False),
        sa.Column("searcher", sa.String(64), nullable=True),
        sa.Column("burial", sa.String(64), nullable=True),
        sa.Column("time_unix_s", sa.Float(53), nullable=True),
        sa.Column("since_alarm_s", sa.Float(53), nullable=True),
        _text("note"),
    )
    _part_of_a_run(
        "observation",
        _text("about"),
        sa.Column("seen", sa.Boolean, nullable=True),
        sa.Column("searcher", sa.String(64), nullable=True),
        sa.Column("time_unix_s", sa.Float(53), nullable=True),
        _text("note"),
    )
    _part_of_a_run(
        "track",
        sa.Column("searcher", sa.String(64), nullable=True),
        _id("person_id", nullable=True),
        _text("file_name"),
        sa.Column("size_bytes", sa.Integer, nullable=False),
        sa.Column("sha256", sa.String(64), nullable=False),
        _refers("track", "person_id", "person"),
    )
    _index("track", "person_id")
    op.create_table(
        "original",
        _id("track_id"),
        sa.Column("content", sa.LargeBinary, nullable=False),
        _refers("original", "track_id", "track"),
        sa.PrimaryKeyConstraint("track_id", name="pk_original"),
    )
    _part_of_a_run("debrief", _json("made_by"), _json("document"))


def _part_of_a_run(name: str, *columns: Any) -> None:
    _record(name, _id("run_id"), *columns, _refers(name, "run_id", "run"))
    _index(name, "run_id", "created_utc", "id")
    _index(name, "created_utc", "id")


def _record(name: str, *columns: Any) -> None:
    op.create_table(
        name,
        _id("id"),
        sa.Column("version", sa.Integer, nullable=False),
        _stamp("created_utc"),
        _stamp("changed_utc"),
        _id("deletion_id", nullable=True),
        *columns,
        _refers(name, "deletion_id", "deletion"),
        sa.PrimaryKeyConstraint("id", name=f"pk_{name}"),
    )
    _index(name, "deletion_id")


def _id(name: str, *, nullable: bool = False) -> sa.Column[str]:
    kind = sa.String(64).with_variant(sa.String(64, collation="C"), "postgresql")
    return sa.Column(name, kind, nullable=nullable)


def _stamp(name: str) -> sa.Column[str]:
    kind = sa.String(24).with_variant(sa.String(24, collation="C"), "postgresql")
    return sa.Column(name, kind, nullable=False)


def _sorted(name: str) -> sa.Column[str]:
    return sa.Column(name, sa.Text().with_variant(sa.Text(collation="C"), "postgresql"), nullable=False)


def _text(name: str) -> sa.Column[str]:
    return sa.Column(name, sa.Text, nullable=False)


def _json(name: str, *, nullable: bool = False) -> sa.Column[Any]:
    return sa.Column(name, sa.JSON, nullable=nullable)


def _refers(table: str, column: str, to: str) -> sa.ForeignKeyConstraint:
    return sa.ForeignKeyConstraint([column], [f"{to}.id"], name=f"fk_{table}_{column}")


def _index(table: str, *columns: str) -> None:
    op.create_index(f"ix_{table}_{'_'.join(columns)}", table, list(columns))
