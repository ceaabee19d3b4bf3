"""The tables of the records, the same on SQLite and PostgreSQL.

Every kind of record has an id made by whoever creates it, a version that counts its changes, the
moments of its creation and last change (UTC, ISO 8601, milliseconds) and, once deleted, the id of
the deletion that took it out of sight; undoing that deletion brings it back.
"""

from __future__ import annotations

from typing import Any

from sqlalchemy import (
    JSON,
    Boolean,
    Column,
    Float,
    ForeignKey,
    ForeignKeyConstraint,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    String,
    Table,
    Text,
    text,
)

APPLICATION_ID = 0x434F4C44
"""Written into the header of every SQLite file of ours: 'COLD' in ASCII."""

metadata = MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "fk": "fk_%(table_name)s_%(column_0_name)s",
        "pk": "pk_%(table_name)s",
    }
)

# Ids and stamps sort by their bytes on both databases.
Id = String(64).with_variant(String(64, collation="C"), "postgresql")
Stamp = String(24).with_variant(String(24, collation="C"), "postgresql")
Sorted = Text().with_variant(Text(collation="C"), "postgresql")


def _refers_to(table: str, name: str | None = None, *, nullable: bool = False) -> Column[Any]:
    return Column(name or f"{table}_id", Id, ForeignKey(f"{table}.id"), nullable=nullable)


def _record(name: str, *columns: Any) -> Table:
    table = Table(
        name,
        metadata,
        Column("id", Id, primary_key=True),
        Column("version", Integer, nullable=False),
        Column("created_utc", Stamp, nullable=False),
        Column("changed_utc", Stamp, nullable=False),
        Column("deletion_id", Id, ForeignKey("deletion.id"), nullable=True),
        *columns,
    )
    # Of deleted rows only: lists look for what is not deleted, and must not be led to this index.
    deleted = table.c.deletion_id.is_not(None)
    Index(f"ix_{name}_deletion_id", table.c.deletion_id, sqlite_where=deleted, postgresql_where=deleted)
    return table


def _text(name: str) -> Column[str]:
    return Column(name, Text, nullable=False)


deletion = Table(
    "deletion",
    metadata,
    Column("id", Id, primary_key=True),
    Column("kind", String(16), nullable=False),
    Column("record_id", Id, nullable=False),
    Column("deleted_utc", Stamp, nullable=False),
    Index(None, "deleted_utc", "id"),
)

person = _record(
    "person",
    Column("name", Sorted, nullable=False),
    _text("contact"),
    _text("notes"),
    Index(None, "name", "id"),
)

kit = _record(
    "kit",
    Column("kind", String(8), nullable=False),
    Column("label", Sorted, nullable=False),
    _refers_to("person", "owner_id", nullable=True),
    Column("state", String(16), nullable=False),
    _text("notes"),
    Column("figures", JSON(none_as_null=True), nullable=True),
    Index(None, "label", "id"),
    Index(None, "owner_id"),
)

site = _record(
    "site",
    Column("name", Sorted, nullable=False),
    _text("notes"),
    Column("document", JSON(none_as_null=True), nullable=True),
    Index(None, "name", "id"),
)

course = _record(
    "course",
    Column("name", Sorted, nullable=False),
    _text("notes"),
)
Index("ix_course_created_utc_id", course.c.created_utc, course.c.id)

day = _record(
    "day",
    _refers_to("course"),
    Column("date", Stamp, nullable=False),
    _refers_to("site", nullable=True),
    _text("notes"),
    Index(None, "course_id", "date", "id"),
    Index(None, "date", "id"),
    Index(None, "site_id"),
)

participant = _record(
    "participant",
    _refers_to("course"),
    _refers_to("person"),
    Column("role", String(16), nullable=False),
    Index(None, "person_id", "id"),
)
Index(
    "uq_participant_course_id_person_id",
    participant.c.course_id,
    participant.c.person_id,
    unique=True,
    sqlite_where=participant.c.deletion_id.is_(None),
    postgresql_where=participant.c.deletion_id.is_(None),
)

drill = _record(
    "drill",
    Column("name", Sorted, nullable=False),
    _refers_to("site", nullable=True),
    _text("notes"),
    Column("checks", JSON(none_as_null=True), nullable=False, server_default=text("'[]'")),
    Column("drill_version", Integer, nullable=False),
    Index(None, "site_id"),
)
Index("ix_drill_changed_utc_id", drill.c.changed_utc, drill.c.id)

drill_version = Table(
    "drill_version",
    metadata,
    Column("drill_id", Id, ForeignKey("drill.id"), primary_key=True),
    Column("number", Integer, primary_key=True),
    Column("created_utc", Stamp, nullable=False),
    Column("document", JSON, nullable=False),
)

grid = _record(
    "grid",
    _refers_to("drill"),
    _text("file_name"),
    Column("crs", Text, nullable=True),
    Column("size_bytes", Integer, nullable=False),
    Column("sha256", String(64), nullable=False),
    Index(None, "drill_id", "created_utc", "id"),
    Index(None, "created_utc", "id"),
)

grid_file = Table(
    "grid_file",
    metadata,
    Column("grid_id", Id, ForeignKey("grid.id"), primary_key=True),
    Column("content", LargeBinary, nullable=False),
)

