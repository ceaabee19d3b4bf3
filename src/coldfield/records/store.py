"""Write, read, list, delete and restore records within one transaction."""

from __future__ import annotations

import uuid
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from sqlalchemy import ColumnElement, Connection, RowMapping, Select, insert, select, tuple_, update

from coldfield.errors import BadInput, Conflict, Refused, UnknownRecord
from coldfield.message import Message, message
from coldfield.records import schema
from coldfield.records.forget.late import refuse_late, refuse_late_file
from coldfield.records.kind import KeptFile, Kind
from coldfield.records.kind import Record as Record
from coldfield.records.kinds import KINDS, kind_of, parts_of, references
from coldfield.records.kinds.drills import drill_document
from coldfield.records.stored import stored_model
from coldfield.records.words import holds_words

MOST_LISTED = 500


@dataclass(frozen=True, slots=True)
class Put:
    """The result of a write."""

    record: Record
    created: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Deletion:
    """One deletion: the kind and id of the deleted record, and when."""

    id: str
    kind: str
    record_id: str
    deleted_utc: str


class Store:
    """The records as one transaction sees them.

    Parameters
    ----------
    connection : Connection
        From `Database.read` or `Database.write`.
    now_utc : str
        The moment recorded with changes.
    """

    def __init__(self, connection: Connection, now_utc: str) -> None:
        self.connection = connection
        self.now_utc = now_utc

    def get(self, name: str, record_id: str) -> Record:
        """Return a record.

        Raises
        ------
        UnknownRecord
            If there is none, or it is deleted.
        """
        kind = kind_of(name)
        row = self._row(kind, record_id)
        if row is None:
            raise UnknownRecord(message("fault.no_record", kind=kind.one, id=record_id))
        if row["deletion_id"] is not None:
            raise UnknownRecord(_deleted(kind, row))
        return self._records(kind, [row], whole=True)[0]

    def page(
        self,
        name: str,
        *,
        where: Mapping[str, str] | None = None,
        find: str | None = None,
        after: str | None = None,
        limit: int = 100,
    ) -> list[Record]:
        """Return up to `limit` records that are not deleted, in the order of their kind.

        Parameters
        ----------
        name : str
            The kind.
        where : mapping of str to str, optional
            References that the records must have, such as ``{"course_id": ...}``, or other columns
            by which the kind can be narrowed.
        find : str, optional
            Words that the records must contain, all of them; not for kinds without words.
        after : str, optional
            The id of the last record on the previous page.
        limit : int
            At most 500.

        Raises
        ------
        UnknownRecord
            If `after` names no record.
        """
        kind = kind_of(name)
        table = kind.table
        columns = [column for column in table.c if column.name not in kind.heavy]
        query = select(*columns, *beside_lists(kind)).where(table.c.deletion_id.is_(None))
        for column, value in (where or {}).items():
            query = query.where(table.c[column] == value)
        if find and kind.words:
            query = query.where(holds_words(kind, find, self.connection.dialect))
        key = [table.c[kind.sort], table.c.id]
        if after is not None:
            last = self._row(kind, after)
            if last is None:
                raise UnknownRecord(message("fault.no_record_after", kind=kind.one, id=after))
            mark = (last[kind.sort], last["id"])
            query = query.where(tuple_(*key) < mark if kind.descending else tuple_(*key) > mark)
        order = [column.desc() for column in key] if kind.descending else key
        rows = self.connection.execute(query.order_by(*order).limit(min(limit, MOST_LISTED))).mappings().all()
        return self._records(kind, rows, whole=False)

    def put(self, name: str, record_id: str, fields: Mapping[str, Any], *, based_on: int | None) -> Put:
        """Create a record with an id chosen by its creator, or change it.

        The same write twice leaves one record and returns the same answer.

        Parameters
        ----------
        name : str
            The kind.
        record_id : str
            The record's id.
        fields : mapping
            The fields of the kind's form, checked.
        based_on : int or None
            The version on which the change is based; None for a new record.

        Raises
        ------
        Conflict
            If the stored record is not the version on which the change is based.
        BadInput
            If a reference points to no record.
        Refused
            If the record is deleted, or its id was forgotten with a person.
        """
        kind = kind_of(name)
        row = self._row(kind, record_id)
        if row is None:
            if based_on is not None:
                said = message("fault.no_record_to_change", kind=kind.one, id=record_id)
                raise Conflict(said, version=None, based_on=based_on)
            return Put(self._create(kind, record_id, fields), created=True)
        if row["deletion_id"] is not None:
            raise Refused(_deleted(kind, row))
        stored = self._records(kind, [row], whole=True)[0]
        fields = kind.settled(self.connection, fields, stored, self.now_utc)
        if all(stored[key] == value for key, value in fields.items()):
            return Put(stored, created=False)
        if based_on != row["version"]:
            said = (
                message("fault.another_there", kind=kind.one)
                if based_on is None
                else message("fault.changed_meanwhile", kind=kind.one)
            )
            raise Conflict(said, version=row["version"], based_on=based_on)
        return Put(self._change(kind, stored, fields), created=False)

    def _create(self, kind: Kind, record_id: str, fields: Mapping[str, Any]) -> Record:
        refuse_late(self.connection, kind, record_id, fields)
        self._check_references(kind, fields)
        fields = kind.settled(self.connection, fields, None, self.now_utc)
        columns = {key: value for key, value in fields.items() if key in kind.table.c}
        self.connection.execute(
            insert(kind.table).values(
                id=record_id,
                version=1,
                created_utc=self.now_utc,
                changed_utc=self.now_utc,
                deletion_id=None,
                **columns,
                **kind.derived(fields, None),
            )
        )
        kind.write(self.connection, record_id, fields, None, self.now_utc)
        return self._written(kind, record_id)

    def _change(self, kind: Kind, stored: Record, fields: Mapping[str, Any]) -> Record:
        refuse_late(self.connection, kind, stored["id"], fields)
        self._check_references(kind, fields, stored)
        columns = {key: value for key, value in fields.items() if key in kind.table.c}
        self.connection.execute(
            update(kind.table)
            .where(kind.table.c.id == stored["id"])
            .values(
                version=stored["version"] + 1,
                changed_utc=max(self.now_utc, stored["changed_utc"]),
                **columns,
                **kind.derived(fields, stored),
            )
        )
        kind.write(self.connection, stored["id"], fields, stored, self.now_utc)
        return self._written(kind, stored["id"])

    def _written(self, kind: Kind, record_id: str) -> Record:
        """Return what was written; a record that could not be read again is not kept."""
        record = self.get(kind.name, record_id)
        stored_model(kind).model_validate(record)
        for one in KINDS.values():
            if kind.name in one.follows:
                one.follows[kind.name](self.connection, record, self.now_utc)
        return record

    def _check_references(
        self, kind: Kind, fields: Mapping[str, Any], stored: Mapping[str, Any] | None = None
    ) -> None:
        faults = []
        kept = {one[1:] for one in references(kind, stored)} if stored is not None else set()
        for place, name, to, value in references(kind, fields):
            if value is None or (name, to, value) in kept:
                continue
            row = self._row(to, value)
            if row is None or row["deletion_id"] is not None:
                faults.append(message("fault.no_reference", kind=to.one, id=value).at(place))
        faults = faults or kind.faults(self.connection, fields)
        if faults:
            raise BadInput(faults)

    def delete(self, name: str, record_id: str, *, based_on: int | None = None) -> str:
        """Hide a record and its parts; return the deletion's id, with which it can be undone.

        Raises
        ------
        UnknownRecord
            If there is no such record.
        Conflict
            If `based_on` is given and the record has changed since.
        """
        kind = kind_of(name)
        row = self._row(kind, record_id)
        if row is None:
            raise UnknownRecord(message("fault.no_record", kind=kind.one, id=record_id))
        if row["deletion_id"] is not None:
            return str(row["deletion_id"])
        if based_on is not None and based_on != row["version"]:
            said = message("fault.changed_not_deleted", kind=kind.one)
            raise Conflict(said, version=row["version"], based_on=based_on)
        deletion_id = str(uuid.uuid4())
        self.connection.execute(
            insert(schema.deletion).values(
                id=deletion_id, kind=name, record_id=record_id, deleted_utc=self.now_utc
            )
        )
        self._mark(kind, [record_id], deletion_id)
        return deletion_id

    def _mark(self, kind: Kind, ids: Iterable[str], deletion_id: str) -> None:
        ids = list(ids)
        table = kind.table
        self.connection.execute(
            update(table)
            .where(table.c.id.in_(ids), table.c.deletion_id.is_(None))
            .values(deletion_id=deletion_id)
        )
        for part, column in parts_of(kind):
            child = part.table
            self.connection.execute(
                update(child)
                .where(child.c[column].in_(ids), child.c.deletion_id.is_(None))
                .values(deletion_id=deletion_id)
            )

    def keep_file(self, name: str, record_id: str, content: bytes) -> None:
        """Store the original bytes of a record's file; doing it again changes nothing."""
        kept = _kept_file(kind_of(name))
        refuse_late_file(self.connection, content)
        if self.connection.execute(self._file_of(kept, record_id)).first() is None:
            self.connection.execute(insert(kept.table).values({kept.column: record_id, "content": content}))

    def file(self, name: str, record_id: str) -> bytes:
        """Return the original bytes of a record's file.

        Raises
        ------
        UnknownRecord
            If there is no such record.
        """
        self.get(name, record_id)
        query = self._file_of(_kept_file(kind_of(name)), record_id)
        return bytes(self.connection.execute(query).scalar_one())

    def _file_of(self, kept: KeptFile, record_id: str) -> Select[Any]:
        return select(kept.table.c.content).where(kept.table.c[kept.column] == record_id)

    def drill_version(self, drill_id: str, number: int) -> dict[str, Any]:
        """Return a drill file as it was in one version, even if the drill has been deleted since.

        Raises
        ------
        UnknownRecord
            If there is no such version.
        """
        document = drill_document(self.connection, drill_id, number)
        if document is None:
            raise UnknownRecord(message("fault.no_version", n=number, id=drill_id))
        return document

    def deletions(self, limit: int = 100) -> list[Deletion]:
        """Return the latest deletions, newest first."""
        table = schema.deletion
        rows = self.connection.execute(
            select(table).order_by(table.c.deleted_utc.desc(), table.c.id.desc()).limit(limit)
        )
        return [Deletion(**row) for row in rows.mappings()]

    def undo(self, deletion_id: str) -> Record:
        """Undo a deletion; return the record that was deleted.

        Raises
        ------
        UnknownRecord
            If there is no such deletion, or it has been undone already.
        Refused
            If the record to which it belongs is itself deleted.
        """
        table = schema.deletion
        row = self.connection.execute(select(table).where(table.c.id == deletion_id)).mappings().first()
        if row is None:
            raise UnknownRecord(message("fault.no_deletion_left", id=deletion_id))
        kind = KINDS[row["kind"]]
        self._refuse_orphan(kind, row["record_id"])
        for one in KINDS.values():
            self.connection.execute(
                update(one.table).where(one.table.c.deletion_id == deletion_id).values(deletion_id=None)
            )
        self.connection.execute(table.delete().where(table.c.id == deletion_id))
        return self.get(kind.name, row["record_id"])

    def _refuse_orphan(self, kind: Kind, record_id: str) -> None:
        row = self._row(kind, record_id)
        if row is None:
            return
        for column in kind.belongs:
            whole = KINDS[kind.refers[column]]
            above = self._row(whole, row[column])
            if above is not None and above["deletion_id"] is not None:
                said = message("fault.whole_is_deleted", kind=whole.one, id=above["deletion_id"])
                raise Refused(said)

    def _row(self, kind: Kind, record_id: str) -> RowMapping | None:
        query = select(kind.table).where(kind.table.c.id == record_id)
        return self.connection.execute(query).mappings().first()

    def _records(self, kind: Kind, rows: Iterable[RowMapping], *, whole: bool) -> list[Record]:
        records = [dict(row) for row in rows]
        kind.read(self.connection, records, whole=whole)
        return records


def _deleted(kind: Kind, row: RowMapping) -> Message:
    return message("fault.is_deleted", kind=kind.one, id=row["deletion_id"])


def _kept_file(kind: Kind) -> KeptFile:
    if kind.file is None:
        raise UnknownRecord(message("fault.kind_without_file", kind=kind.one))
    return kind.file


def beside_lists(kind: Kind) -> list[ColumnElement[Any]]:
    """Return what other kinds add to each record in the lists of this one."""
    return [field.value.label(field.name) for one in KINDS.values() for field in one.lists.get(kind.name, ())]
