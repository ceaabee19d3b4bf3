"""What forgetting a person does, row by row: planned while reading, then carried out in one go."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from hashlib import sha256
from typing import Any

from sqlalchemy import Column, Connection, Table, delete, insert, select, update

from coldfield.errors import UnknownRecord
from coldfield.message import Message, message
from coldfield.records import schema
from coldfield.records.forget.contents import cleaned
from coldfield.records.forget.names import Wanted
from coldfield.records.kind import KeptFile, Kind
from coldfield.records.kinds import KINDS
from coldfield.records.tables import metadata, newer_version
from coldfield.records.wiping import mark_to_wipe

STILL_READ = message("note.forget_still_read")
SERVERS_OWN = message("note.forget_servers_own")

MOST_TO_LOOK_AT = 1000
"""Places beyond this number are only counted. Setting."""

Key = tuple[Any, ...]


@dataclass(slots=True)
class Counted:
    """How many records were changed, with the name of their kind."""

    what: Message
    n: int


@dataclass(slots=True)
class Forgotten:
    """What was done about a person's traces.

    `removed` and `made_anonymous` count records by kind; `to_look_at` lists, with its place, whatever may
    mean the person or somebody else.
    """

    removed: list[Counted] = field(default_factory=list)
    made_anonymous: list[Counted] = field(default_factory=list)
    to_look_at: list[Message] = field(default_factory=list)


@dataclass(slots=True)
class Plan:
    """What is removed, what is changed, what is reported.

    `gone` are ids by kind; `changes` are new values by table and primary key; `touched` are the records
    that get a new version, by kind; `files` are the files, by kind and id, from which the name is removed.
    """

    wanted: Wanted
    person_id: str
    done: Forgotten = field(default_factory=Forgotten)
    gone: dict[str, set[str]] = field(default_factory=dict)
    changes: dict[Table, dict[Key, dict[str, Any]]] = field(default_factory=dict)
    touched: dict[str, set[str]] = field(default_factory=dict)
    files: list[tuple[str, str]] = field(default_factory=list)

    def go(self, kind: str, ids: Iterable[str]) -> None:
        """Remove records."""
        if found := set(ids):
            self.gone.setdefault(kind, set()).update(found)

    def change(self, table: Table, key: Key, values: Mapping[str, Any]) -> None:
        """Change a row."""
        self.changes.setdefault(table, {}).setdefault(key, {}).update(values)

    def touch(self, kind: str, record_id: str) -> None:
        """Give a record a new version, so that no change based on the old one can be saved."""
        self.touched.setdefault(kind, set()).add(record_id)

    def look(self, said: Message) -> None:
        """Add a place for a person to check."""
        if said not in self.done.to_look_at:
            self.done.to_look_at.append(said)

    def count(self, into: list[Counted], what: Message, number: int = 1) -> None:
        """Count what was done."""
        known = next((one for one in into if one.what == what), None)
        if known is not None:
            known.n += number
        elif number:
            into.append(Counted(what, number))

    def end(self) -> None:
        """Shorten a list that nobody would read."""
        more = len(self.done.to_look_at) - MOST_TO_LOOK_AT
        if more > 0:
            self.done.to_look_at[MOST_TO_LOOK_AT:] = [message("note.forget_more_places", n=more)]

    def tables(self) -> list[str]:
        """Return the names of the tables from which something was removed."""
        names = {table.name for table in self.changes} | {KINDS[kind].table.name for kind in self.touched}
        for kind in map(KINDS.__getitem__, self.gone):
            names |= {kind.table.name, *(column.table.name for column in columns_to(kind))}
        names |= {_kept(KINDS[kind]).table.name for kind, _ in self.files}
        for kind in KINDS.values():
            files = kind.file.table if kind.file is not None else None
            names |= {table.name for table in kind.texts_beside if table is not files}
        return sorted({*names, schema.deletion.name})


def carry_out(connection: Connection, plan: Plan, now_utc: str) -> None:
    """Carry out a plan; files are read and cleaned one by one."""
    mark_to_wipe(connection)
    for kind in KINDS.values():
        for table in kind.found_again:
            connection.execute(delete(table))
    _take_out(connection, plan, now_utc)
    for table, rows in plan.changes.items():
        names = [column.name for column in table.primary_key]
        for key, values in rows.items():
            where = [table.c[name] == value for name, value in zip(names, key, strict=True)]
            connection.execute(update(table).where(*where).values(values))
            for kind in KINDS.values():
                if kind.table is table:
                    kind.rewritten(connection, key[0], values)
    for name, record_id in plan.files:
        _clean_file(connection, plan.wanted, KINDS[name], record_id)
    for name, ids in plan.touched.items():
        table = KINDS[name].table
        newer = newer_version(connection, table, now_utc)
        for part in parts_of(ids - plan.gone.get(name, set())):
            connection.execute(update(table).where(table.c.id.in_(part)).values(newer))


def _take_out(connection: Connection, plan: Plan, now_utc: str) -> None:
    """Remove rows, everything that depends on them, and the deletions that could bring them back."""
    for kind in reversed(list(KINDS.values())):
        table = kind.table
        for part in parts_of(plan.gone.get(kind.name, ())):
            for column in columns_to(kind):
                there = column.in_(part)
                if column.nullable:
                    connection.execute(update(column.table).where(there).values({column.name: None}))
                else:
                    connection.execute(delete(column.table).where(there))
            connection.execute(delete(table).where(table.c.id.in_(part)))
            deletion = schema.deletion
            mine = (deletion.c.kind == kind.name) & deletion.c.record_id.in_(part)
            connection.execute(delete(deletion).where(mine))
            _keep_digests(connection, kind.name, part, now_utc)


def columns_to(kind: Kind) -> list[Column[Any]]:
    """Return the columns of all tables that refer to the records of a kind, in their order."""
    return [
        column
        for table in metadata.sorted_tables
        for column in table.c
        for key in column.foreign_keys
        if key.column is kind.table.c.id
    ]


def _kept(kind: Kind) -> KeptFile:
    if kind.file is None:
        raise UnknownRecord(message("fault.kind_without_file", kind=kind.one))
    return kind.file


def _clean_file(connection: Connection, wanted: Wanted, kind: Kind, record_id: str) -> None:
    kept, table = _kept(kind), kind.table
    name = connection.execute(select(table.c.file_name).where(table.c.id == record_id)).scalar_one()
    here = kept.table.c[kept.column] == record_id
    query = select(kept.table.c.content).where(here)
    content = cleaned(bytes(connection.execute(query).scalar_one()), name, wanted)
    if content is None:
        return
    connection.execute(update(kept.table).where(here).values(content=content))
    told = {"size_bytes": len(content), "sha256": sha256(content).hexdigest()}
    connection.execute(update(table).where(table.c.id == record_id).values(told))


def parts_of(ids: Iterable[str], size: int = 500) -> Iterable[list[str]]:
    """Yield ids in batches that fit into one statement."""
    listed = sorted(ids)
    return (listed[i : i + size] for i in range(0, len(listed), size))


# --- ids that are not taken again -----------------------------------------------------------------------


def digest_of(kind: str, record_id: str) -> str:
    """Return the digest of a forgotten id; the id itself is not kept because it may be a name."""
    return sha256(f"forgotten/{kind}/{record_id}".encode()).hexdigest()


def _keep_digests(connection: Connection, kind: str, ids: Iterable[str], now_utc: str) -> None:
    table = schema.forgotten
    rows = [{"digest": digest_of(kind, one), "forgotten_utc": now_utc} for one in ids]
    known = set(connection.execute(select(table.c.digest)).scalars())
    fresh = [row for row in rows if row["digest"] not in known]
    if fresh:
        connection.execute(insert(table), fresh)


def forgotten_ids(connection: Connection, kind: str, ids: Iterable[str]) -> set[str]:
    """Return which of some ids belonged to something that was forgotten with a person."""
    table = schema.forgotten
    if connection.execute(select(table.c.digest).limit(1)).first() is None:
        return set()
    by_digest = {digest_of(kind, one): one for one in ids}
    found: set[str] = set()
    for part in parts_of(by_digest):
        rows = connection.execute(select(table.c.digest).where(table.c.digest.in_(part))).scalars()
        found |= {by_digest[digest] for digest in rows}
    return found
