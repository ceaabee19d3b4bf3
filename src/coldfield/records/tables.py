"""Building blocks for the tables of the records, the same on SQLite and PostgreSQL.

Every kind of record has an id chosen by its creator, a version that counts its changes, and the moments of
its creation and last change (UTC, ISO 8601, milliseconds). Once deleted it has the id of the deletion;
undoing that deletion brings it back.
"""

from __future__ import annotations

from typing import Any

from sqlalchemy import (
    Column,
    Connection,
    Float,
    ForeignKey,
    Index,
    Integer,
    MetaData,
    String,
    Table,
    Text,
    func,
)

APPLICATION_ID = 0x434F4C44
"""Written into the header of each of our SQLite files: 'COLD' in ASCII."""

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

STAMPS = ("id", "version", "created_utc", "changed_utc", "deletion_id")
"""The columns that every record has in addition to those of its form."""


def refers_to(table: str, name: str | None = None, *, nullable: bool = False) -> Column[Any]:
    """Return a column that refers to a row of another table; it has the table's name with ``_id``."""
    return Column(name or f"{table}_id", Id, ForeignKey(f"{table}.id"), nullable=nullable)


def text_column(name: str) -> Column[str]:
    """Return a column of text that is never null."""
    return Column(name, Text, nullable=False)


def moment_columns() -> tuple[Column[Any] | Index, ...]:
    """Return the columns for notes in a run (who, where, when on one of two clocks), and their indexes."""
    return (
        Column("searcher", String(64), nullable=True),
        Column("burial", String(64), nullable=True),
        Column("time_unix_s", Float(53), nullable=True),
        Column("since_alarm_s", Float(53), nullable=True),
        text_column("note"),
        Index(None, "run_id", "created_utc", "id"),
        Index(None, "created_utc", "id"),
    )


def record_table(name: str, *columns: Any) -> Table:
    """Return the table of a kind of record: these columns and those that every record has."""
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
    # Only deleted rows: lists search rows that are not deleted and must not use this index.
    deleted = table.c.deletion_id.is_not(None)
    Index(f"ix_{name}_deletion_id", table.c.deletion_id, sqlite_where=deleted, postgresql_where=deleted)
    return table


deletion = Table(
    "deletion",
    metadata,
    Column("id", Id, primary_key=True),
    Column("kind", String(16), nullable=False),
    Column("record_id", Id, nullable=False),
    Column("deleted_utc", Stamp, nullable=False),
    Index(None, "deleted_utc", "id"),
)

forgotten = Table(
    "forgotten",
    metadata,
    Column("digest", String(64), primary_key=True),
    Column("forgotten_utc", Stamp, nullable=False),
)


phone_code = Table(
    "phone_code",
    metadata,
    Column("id", Id, primary_key=True),
    refers_to("run"),
    Column("may", String(8), nullable=False),
    Column("digest", String(64), nullable=False),
    Column("typed_digest", String(64), nullable=False),
    Column("created_utc", Stamp, nullable=False),
    Column("until_utc", Stamp, nullable=False),
    Index(None, "run_id"),
)
"""Hashes of the codes with which phones add to a run; not exported; a withdrawn code is removed."""


def newer_version(connection: Connection, table: Table, now_utc: str) -> dict[str, Any]:
    """Return what an update sets in addition to its change: the next version and its moment."""
    later = func.max if connection.dialect.name == "sqlite" else func.greatest
    return {"version": table.c.version + 1, "changed_utc": later(table.c.changed_utc, now_utc)}
