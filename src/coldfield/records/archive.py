"""Records out into an open archive: all of them, or one drill with its runs."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from sqlalchemy import ColumnElement, Connection, RowMapping, Table, select

from coldfield.drill.run import Split, Splits
from coldfield.files.records_zip import ArchiveWriter
from coldfield.files.run_csv import write_splits
from coldfield.records import schema
from coldfield.records.kinds import KINDS, Kind
from coldfield.records.parts import read as read_parts

_PAGE = 500

FILES: dict[str, tuple[Table, str]] = {
    "tracks": (schema.original, "track_id"),
    "grids": (schema.grid_file, "grid_id"),
}
"""Kinds whose files are kept as they came: the table of the files, and its column for the record."""

_OURS = ("site_id", "day_id", "person_id")
"""What a drill that is handed on refers to and leaves here: sites, courses, people."""


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
        records = [
            record
            for rows in _pages(connection, kind, drill_id)
            for record in _outgoing(connection, writer, kind, rows)
        ]
        if drill_id is not None:
            _leave_ours(records)
        writer.add_json(f"records/{kind.name}.json", records)
        counts[kind.name] = len(records)
    deletion = schema.deletion
    rows = connection.execute(select(deletion).order_by(deletion.c.id)).mappings()
    writer.add_json("records/deletions.json", [dict(row) for row in rows] if drill_id is None else [])
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


def _leave_ours(records: list[dict[str, Any]]) -> None:
    for record in records:
        for row in (record, *record.get("searchers", ())):
            row.update({key: None for key in _OURS if key in row})


def _pages(connection: Connection, kind: Kind, drill_id: str | None) -> Iterator[list[dict[str, Any]]]:
    table, last = kind.table, ""
    belongs = None if drill_id is None else _of_drill(table, drill_id)
    if drill_id is not None and belongs is None:
        return
    while True:
        query = select(table).where(table.c.id > last).order_by(table.c.id).limit(_PAGE)
        if belongs is not None:
            query = query.where(belongs)
        rows = [dict(row) for row in connection.execute(query).mappings()]
        yield rows
        if len(rows) < _PAGE:
            return
        last = rows[-1]["id"]


def _outgoing(
    connection: Connection, writer: ArchiveWriter, kind: Kind, records: list[dict[str, Any]]
) -> list[dict[str, Any]]:
    """Return a page of records as they stand in the archive; write the files that belong to them."""
    ids = [record["id"] for record in records]
    if kind.name == "runs":
        read_parts(connection, kind, records, whole=False)
    elif kind.name in FILES:
        table, column = FILES[kind.name]
        contents = connection.execute(
            select(table.c[column], table.c.content).where(table.c[column].in_(ids))
        )
        found = {row[0]: bytes(row.content) for row in contents}
    for record in records:
        if kind.name == "drills":
            record["versions"] = _write_versions(connection, writer, record["id"])
            del record["name"], record["drill_version"]
        elif kind.name in FILES:
            ending = record["file_name"].rpartition(".")[2].lower()
            usable = ending.isalnum() and ending.isascii()
            record["file"] = f"{kind.name}/{record['id']}.{ending if usable else 'bin'}"
            writer.add(record["file"], found[record["id"]])
        elif kind.name == "debriefs":
            record["file"] = f"debriefs/{record['id']}.json"
            writer.add_json(record["file"], record.pop("document"))
    return records


def _write_versions(connection: Connection, writer: ArchiveWriter, drill_id: str) -> list[dict[str, Any]]:
    table = schema.drill_version
    rows = connection.execute(select(table).where(table.c.drill_id == drill_id).order_by(table.c.number))
    versions = []
    for row in rows.mappings():
        file = f"drills/{drill_id}/{row['number']}.json"
        writer.add_json(file, row["document"])
        versions.append({"number": row["number"], "created_utc": row["created_utc"], "file": file})
    return versions


def _write_split_files(connection: Connection, writer: ArchiveWriter, drill_id: str | None) -> None:
    """Write each run's splits and observations as the CSV that `coldfield debrief --splits` reads."""
    rows: dict[str, list[Split]] = {}
    for row in _visible(connection, schema.split, drill_id):
        keys = ("split", "searcher", "burial", "time_unix_s", "since_alarm_s", "note")
        rows.setdefault(row["run_id"], []).append(Split(**{key: row[key] for key in keys}))
    for row in _visible(connection, schema.observation, drill_id):
        if row["time_unix_s"] is not None or row["since_alarm_s"] is not None:
            words = {True: "yes", False: "no", None: "noted"}[row["seen"]]
            note = f"{row['about']}: {words}" + (f" ({row['note']})" if row["note"] else "")
            rows.setdefault(row["run_id"], []).append(
                Split(
                    split="observation",
                    note=note,
                    **{key: row[key] for key in ("searcher", "burial", "time_unix_s", "since_alarm_s")},
                )
            )
    for run_id, splits in sorted(rows.items()):
        writer.add(f"runs/{run_id}/splits.csv", write_splits(_on_one_clock(splits)).encode())


def _visible(connection: Connection, table: Table, drill_id: str | None) -> Iterator[RowMapping]:
    belongs = None if drill_id is None else _of_drill(table, drill_id)
    query = select(table).where(table.c.deletion_id.is_(None) if belongs is None else belongs)
    yield from connection.execute(query).mappings()


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
