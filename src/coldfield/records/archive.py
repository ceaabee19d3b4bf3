"""Records out into an open archive: all of them, or one drill with its runs.

Records go through a page at a time and files a few megabytes at a time, however many there are.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from sqlalchemy import ColumnElement, Connection, RowMapping, Table, select

from coldfield.drill.run import Split, Splits
from coldfield.files.observed import observed_split
from coldfield.files.records_zip import ArchiveWriter
from coldfield.files.run_csv import write_splits
from coldfield.records import schema
from coldfield.records.kinds import KINDS, Kind
from coldfield.records.parts import read as read_parts

_PAGE = 200

MOST_HELD_BYTES = 8_000_000
"""How many bytes of files are read from the records, or written to them, in one go. Setting."""

FILES: dict[str, tuple[Table, str]] = {
    "tracks": (schema.original, "track_id"),
    "grids": (schema.grid_file, "grid_id"),
}
"""Kinds whose files are kept as they came: the table of the files, and its column for the record."""

_OURS = ("site_id", "day_id", "person_id")
"""What a drill that is handed on refers to and leaves here: sites, courses, people."""

Rows = list[dict[str, Any]]


def write_archive(
    connection: Connection, writer: ArchiveWriter, told: Mapping[str, Any], *, drill_id: str | None = None
) -> dict[str, int]:
    """Write every record, deleted ones too, or one drill with its runs; return how many of each kind.

    Parameters
    ----------
    connection : Connection
        A reading transaction: the archive is one consistent state.
    writer : ArchiveWriter
        Where it goes.
    told : mapping
        What else stands in the manifest.
    drill_id : str, optional
        Write this drill, its elevation grids and its runs with all that belongs to them, nothing that is
        deleted. People, courses and sites stay here; names in the drill itself go along.
    """
    counts = {}
    for kind in KINDS.values():
        entries = (
            record
            for rows in _pages(connection, kind, drill_id)
            for record in _outgoing(connection, kind, rows, ours=drill_id is None)
        )
        counts[kind.name] = writer.add_list(f"records/{kind.name}.json", entries)
        for rows in _pages(connection, kind, drill_id):
            _write_files(connection, writer, kind, rows)
    deletion = schema.deletion
    deletions = connection.execute(select(deletion).order_by(deletion.c.id)).mappings()
    writer.add_list("records/deletions.json", map(dict, deletions) if drill_id is None else ())
    _write_split_files(connection, writer, drill_id)
    writer.close({**told, "counts": counts})
    return counts


def _of_drill(table: Table, drill_id: str) -> ColumnElement[bool] | None:
    """Return which rows of a table belong to a drill; None: none of its kind do."""
    runs = select(schema.run.c.id).where(schema.run.c.drill_id == drill_id)
    if table is schema.drill:
        belongs = table.c.id == drill_id
    elif table is schema.group_check:
        # It tells of people and their own sets, not of the drill.
        return None
    elif "drill_id" in table.c:
        belongs = table.c.drill_id == drill_id
    elif "run_id" in table.c:
        belongs = table.c.run_id.in_(runs)
    else:
        return None
    return belongs & table.c.deletion_id.is_(None)


def _leave_ours(record: dict[str, Any]) -> None:
    for row in (record, *record.get("searchers", ())):
        row.update({key: None for key in _OURS if key in row})


def _pages(connection: Connection, kind: Kind, drill_id: str | None) -> Iterator[Rows]:
    """Give the rows of a kind a page at a time, debriefs without their documents."""
    table, last = kind.table, ""
    belongs = None if drill_id is None else _of_drill(table, drill_id)
    if drill_id is not None and belongs is None:
        return
    columns = [column for column in table.c if (table, column.name) != (schema.debrief, "document")]
    while True:
        query = select(*columns).where(table.c.id > last).order_by(table.c.id).limit(_PAGE)
        if belongs is not None:
            query = query.where(belongs)
        rows = [dict(row) for row in connection.execute(query).mappings()]
        yield rows
        if len(rows) < _PAGE:
            return
        last = rows[-1]["id"]


def _outgoing(connection: Connection, kind: Kind, records: Rows, *, ours: bool) -> Rows:
    """Return a page of records as they stand in the archive; without `ours` what stays here is left out."""
    if kind.name == "runs":
        read_parts(connection, kind, records, whole=False)
    for record in records:
        if kind.name == "drills":
            record["versions"] = _versions(connection, record["id"])
            del record["name"], record["drill_version"]
        elif kind.name in (*FILES, "debriefs"):
            record["file"] = _member(kind, record)
        if not ours:
            _leave_ours(record)
    return records


def _member(kind: Kind, record: Mapping[str, Any]) -> str:
    if kind.name == "debriefs":
        return f"debriefs/{record['id']}.json"
    ending = record["file_name"].rpartition(".")[2].lower()
    usable = ending.isalnum() and ending.isascii()
    return f"{kind.name}/{record['id']}.{ending if usable else 'bin'}"


def _versions(connection: Connection, drill_id: str) -> Rows:
    table = schema.drill_version
    query = select(table.c.number, table.c.created_utc).where(table.c.drill_id == drill_id)
    rows = connection.execute(query.order_by(table.c.number)).mappings()
    return [{**row, "file": f"drills/{drill_id}/{row['number']}.json"} for row in rows]


def _write_files(connection: Connection, writer: ArchiveWriter, kind: Kind, records: Rows) -> None:
    """Write the files that belong to a page of records."""
    if kind.name == "drills":
        table = schema.drill_version
        for record in records:
            query = select(table.c.number, table.c.document).where(table.c.drill_id == record["id"])
            for row in connection.execute(query.order_by(table.c.number)):
                writer.add_json(f"drills/{record['id']}/{row.number}.json", row.document)
    elif kind.name == "debriefs":
        table = schema.debrief
        for record in records:
            query = select(table.c.document).where(table.c.id == record["id"])
            writer.add_json(_member(kind, record), connection.execute(query).scalar_one())
    elif kind.name in FILES:
        table, column = FILES[kind.name]
        for some in _by_size(records):
            chosen = table.c[column].in_([record["id"] for record in some])
            rows = connection.execute(select(table.c[column], table.c.content).where(chosen))
            contents = {row[0]: bytes(row.content) for row in rows}
            for record in some:
                writer.add(_member(kind, record), contents.pop(record["id"]))


def _by_size(records: Rows) -> Iterator[Rows]:
    """Give records in groups whose files are together no larger than what is held at a time."""
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


def _write_split_files(connection: Connection, writer: ArchiveWriter, drill_id: str | None) -> None:
    """Write each run's splits and observations as the CSV that `coldfield debrief --splits` reads."""
    for runs in _pages(connection, KINDS["runs"], drill_id):
        ids = [run["id"] for run in runs]
        rows: dict[str, list[Split]] = {}
        for row in _visible(connection, schema.split, ids):
            keys = ("split", "searcher", "burial", "time_unix_s", "since_alarm_s", "note")
            rows.setdefault(row["run_id"], []).append(Split(**{key: row[key] for key in keys}))
        for row in _visible(connection, schema.observation, ids):
            if row["time_unix_s"] is not None or row["since_alarm_s"] is not None:
                rows.setdefault(row["run_id"], []).append(observed_split(dict(row)))
        for run_id, splits in sorted(rows.items()):
            writer.add(f"runs/{run_id}/splits.csv", write_splits(_on_one_clock(splits)).encode())


def _visible(connection: Connection, table: Table, runs: Sequence[str]) -> Iterator[RowMapping]:
    query = select(table).where(table.c.deletion_id.is_(None), table.c.run_id.in_(runs))
    yield from connection.execute(query.order_by(table.c.id)).mappings()


def _on_one_clock(splits: list[Split]) -> Splits:
    """Return splits in order of time, all absolute where the alarm's moment is known, else all relative."""
    alarms = [s.time_unix_s for s in splits if s.split == "alarm" and s.time_unix_s is not None]
    absolute = [s for s in splits if s.time_unix_s is not None]
    if alarms:
        zero = min(alarms)
        splits = [
            s
            if s.time_unix_s is not None
            else Split(
                split=s.split,
                searcher=s.searcher,
                burial=s.burial,
                time_unix_s=zero + (s.since_alarm_s or 0.0),
                note=s.note,
            )
            for s in splits
        ]
    elif absolute and len(absolute) < len(splits):
        # No alarm joins the two clocks: the CSV holds the absolute ones, the JSON all.
        splits = absolute
    key = "time_unix_s" if alarms or absolute else "since_alarm_s"
    return Splits(rows=tuple(sorted(splits, key=lambda s: (getattr(s, key), s.split))))
