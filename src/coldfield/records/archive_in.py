"""Records in from an open archive: into empty ones, or beside what is there.

Records are read a few hundred at a time and files a few megabytes at a time. Each is held to what the API
holds it to, and what is checked is what is written.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from hashlib import sha256
from itertools import islice
from typing import Any

from pydantic import BaseModel, ConfigDict, Field, ValidationError
from sqlalchemy import Connection, Table, func, insert, select

from coldfield.errors import BadInput, ColdfieldError, Refused
from coldfield.files.faults import fault_lines
from coldfield.files.records_zip import ArchiveReader
from coldfield.records import schema
from coldfield.records.archive import FILES, MOST_HELD_BYTES
from coldfield.records.archive_refers import References
from coldfield.records.checking import checked, read_form
from coldfield.records.forget.plan import forgotten_ids
from coldfield.records.forms import RecordId, Stamp
from coldfield.records.kinds import KINDS, Kind
from coldfield.records.phases import phase_rows
from coldfield.records.store import STAMPS

_PAGE = 500
_MOST_FAULTS = 50

_LATER = ("grids", "phones", "group_checks", "hidings", "day_items")
"""Kinds that an archive made by an earlier Coldfield does not have."""


class _Strict(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True)


class Stamps(_Strict):
    """What every record in an archive carries beside its fields."""

    id: RecordId
    version: int = Field(ge=1, le=900_000_000)
    created_utc: Stamp
    changed_utc: Stamp
    deletion_id: RecordId | None


class DeletionRow(_Strict):
    """A deletion that can still be undone."""

    id: RecordId
    kind: str = Field(pattern=f"^({'|'.join(KINDS)})$")
    record_id: RecordId
    deleted_utc: Stamp


class VersionRow(_Strict):
    """Where one version of a drill stands in the archive."""

    number: int = Field(ge=1, le=1_000_000)
    created_utc: Stamp
    file: str


class Versions(_Strict):
    """The versions of a drill, the first one first."""

    versions: list[VersionRow] = Field(min_length=1)


class FileName(_Strict):
    """The member that holds a record's file."""

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


def bring_in(connection: Connection, reader: ArchiveReader, *, keep: bool = True) -> Brought:
    """Write the records of an archive that are not here yet; what is here stays as it is.

    Parameters
    ----------
    connection : Connection
        From `Database.write`, or without `keep` from `Database.read`.
    reader : ArchiveReader
        The archive.
    keep : bool
        Write; otherwise only check everything and tell what would be written.

    Raises
    ------
    BadInput
        If a member is damaged, a record cannot be used, stands on one that is neither here nor in the
        archive, or a run stands on a version of a drill that is not here, with every fault up to 50;
        nothing is to be kept then.
    """
    return _Import(connection, reader, keep).run()


