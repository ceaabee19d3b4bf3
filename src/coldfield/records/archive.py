"""All records out into an open archive, and from one into an empty database."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from hashlib import sha256
from typing import Any

from pydantic import BaseModel, ConfigDict, Field, TypeAdapter, ValidationError
from sqlalchemy import Connection, Table, func, insert, select

from coldfield.drill.run import Split, Splits
from coldfield.errors import BadInput, ColdfieldError, Refused
from coldfield.files.drill_json import read_drill
from coldfield.files.faults import fault_lines
from coldfield.files.records_zip import ArchiveReader, ArchiveWriter
from coldfield.files.run_csv import write_splits
from coldfield.records import schema
from coldfield.records.forms import RecordId
from coldfield.records.kinds import KINDS, Kind
from coldfield.records.parts import read as read_parts
from coldfield.records.phases import phase_rows
from coldfield.records.store import STAMPS

_PAGE = 500
Batch = dict[Table, list[dict[str, Any]]]
"""Rows to write together, by table, in the order tables were first needed."""

_FILES: dict[str, tuple[Table, str]] = {
    "tracks": (schema.original, "track_id"),
    "grids": (schema.grid_file, "grid_id"),
}
"""Kinds whose files are kept as they came: the table of the files, and its column for the record."""

_LATER = ("grids",)
"""Kinds that an archive made by an earlier Coldfield does not have."""

STAMP = r"^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z$"


class Stamps(BaseModel):
    """What every record in an archive carries beside its fields."""

    model_config = ConfigDict(extra="forbid", strict=True)
    id: RecordId
    version: int = Field(ge=1, le=2_000_000_000)
    created_utc: str = Field(pattern=STAMP)
    changed_utc: str = Field(pattern=STAMP)
    deletion_id: RecordId | None


class DeletionRow(BaseModel):
    """A deletion that can still be undone."""

    model_config = ConfigDict(extra="forbid", strict=True)
    id: RecordId
    kind: str = Field(pattern=f"^({'|'.join(KINDS)})$")
    record_id: RecordId
    deleted_utc: str = Field(pattern=STAMP)


class VersionRow(BaseModel):
    """Where one version of a drill stands in the archive."""

    model_config = ConfigDict(extra="forbid", strict=True)
    number: int = Field(ge=1, le=1_000_000)
    created_utc: str = Field(pattern=STAMP)
    file: str


# --- out --------------------------------------------------------------------------------------------


def write_archive(connection: Connection, writer: ArchiveWriter, told: Mapping[str, Any]) -> dict[str, int]:
    """Write every record, deleted ones too; return how many there are of each kind.

    Parameters
    ----------
    connection : Connection
        A reading transaction: the archive is one consistent state.
    writer : ArchiveWriter
        Where it goes.
    told : mapping
        What else stands in the manifest.
    """
    counts = {}
    for kind in KINDS.values():
        records = [
            record
            for rows in _pages(connection, kind)
            for record in _outgoing(connection, writer, kind, rows)
        ]
        writer.add_json(f"records/{kind.name}.json", records)
        counts[kind.name] = len(records)
    deletion = schema.deletion
    rows = connection.execute(select(deletion).order_by(deletion.c.id)).mappings()
    writer.add_json("records/deletions.json", [dict(row) for row in rows])
    _write_split_files(connection, writer)
    writer.close({**told, "counts": counts})
    return counts


def _pages(connection: Connection, kind: Kind) -> Iterator[list[dict[str, Any]]]:
    table, last = kind.table, ""
    while True:
        query = select(table).where(table.c.id > last).order_by(table.c.id).limit(_PAGE)
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
    elif kind.name in _FILES:
        table, column = _FILES[kind.name]
        contents = connection.execute(
            select(table.c[column], table.c.content).where(table.c[column].in_(ids))
        )
        found = {row[0]: bytes(row.content) for row in contents}
    for record in records:
        if kind.name == "drills":
            record["versions"] = _write_versions(connection, writer, record["id"])
            del record["name"], record["drill_version"]
        elif kind.name in _FILES:
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


def _write_split_files(connection: Connection, writer: ArchiveWriter) -> None:
    """Write each run's splits and observations as the CSV that `coldfield debrief --splits` reads."""
    split, seen = schema.split, schema.observation
    rows: dict[str, list[Split]] = {}
    for row in connection.execute(select(split).where(split.c.deletion_id.is_(None))).mappings():
        keys = ("split", "searcher", "burial", "time_unix_s", "since_alarm_s", "note")
        rows.setdefault(row["run_id"], []).append(Split(**{key: row[key] for key in keys}))
    for row in connection.execute(select(seen).where(seen.c.deletion_id.is_(None))).mappings():
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


# --- in ---------------------------------------------------------------------------------------------


