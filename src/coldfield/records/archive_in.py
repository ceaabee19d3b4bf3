"""Records in from an open archive: into empty ones, or beside what is there."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from hashlib import sha256
from typing import Any

from pydantic import BaseModel, ConfigDict, Field, TypeAdapter, ValidationError
from sqlalchemy import Connection, Row, Table, func, insert, select

from coldfield.errors import BadInput, ColdfieldError, Refused
from coldfield.files.drill_json import read_drill
from coldfield.files.faults import fault_lines
from coldfield.files.records_zip import ArchiveReader
from coldfield.records import schema
from coldfield.records.archive import FILES
from coldfield.records.forms import RecordId
from coldfield.records.kinds import KINDS, Kind
from coldfield.records.phases import phase_rows
from coldfield.records.store import STAMPS

_PAGE = 500
_MOST_FAULTS = 50
Batch = dict[Table, list[dict[str, Any]]]
"""Rows to write together, by table, in the order tables were first needed."""

_LATER = ("grids", "phones", "group_checks", "hidings", "day_items")
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


@dataclass(frozen=True, slots=True)
class Brought:
    """What an archive brings: how many records of each kind are new here, and how many were here already.

    `counts` are all that were written, deleted ones too; `new` leaves those out. `drills` and `runs` are
    the ids and names of the new ones.
    """

    counts: dict[str, int] = field(default_factory=dict)
    new: dict[str, int] = field(default_factory=dict)
    here: dict[str, int] = field(default_factory=dict)
    drills: list[dict[str, str]] = field(default_factory=list)
    runs: list[dict[str, str]] = field(default_factory=list)


def read_archive(connection: Connection, reader: ArchiveReader) -> dict[str, int]:
    """Write every record of an archive into an empty database; return how many of each kind.

    Raises
    ------
    Refused
        If the database holds records.
    BadInput
        If a member is damaged or a record cannot be used, with every fault; nothing is kept then.
    """
    for kind in KINDS.values():
        if connection.execute(select(func.count()).select_from(kind.table)).scalar_one():
            raise Refused(f"there are {kind.name} in these records; an import needs empty ones (see --data)")
    return bring_in(connection, reader).counts


def bring_in(connection: Connection, reader: ArchiveReader) -> Brought:
    """Write the records of an archive that are not here yet; what is here stays as it is.

    Raises
    ------
    BadInput
        If a member is damaged, a record cannot be used, or a run stands on a version of a drill that is
        not here, with every fault; nothing is kept then.
    Refused
        If a record would stand on one that is neither here nor in the archive.
    """
    _bring_deletions(connection, reader)
    brought = Brought()
    faults: list[str] = []
    for kind in KINDS.values():
        records = _listed(reader, kind)
        known = _known(connection, kind, records)
        drills = _drills_here(connection) if kind.name == "runs" and not faults else {}
        batch: Batch = {}
        written = 0
        for i, record in enumerate(records):
            if isinstance(record, dict) and record.get("id") in known:
                brought.here[kind.name] = brought.here.get(kind.name, 0) + 1
                continue
            try:
                _bring_in(batch, reader, kind, record)
            except BadInput as error:
                faults += [f"records/{kind.name}.json[{i}]: {fault}" for fault in error.faults]
                continue
            if kind.name == "runs" and not faults:
                missing = _version_missing(drills, batch[kind.table][-1])
                faults += [missing] if missing else []
            written += 1
            _tell(brought, kind, batch)
            if written % _PAGE == 0 and not faults:
                _insert(connection, batch)
        brought.counts[kind.name] = written
        if not faults:
            _insert(connection, batch)
    if faults:
        raise BadInput(faults[:_MOST_FAULTS], reader.source)
    return brought


def _listed(reader: ArchiveReader, kind: Kind) -> list[Any]:
    name = f"records/{kind.name}.json"
    if kind.name in _LATER and name not in reader.names():
        return []
    records = reader.read_json(name)
    if not isinstance(records, list):
        raise BadInput(f"{name}: must be a list", reader.source)
    return records


def _known(connection: Connection, kind: Kind, records: list[Any]) -> set[str]:
    ids = [one["id"] for one in records if isinstance(one, dict) and isinstance(one.get("id"), str)]
    found: set[str] = set()
    for start in range(0, len(ids), _PAGE):
        query = select(kind.table.c.id).where(kind.table.c.id.in_(ids[start : start + _PAGE]))
        found |= set(connection.execute(query).scalars())
    return found


def _bring_deletions(connection: Connection, reader: ArchiveReader) -> None:
    name, deletion = "records/deletions.json", schema.deletion
    rows = _checked(TypeAdapter(list[DeletionRow]), reader, name)
    known = set(connection.execute(select(deletion.c.id)).scalars())
    fresh = [one.model_dump() for one in rows if one.id not in known]
    if fresh:
        connection.execute(insert(deletion), fresh)


def _tell(brought: Brought, kind: Kind, batch: Batch) -> None:
    row = batch[kind.table][-1]
    if row["deletion_id"] is not None:
        return
    brought.new[kind.name] = brought.new.get(kind.name, 0) + 1
    if kind.name in ("drills", "runs"):
        named = brought.drills if kind.name == "drills" else brought.runs
        named.append({"id": row["id"], "name": row["name"]})


def _drills_here(connection: Connection) -> dict[str, Row[*tuple[Any, ...]]]:
    """Return id, name and newest version of every drill, by id."""
    drill = schema.drill
    rows = connection.execute(select(drill.c.id, drill.c.name, drill.c.drill_version))
    return {row.id: row for row in rows}


def _version_missing(drills: Mapping[str, Row[*tuple[Any, ...]]], run: Mapping[str, Any]) -> str | None:
    """A drill that is here stays as it is, so a run on a later version of it has nothing to stand on."""
    row = drills.get(run["drill_id"])
    if row is None or run["drill_version"] is None or run["drill_version"] <= row.drill_version:
        return None
    return (
        f"run '{run['name']}' is of version {run['drill_version']} of the drill '{row.name}', "
        f"which was changed differently here and has {row.drill_version}"
    )


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
    file = own.pop("file", None) if kind.name in (*FILES, "debriefs") else None
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
    elif kind.name in FILES:
        table, column = FILES[kind.name]
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
