"""Import from an open archive: into empty records, or beside existing ones.

Records are read a few hundred at a time and files a few megabytes at a time. Each must pass the same checks
as in the API, and exactly what was checked is written.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from hashlib import sha256
from itertools import islice
from typing import Annotated, Any

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, ValidationError
from sqlalchemy import Connection, Table, func, insert, select

from coldfield.errors import BadInput, Refused
from coldfield.files.faults import fault_lines, refusal
from coldfield.files.records_zip import ArchiveReader
from coldfield.message import Message, message
from coldfield.records import schema
from coldfield.records.archive import MOST_HELD_BYTES
from coldfield.records.archive_refers import References
from coldfield.records.checking import checked, read_form
from coldfield.records.forget.plan import forgotten_ids
from coldfield.records.forms import RecordId, Stamp
from coldfield.records.kind import Arriving, KeptFile, Kind
from coldfield.records.kinds import KINDS, PEOPLE
from coldfield.records.kinds.drills import KIND as DRILLS
from coldfield.records.kinds.runs import KIND as RUNS
from coldfield.records.tables import STAMPS

_PAGE = 500
_MOST_FAULTS = 50


def _a_kind(name: str) -> str:
    if name not in KINDS:
        raise refusal(message("fault.one_of_these", known=tuple(KINDS)))
    return name


class _Strict(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True)


class ArchiveStamps(_Strict):
    """What every record in an archive has in addition to its fields."""

    id: RecordId
    version: int = Field(ge=1, le=900_000_000)
    created_utc: Stamp
    changed_utc: Stamp
    deletion_id: RecordId | None


class DeletionRow(_Strict):
    """A deletion that can still be undone."""

    id: RecordId
    kind: Annotated[str, AfterValidator(_a_kind)]
    record_id: RecordId
    deleted_utc: Stamp


@dataclass(frozen=True, slots=True, kw_only=True)
class NamedRecord:
    """A record with its id and name."""

    id: str
    name: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BroughtIn:
    """What was imported, or would be: counts of new and of existing records by kind.

    Deleted records are not counted; `drills` and `runs` are the new ones.
    """

    new: dict[str, int]
    here: dict[str, int]
    drills: tuple[NamedRecord, ...]
    runs: tuple[NamedRecord, ...]


def read_archive(connection: Connection, reader: ArchiveReader) -> dict[str, int]:
    """Write every record of an archive into an empty database; return how many of each kind.

    Raises
    ------
    Refused
        If the database holds records.
    BadInput
        If a member is damaged or a record cannot be used, with every fault; nothing is written then.
    """
    for kind in KINDS.values():
        if connection.execute(select(func.count()).select_from(kind.table)).scalar_one():
            raise Refused(message("fault.records_there", kinds=kind.many))
    reading = _Import(connection, reader, keep=True)
    reading.run()
    return reading.counts


def bring_in(connection: Connection, reader: ArchiveReader, *, keep: bool = True) -> BroughtIn:
    """Write the records of an archive that do not exist yet; existing ones stay as they are.

    Parameters
    ----------
    connection : Connection
        From `Database.write`, or without `keep` from `Database.read`.
    reader : ArchiveReader
        The archive.
    keep : bool
        True: write. False: only check everything and report what would be written.

    Raises
    ------
    BadInput
        If a member is damaged, if a record cannot be used or refers to one that is neither here nor in
        the archive, or if a run uses a version of a drill that is not here; with every fault up to 50.
        The caller must then keep nothing.
    """
    return _Import(connection, reader, keep).run()


class _Import:
    """One archive being imported."""

    def __init__(self, connection: Connection, reader: ArchiveReader, keep: bool) -> None:
        self.connection, self.reader, self.keep = connection, reader, keep
        self.counts: dict[str, int] = {}
        self.new: Counter[str] = Counter()
        self.here: Counter[str] = Counter()
        self.named: dict[str, list[NamedRecord]] = {DRILLS.name: [], RUNS.name: []}
        self.faults: list[Message] = []
        self.around = Arriving(connection, reader)
        self.refers = References(self.around)
        self.batch: dict[Table, list[dict[str, Any]]] = {}
        self.held_bytes = 0

    def run(self) -> BroughtIn:
        self._deletions()
        for kind in KINDS.values():
            self._kind(kind)
        if self.faults:
            raise BadInput(self.faults[:_MOST_FAULTS], self.reader.source)
        return BroughtIn(
            new=dict(self.new),
            here=dict(self.here),
            drills=tuple(self.named[DRILLS.name]),
            runs=tuple(self.named[RUNS.name]),
        )

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
        self.counts[kind.name] = 0
        if not kind.from_the_first and name not in self.reader.names():
            return
        for first, entries in self._groups(name):
            places = [f"{name}[{number}]" for number in range(first, first + len(entries))]
            stamped = self._stamped(name, first, entries)
            self.faults += self.refers.note(kind, [(places[i], row["id"]) for i, row in stamped])
            forgotten = _forgotten(self.connection, kind, entries)
            for i, stamps in stamped:
                if self.refers.is_here(kind, stamps["id"]):
                    self.here[kind.name] += 1
                    continue
                if _is_forgotten(kind, entries[i], forgotten):
                    continue
                try:
                    self._record(kind, stamps, entries[i])
                except BadInput as error:
                    self.faults += [fault.at(places[i]) for fault in error.faults]
            self._write()

    def _groups(self, name: str) -> Iterator[tuple[int, list[Any]]]:
        entries, first = self.reader.each(name), 0
        # After many faults the rest is not checked.
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
        return self._usable(name, first, stamps, ArchiveStamps)

    def _usable(
        self, name: str, first: int, entries: list[Any], form: type[BaseModel]
    ) -> list[tuple[int, dict[str, Any]]]:
        usable = []
        for i, entry in enumerate(entries):
            try:
                usable.append((i, _validated(form, entry).model_dump()))
            except BadInput as error:
                self.faults += [fault.at(f"{name}[{first + i}]") for fault in error.faults]
        return usable

    def _record(self, kind: Kind, stamps: dict[str, Any], record: Mapping[str, Any]) -> None:
        own = {key: value for key, value in record.items() if key not in STAMPS}
        beside = kind.incoming(own, self.reader)
        fields = checked(kind.name, read_form(kind.name, own))
        faults = self.refers.faults(kind, stamps, fields, beside)
        if faults:
            raise BadInput(faults)
        row = {key: value for key, value in fields.items() if key in kind.table.c}
        row |= {**stamps, **kind.derived(fields, None), **beside.get("derived", {})}
        self._add(kind.table, row, beside.get("bytes", 0))
        for table, more, size in kind.rows_beside(stamps["id"], fields, beside, self.reader):
            self._add(table, more, size)
        if kind.file is not None:
            self._add_file(kind, kind.file, stamps["id"], fields, beside["file"])
        self._note(kind, row)

    def _note(self, kind: Kind, row: Mapping[str, Any]) -> None:
        """Count a record that was written, and remember the name of a drill or a run."""
        self.counts[kind.name] += 1
        if row["deletion_id"] is not None:
            return
        self.new[kind.name] += 1
        if kind.name in self.named:
            self.named[kind.name].append(NamedRecord(id=row["id"], name=row["name"]))

    def _add_file(
        self, kind: Kind, kept: KeptFile, record_id: str, fields: Mapping[str, Any], name: str
    ) -> None:
        content = self.reader.read(name)
        if sha256(content).hexdigest() != fields["sha256"] or len(content) != fields["size_bytes"]:
            raise BadInput(message("fault.other_file_sum").at("sha256"))
        if faults := kind.file_faults(fields, content):
            raise BadInput(faults)
        self._add(kept.table, {kept.column: record_id, "content": content}, len(content))

    def _add(self, table: Table, row: dict[str, Any], size: int = 0) -> None:
        """Add a row to the next batch; after a fault, or if nothing is written, no row is held."""
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
        raise BadInput(message("fault.an_object"))
    try:
        return form.model_validate(value)
    except ValidationError as error:
        raise BadInput(fault_lines(error, form)) from None


def _forgotten(connection: Connection, kind: Kind, records: list[Any]) -> tuple[set[str], set[str]]:
    """Return the ids of this kind that were forgotten here, and those of people named in its records."""
    rows = [one for one in records if isinstance(one, dict)]
    ids = {one["id"] for one in rows if isinstance(one.get("id"), str)}
    people = {
        where[column]
        for one in rows
        for where, column, _ in _named_people(kind, one)
        if isinstance(where.get(column), str)
    }
    return forgotten_ids(connection, kind.name, ids), forgotten_ids(connection, PEOPLE.name, people)


def _named_people(kind: Kind, record: dict[str, Any]) -> Iterator[tuple[dict[str, Any], str, bool]]:
    """Yield the objects in a record of an archive that may refer to a person, each with its key.

    The last value says whether the record belongs to nobody, or cannot exist, without that person.
    """
    for name, to in kind.refers.items():
        field, inside, column = name.partition("[].")
        if to != PEOPLE.name:
            continue
        if not inside:
            yield record, name, kind.personal or not kind.table.c[name].nullable
            continue
        listed = record.get(field)
        for one in listed if isinstance(listed, list) else ():
            if isinstance(one, dict):
                yield one, column, False


def _is_forgotten(kind: Kind, record: dict[str, Any], forgotten: tuple[set[str], set[str]]) -> bool:
    """Return whether a record is skipped; remove forgotten people from one that others need."""
    ids, people = forgotten
    if record.get("id") in ids:
        return True
    out = False
    for where, column, theirs in _named_people(kind, record) if people else ():
        if where.get(column) in people:
            where[column] = None
            out = out or theirs
    return out