def read_archive(connection: Connection, reader: ArchiveReader) -> dict[str, int]:
    """Write every record of an archive into an empty database; return how many of each kind.

    Raises
    ------
    Refused
        If the database holds records.
    BadInput
        If a member is damaged or a record cannot be used; nothing is kept then.
    """
    for kind in KINDS.values():
        if connection.execute(select(func.count()).select_from(kind.table)).scalar_one():
            raise Refused(f"there are {kind.name} in these records; an import needs empty ones (see --data)")
    deletions = _checked(TypeAdapter(list[DeletionRow]), reader, "records/deletions.json")
    if deletions:
        connection.execute(insert(schema.deletion), [one.model_dump() for one in deletions])
    counts = {}
    for kind in KINDS.values():
        name = f"records/{kind.name}.json"
        if kind.name in _LATER and name not in reader.names():
            counts[kind.name] = 0
            continue
        records = reader.read_json(name)
        if not isinstance(records, list):
            raise BadInput(f"{name}: must be a list", reader.source)
        batch: Batch = {}
        for i, record in enumerate(records):
            try:
                _bring_in(batch, reader, kind, record)
            except BadInput as error:
                raise BadInput([f"{name}[{i}]: {fault}" for fault in error.faults], reader.source) from None
            if i % _PAGE == _PAGE - 1 or i == len(records) - 1:
                _insert(connection, batch)
        counts[kind.name] = len(records)
    return counts


def _checked(adapter: TypeAdapter[list[DeletionRow]], reader: ArchiveReader, name: str) -> list[DeletionRow]:
    try:
        return adapter.validate_python(reader.read_json(name))
    except ValidationError as error:
        raise BadInput(f"{name}: {error.error_count()} faults in its rows", reader.source) from None


def _insert(connection: Connection, batch: Batch) -> None:
    for table, rows in batch.items():
        if not rows:
            continue
        connection.execute(insert(table), rows)
    batch.clear()


def _bring_in(batch: Batch, reader: ArchiveReader, kind: Kind, record: Any) -> None:
    if not isinstance(record, dict):
        raise BadInput("must be an object")
    own = {key: value for key, value in record.items() if key not in STAMPS}
    stamps = _validated(Stamps, {key: value for key, value in record.items() if key in STAMPS})
    versions = _versions(own.pop("versions", None)) if kind.name == "drills" else []
    file = own.pop("file", None) if kind.name in (*_FILES, "debriefs") else None
    if kind.name == "drills":
        own["document"] = reader.read_json(versions[-1]["file"])
    if kind.name == "debriefs":
        own["document"] = reader.read_json(str(file))
    fields = _validated(kind.form, own).fields()
    row = {key: value for key, value in fields.items() if key in kind.table.c}
    if kind.name == "drills":
        row |= {"name": fields["document"]["name"], "drill_version": len(versions)}
    batch.setdefault(kind.table, []).append({**stamps.model_dump(), **row})
    if kind.name == "drills":
        batch.setdefault(schema.drill_version, []).extend(_incoming_versions(reader, stamps.id, versions))
    elif kind.name in _FILES:
        table, column = _FILES[kind.name]
        content = _incoming_file(reader, str(file), fields)
        batch.setdefault(table, []).append({column: stamps.id, "content": content})
    elif kind.name == "debriefs":
        batch.setdefault(schema.phase, []).extend(phase_rows(stamps.id, fields["document"]))
    elif kind.name == "runs" and fields["searchers"]:
        who = [{"run_id": stamps.id, "held_utc": fields["held_utc"], **one} for one in fields["searchers"]]
        batch.setdefault(schema.run_searcher, []).extend(who)


def _validated(form: type[BaseModel], value: Mapping[str, Any]) -> Any:
    try:
        return form.model_validate(value)
    except ValidationError as error:
        raise BadInput(fault_lines(error, form)) from None


def _versions(listed: Any) -> list[dict[str, Any]]:
    if not isinstance(listed, list) or not listed:
        raise BadInput("versions: must list at least one")
    for number, one in enumerate(listed, start=1):
        if _validated(VersionRow, one).number != number:
            raise BadInput(f"versions[{number - 1}].number: must be {number}")
    return listed


def _incoming_versions(
    reader: ArchiveReader, drill_id: str, versions: list[dict[str, Any]]
) -> Iterator[dict[str, Any]]:
    for one in versions:
        try:
            read_drill(reader.read(one["file"]).decode(), one["file"])
        except (ColdfieldError, UnicodeDecodeError) as error:
            raise BadInput(str(error)) from None
        row = {key: one[key] for key in ("number", "created_utc")}
        yield {"drill_id": drill_id, "document": reader.read_json(one["file"]), **row}


def _incoming_file(reader: ArchiveReader, file: str, fields: Mapping[str, Any]) -> bytes:
    content = reader.read(file)
    if sha256(content).hexdigest() != fields["sha256"] or len(content) != fields["size_bytes"]:
        raise BadInput("sha256: is not that of its file")
    return content
