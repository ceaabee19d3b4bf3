"""Export to an open archive: all records, or one drill with its runs.

Records are written a page at a time and files a few megabytes at a time, however many there are.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from sqlalchemy import ColumnElement, Connection, select

from coldfield.files.records_zip import ArchiveWriter
from coldfield.records import schema
from coldfield.records.kind import Kind, Record
from coldfield.records.kinds import KINDS
from coldfield.records.kinds.drills import KIND as DRILLS

_PAGE = 200

MOST_HELD_BYTES = 8_000_000
"""How many bytes of files are read from the records, or written to them, at a time. Setting."""

Rows = list[Record]


def write_archive(
    connection: Connection, writer: ArchiveWriter, told: Mapping[str, Any], *, drill_id: str | None = None
) -> dict[str, int]:
    """Write every record, including deleted ones, or one drill with its runs; return the counts by kind.

    Parameters
    ----------
    connection : Connection
        A reading transaction: the archive is one consistent state.
    writer : ArchiveWriter
        The target.
    told : mapping
        Further entries of the manifest.
    drill_id : str, optional
        Write only this drill, its elevation grids and its runs with everything that belongs to them, but
        nothing deleted. People, courses and sites are left out; names in the drill itself are included.
    """
    out = _Export(connection, writer, drill_id)
    counts = {kind.name: out.write(kind) for kind in KINDS.values()}
    deletion = schema.deletion
    deletions = connection.execute(select(deletion).order_by(deletion.c.id)).mappings()
    writer.add_list("records/deletions.json", map(dict, deletions) if drill_id is None else ())
    for kind in KINDS.values():
        out.write_along(kind)
    writer.close({**told, "counts": counts})
    return counts


class _Export:
    """One archive being written."""

    def __init__(self, connection: Connection, writer: ArchiveWriter, drill_id: str | None) -> None:
        self.connection, self.writer, self.drill_id = connection, writer, drill_id

    def write(self, kind: Kind) -> int:
        """Write the list of a kind and the members of its records; return the number of records."""
        entries = (entry for rows in self._pages(kind) for entry in self._outgoing(kind, rows))
        count = self.writer.add_list(f"records/{kind.name}.json", entries)
        for rows in self._pages(kind):
            for name, content in kind.members(self.connection, rows):
                self.writer.add_json(name, content)
            self._write_files(kind, rows)
        return count

    def write_along(self, kind: Kind) -> None:
        """Write the members of a kind that belong to the records of other kinds."""
        for other, members in kind.along.items():
            for rows in self._pages(KINDS[other]):
                for name, content in members(self.connection, rows):
                    self.writer.add(name, content)

    def _pages(self, kind: Kind) -> Iterator[Rows]:
        """Yield the rows of a kind a page at a time, without columns that have their own member."""
        table, last = kind.table, ""
        belongs = None if self.drill_id is None else _of_drill(kind, self.drill_id)
        if self.drill_id is not None and belongs is None:
            return
        columns = [column for column in table.c if column.name not in kind.unwritten()]
        while True:
            query = select(*columns).where(table.c.id > last).order_by(table.c.id).limit(_PAGE)
            if belongs is not None:
                query = query.where(belongs & table.c.deletion_id.is_(None))
            rows = [dict(row) for row in self.connection.execute(query).mappings()]
            yield rows
            if len(rows) < _PAGE:
                return
            last = rows[-1]["id"]

    def _outgoing(self, kind: Kind, records: Rows) -> Rows:
        """Return a page of records in the form of the archive; for one drill, without what is left out."""
        kind.outgoing(self.connection, records)
        if self.drill_id is not None:
            for record in records:
                _leave_ours(kind, record)
        return records

    def _write_files(self, kind: Kind, records: Rows) -> None:
        kept = kind.file
        if kept is None:
            return
        column, content = kept.table.c[kept.column], kept.table.c.content
        for some in _by_size(records):
            chosen = column.in_([record["id"] for record in some])
            rows = self.connection.execute(select(column, content).where(chosen))
            contents = {row[0]: bytes(row[1]) for row in rows}
            for record in some:
                self.writer.add(f"{kind.name}/{kind.file_name(record)}", contents.pop(record["id"]))


def _of_drill(kind: Kind, drill_id: str) -> ColumnElement[bool] | None:
    """Return the condition for rows of a kind that are exported with one drill; None: none of them."""
    if kind is DRILLS:
        return kind.table.c.id == drill_id
    if not kind.goes_with:
        return None
    whole = KINDS[kind.refers[kind.goes_with]]
    condition = _of_drill(whole, drill_id)
    if condition is None:
        return None
    return kind.table.c[kind.goes_with].in_(select(whole.table.c.id).where(condition))


def _leave_ours(kind: Kind, record: Record) -> None:
    """Remove references to records that are not exported: people, courses, sites."""
    for name, to in kind.refers.items():
        field, inside, column = name.partition("[].")
        if not inside and _of_drill(KINDS[to], "") is None:
            record[name] = None
        elif inside and _of_drill(KINDS[to], "") is None:
            for one in record[field]:
                one[column] = None


def _by_size(records: Rows) -> Iterator[Rows]:
    """Yield records in groups whose files together fit into memory at a time."""
    some: Rows = []
    size = 0
    for record in records:
        if some and size + record["size_bytes"] > MOST_HELD_BYTES:
            yield some
            some, size = [], 0
        some.append(record)
        size += record["size_bytes"]
    if some:
        yield some