run = _record(
    "run",
    _refers_to("drill"),
    Column("drill_version", Integer, nullable=False),
    _refers_to("day", nullable=True),
    _text("name"),
    Column("held_utc", Stamp, nullable=False),
    Column("simulated", Boolean, nullable=False),
    _text("notes"),
    Column("as_buried", JSON(none_as_null=True), nullable=True),
    Column("splits_shift_s", Float(53), nullable=True),
    Column("standards", JSON, nullable=False, server_default=text("'[]'")),
    ForeignKeyConstraint(
        ["drill_id", "drill_version"],
        ["drill_version.drill_id", "drill_version.number"],
        name="fk_run_version",
    ),
    Index(None, "held_utc", "id"),
    Index(None, "drill_id", "held_utc", "id"),
    Index(None, "day_id", "held_utc", "id"),
)

run_searcher = Table(
    "run_searcher",
    metadata,
    Column("run_id", Id, ForeignKey("run.id"), primary_key=True),
    Column("searcher", String(64), primary_key=True),
    Column("person_id", Id, ForeignKey("person.id"), nullable=True),
    Column("held_utc", Stamp, nullable=False),
    Index(None, "person_id", "held_utc", "run_id"),
)

split = _record(
    "split",
    _refers_to("run"),
    Column("split", String(64), nullable=False),
    Column("searcher", String(64), nullable=True),
    Column("burial", String(64), nullable=True),
    Column("time_unix_s", Float(53), nullable=True),
    Column("since_alarm_s", Float(53), nullable=True),
    _text("note"),
    Index(None, "run_id", "created_utc", "id"),
    Index(None, "created_utc", "id"),
)

observation = _record(
    "observation",
    _refers_to("run"),
    _text("about"),
    Column("seen", Boolean, nullable=True),
    Column("searcher", String(64), nullable=True),
    Column("burial", String(64), nullable=True),
    Column("time_unix_s", Float(53), nullable=True),
    Column("since_alarm_s", Float(53), nullable=True),
    _text("note"),
    Index(None, "run_id", "created_utc", "id"),
    Index(None, "created_utc", "id"),
)

track = _record(
    "track",
    _refers_to("run"),
    Column("searcher", String(64), nullable=True),
    _refers_to("person", nullable=True),
    _text("file_name"),
    Column("size_bytes", Integer, nullable=False),
    Column("sha256", String(64), nullable=False),
    Column("matched", String(16), nullable=True),
    Column("parts", JSON, nullable=False, server_default=text("'[]'")),
    Column("clock_shift_s", Float(53), nullable=True),
    Index(None, "run_id", "created_utc", "id"),
    Index(None, "created_utc", "id"),
    Index(None, "person_id"),
)

original = Table(
    "original",
    metadata,
    Column("track_id", Id, ForeignKey("track.id"), primary_key=True),
    Column("content", LargeBinary, nullable=False),
)

track_measure = Table(
    "track_measure",
    metadata,
    Column("track_id", Id, ForeignKey("track.id", ondelete="CASCADE"), primary_key=True),
    Column("measured_by", String(64), nullable=False),
    Column("document", JSON, nullable=False),
)
"""What was found in a track's file; made anew from it wherever it is missing or was measured otherwise."""

debrief = _record(
    "debrief",
    _refers_to("run"),
    Column("made_by", JSON, nullable=False),
    Column("document", JSON, nullable=False),
    Index(None, "run_id", "created_utc", "id"),
    Index(None, "created_utc", "id"),
)

phase = Table(
    "phase",
    metadata,
    Column("debrief_id", Id, ForeignKey("debrief.id"), primary_key=True),
    Column("number", Integer, primary_key=True),
    Column("searcher", String(64), nullable=False),
    Column("burial", String(64), nullable=False),
    Column("phase", String(16), nullable=False),
    Column("start_s", Float(53), nullable=False),
    Column("end_s", Float(53), nullable=False),
)

forgotten = Table(
    "forgotten",
    metadata,
    Column("digest", String(64), primary_key=True),
    Column("forgotten_utc", Stamp, nullable=False),
)

phone = _record(
    "phone",
    _text("name"),
    _text("keeper"),
    Index(None, "created_utc", "id"),
)

group_check = _record(
    "group_check",
    _refers_to("run", nullable=True),
    Column("extent", String(8), nullable=True),
    _text("leader"),
    Column("begun_utc", Stamp, nullable=False),
    Column("ended_utc", Stamp, nullable=True),
    Column("checked", JSON, nullable=False),
    Column("not_checked", JSON, nullable=False),
    Index(None, "begun_utc", "id"),
    Index(None, "run_id", "begun_utc", "id"),
)

hiding = _record(
    "hiding",
    _refers_to("run"),
    Column("when", String(8), nullable=False),
    Column("burial", String(64), nullable=False),
    Column("set", String(64), nullable=True),
    Column("transmits", Boolean, nullable=True),
    Column("place", JSON(none_as_null=True), nullable=True),
    Column("depth_m", Float(53), nullable=True),
    Column("azimuth_deg", Float(53), nullable=True),
    Column("tilt_deg", Float(53), nullable=True),
    _text("by"),
    Column("out", Boolean, nullable=False),
    Column("time_unix_s", Float(53), nullable=True),
    Index(None, "run_id", "created_utc", "id"),
    Index(None, "created_utc", "id"),
)

day_item = _record(
    "day_item",
    _refers_to("run", nullable=True),
    _refers_to("group_check", "check_id", nullable=True),
    Column("of", Id, nullable=False),
    Column("phone", Id, nullable=False),
    Column("n", Integer, nullable=False),
    Column("told", JSON, nullable=False),
    Index(None, "of"),
    Index(None, "run_id", "created_utc", "id"),
    Index(None, "check_id"),
    Index(None, "created_utc", "id"),
)
"""What phones brought back, item by item as it was written there; runs and checks are read from it."""