class _Import:
    """One archive on its way in."""

    def __init__(self, connection: Connection, reader: ArchiveReader, keep: bool) -> None:
        self.connection, self.reader, self.keep = connection, reader, keep
        self.brought = Brought()
        self.faults: list[str] = []
        self.refers = References(connection, reader)
        self.batch: dict[Table, list[dict[str, Any]]] = {}
        self.held_bytes = 0

    def run(self) -> Brought:
        self._deletions()
        for kind in KINDS.values():
            self._kind(kind)
        if self.faults:
            raise BadInput(self.faults[:_MOST_FAULTS], self.reader.source)
        return self.brought

    def _deletions(self) -> None:
        name, table = "records/deletions.json", schema.deletion
        for first, entries in self._groups(name):
            rows = [row for _, row in self._usable(name, first, entries, DeletionRow)]
            here = self.refers.note_deletions([row["id"] for row in rows])
            gone = {
                (kind, one)
                for kind in {row["kind"] for row in rows}
                for one in forgotten_ids(
                    self.connection, kind, {row["record_id"] for row in rows if row["kind"] == kind}
                )
            }
            for row in rows:
                if row["id"] not in here and (row["kind"], row["record_id"]) not in gone:
                    self._add(table, row)
            self._write()

    def _kind(self, kind: Kind) -> None:
        name = f"records/{kind.name}.json"
        self.brought.counts[kind.name] = 0
        if kind.name in _LATER and name not in self.reader.names():
            return
        for first, entries in self._groups(name):
            places = [f"{name}[{number}]" for number in range(first, first + len(entries))]
            stamped = self._stamped(name, first, entries)
            self.faults += self.refers.note(kind, [(places[i], row["id"]) for i, row in stamped])
            forgotten = _forgotten(self.connection, kind, entries)
            for i, stamps in stamped:
                if self.refers.is_here(kind, stamps["id"]):
                    self.brought.here[kind.name] = self.brought.here.get(kind.name, 0) + 1
                    continue
                if _is_forgotten(entries[i], forgotten):
                    continue
                try:
                    self._record(kind, stamps, entries[i])
                except BadInput as error:
                    self.faults += [f"{places[i]}: {fault}" for fault in error.texts()]
            self._write()

    def _groups(self, name: str) -> Iterator[tuple[int, list[Any]]]:
        entries, first = self.reader.each(name), 0
        # With many faults found the rest is not looked at.
        while len(self.faults) < _MOST_FAULTS and (group := list(islice(entries, _PAGE))):
            yield first, group
            first += len(group)

    def _stamped(self, name: str, first: int, entries: list[Any]) -> list[tuple[int, dict[str, Any]]]:
        stamps = [
            {key: value for key, value in entry.items() if key in STAMPS}
            if isinstance(entry, dict)
            else entry
            for entry in entries
        ]
        return self._usable(name, first, stamps, Stamps)

    def _usable(
        self, name: str, first: int, entries: list[Any], form: type[BaseModel]
    ) -> list[tuple[int, dict[str, Any]]]:
        usable = []
        for i, entry in enumerate(entries):
            try:
                usable.append((i, _validated(form, entry).model_dump()))
            except BadInput as error:
                self.faults += [f"{name}[{first + i}]: {fault}" for fault in error.texts()]
        return usable

    def _record(self, kind: Kind, stamps: dict[str, Any], record: Mapping[str, Any]) -> None:
        own = {key: value for key, value in record.items() if key not in STAMPS}
        versions: list[dict[str, Any]] = []
        file, size = "", 0
        if kind.name == "drills":
            versions = _versions(own.pop("versions", None))
            own["document"] = self.reader.read_json(versions[-1]["file"])
        elif kind.name in FILES or kind.name == "debriefs":
            file = _validated(FileName, {"file": own.pop("file", None)}).file
        if kind.name == "debriefs":
            own["document"] = self.reader.read_json(file)
            size = self.reader.size(file)
        fields = checked(kind.name, read_form(kind.name, own))
        faults = self.refers.faults(kind, stamps, fields, versions)
        if faults:
            raise BadInput(faults)
        row = {key: value for key, value in fields.items() if key in kind.table.c}
        if kind.name == "drills":
            row |= {"name": fields["document"]["name"], "drill_version": len(versions)}
        self._add(kind.table, {**stamps, **row}, size)
        self._beside(kind, stamps["id"], fields, versions, file)
        self._tell(kind, stamps, row)

    def _beside(
        self, kind: Kind, record_id: str, fields: Mapping[str, Any], versions: list[dict[str, Any]], file: str
    ) -> None:
        """Add what is kept beside a record's own row."""
        if kind.name == "drills":
            for version in versions:
                told = {"number": version["number"], "created_utc": version["created_utc"]}
                document = self._drill_file(version["file"], fields)
                row = {"drill_id": record_id, **told, "document": document}
                self._add(schema.drill_version, row, self.reader.size(version["file"]))
        elif kind.name in FILES:
            table, column = FILES[kind.name]
            content = self.reader.read(file)
            if sha256(content).hexdigest() != fields["sha256"] or len(content) != fields["size_bytes"]:
                raise BadInput("sha256: is not that of its file")
            self._add(table, {column: record_id, "content": content}, len(content))
        elif kind.name == "debriefs":
            for row in phase_rows(record_id, fields["document"]):
                self._add(schema.phase, row)
        elif kind.name == "runs":
            for one in fields["searchers"]:
                who = {"run_id": record_id, "held_utc": fields["held_utc"], **one}
                self._add(schema.run_searcher, who)

    def _drill_file(self, file: str, fields: Mapping[str, Any]) -> Any:
        told = {"document": self.reader.read_json(file), "site_id": fields["site_id"]}
        try:
            return checked("drills", read_form("drills", told))["document"]
        except ColdfieldError as error:
            raise BadInput(f"{file}: {error}") from None

    def _tell(self, kind: Kind, stamps: Mapping[str, Any], row: Mapping[str, Any]) -> None:
        self.brought.counts[kind.name] += 1
        if stamps["deletion_id"] is not None:
            return
        self.brought.new[kind.name] = self.brought.new.get(kind.name, 0) + 1
        if kind.name in ("drills", "runs"):
            named = self.brought.drills if kind.name == "drills" else self.brought.runs
            named.append({"id": stamps["id"], "name": row["name"]})

    def _add(self, table: Table, row: dict[str, Any], size: int = 0) -> None:
        """Add a row to what is written next; with a fault found or nothing to keep, none is held."""
        if self.faults or not self.keep:
            return
        self.batch.setdefault(table, []).append(row)
        self.held_bytes += size
        if self.held_bytes > MOST_HELD_BYTES:
            self._write()

    def _write(self) -> None:
        if not self.faults:
            for table, rows in self.batch.items():
                self.connection.execute(insert(table), rows)
        self.batch.clear()
        self.held_bytes = 0


def _validated(form: type[BaseModel], value: Any) -> Any:
    if not isinstance(value, dict):
        raise BadInput("must be an object")
    try:
        return form.model_validate(value)
    except ValidationError as error:
        raise BadInput(fault_lines(error, form)) from None


def _versions(listed: Any) -> list[dict[str, Any]]:
    versions: list[dict[str, Any]] = _validated(Versions, {"versions": listed}).model_dump()["versions"]
    for number, one in enumerate(versions, start=1):
        if one["number"] != number:
            raise BadInput(f"versions[{number - 1}].number: must be {number}")
    return versions


_PEOPLE = ("person_id", "owner_id")


def _forgotten(connection: Connection, kind: Kind, records: list[Any]) -> tuple[set[str], set[str]]:
    """Return the ids of this kind that were forgotten here, and those of people its records name."""
    rows = [one for one in records if isinstance(one, dict)]
    rows += [who for one in rows for who in one.get("searchers") or () if isinstance(who, dict)]
    ids = {one["id"] for one in rows if isinstance(one.get("id"), str)}
    people = {one[key] for one in rows for key in _PEOPLE if isinstance(one.get(key), str)}
    return forgotten_ids(connection, kind.name, ids), forgotten_ids(connection, "people", people)


def _is_forgotten(record: dict[str, Any], forgotten: tuple[set[str], set[str]]) -> bool:
    """Return whether a record stays out; take forgotten people out of one that others need."""
    ids, people = forgotten
    if record.get("id") in ids:
        return True
    if not people:
        return False
    theirs = record.get("person_id") in people
    for row in (record, *(one for one in record.get("searchers") or () if isinstance(one, dict))):
        row.update({key: None for key in _PEOPLE if row.get(key) in people})
    return theirs
