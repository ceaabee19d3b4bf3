"""The references of records in an archive: to others in it, or to existing records."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from sqlalchemy import select

from coldfield.message import Message, message
from coldfield.records import schema
from coldfield.records.kind import Arriving, Beside, Kind
from coldfield.records.kinds import KINDS, references


class References:
    """The ids in an archive, and which of them already exist.

    Parameters
    ----------
    around : Arriving
        The archive, and the records into which it goes.
    """

    def __init__(self, around: Arriving) -> None:
        self.around, self.connection = around, around.connection
        self.brought: dict[str, set[str]] = {name: set() for name in KINDS}
        self.here: dict[str, set[str]] = {name: set() for name in KINDS}
        self.deletions: set[str] = set()
        self.taken: dict[str, set[tuple[Any, ...]]] = {}

    def note_deletions(self, ids: Sequence[str]) -> set[str]:
        """Remember deletions in the archive; return those that exist already or occur twice."""
        table = schema.deletion
        known = set(self.connection.execute(select(table.c.id).where(table.c.id.in_(ids))).scalars())
        known |= {one for i, one in enumerate(ids) if one in self.deletions or one in ids[:i]}
        self.deletions.update(ids)
        return known

    def note(self, kind: Kind, placed: Sequence[tuple[str, str]]) -> list[Message]:
        """Remember records by their place and id; return a fault for each id that occurs twice."""
        faults = []
        ids = self.brought[kind.name]
        for place, record_id in placed:
            if record_id in ids:
                faults.append(message("fault.stands_twice", id=record_id).at(place, "id"))
            ids.add(record_id)
        self._look(kind, [record_id for _, record_id in placed])
        return faults

    def is_here(self, kind: Kind, record_id: str) -> bool:
        """Return whether a remembered record exists already."""
        return record_id in self.here[kind.name]

    def _look(self, kind: Kind, ids: Sequence[str]) -> None:
        query = select(kind.table.c.id).where(kind.table.c.id.in_(ids))
        self.here[kind.name].update(self.connection.execute(query).scalars())

    def faults(
        self, kind: Kind, stamps: Mapping[str, Any], fields: Mapping[str, Any], beside: Beside
    ) -> list[Message]:
        """Return the faults in a record's references."""
        found = []
        if stamps["deletion_id"] is not None and not self._is_deletion(stamps["deletion_id"]):
            fault = message("fault.no_deletion", id=stamps["deletion_id"])
            found.append(fault.at("deletion_id"))
        for place, _, to, value in references(kind, fields):
            if value is not None and not self._is_there(to, value):
                fault = message("fault.no_reference_anywhere", kind=to.one, id=value)
                found.append(fault.at(place))
        if kind.unique and stamps["deletion_id"] is None:
            found += self._twice(kind, fields)
        return found or kind.arriving(self.around, stamps["id"], fields, beside)

    def _is_deletion(self, deletion_id: str) -> bool:
        table = schema.deletion
        query = select(table.c.id).where(table.c.id == deletion_id)
        return deletion_id in self.deletions or self.connection.execute(query).first() is not None

    def _is_there(self, kind: Kind, record_id: str) -> bool:
        if record_id not in self.brought[kind.name] and record_id not in self.here[kind.name]:
            self._look(kind, [record_id])
        return record_id in self.brought[kind.name] or record_id in self.here[kind.name]

    def _twice(self, kind: Kind, fields: Mapping[str, Any]) -> list[Message]:
        if kind.name not in self.taken:
            table = kind.table
            query = select(*(table.c[name] for name in kind.unique)).where(table.c.deletion_id.is_(None))
            self.taken[kind.name] = {tuple(row) for row in self.connection.execute(query)}
        values = tuple(fields[name] for name in kind.unique)
        if values in self.taken[kind.name]:
            said = tuple(f"{name} '{value}'" for name, value in zip(kind.unique, values, strict=True))
            return [message("fault.unique", kind=kind.one, values=said).at(kind.unique[-1])]
        self.taken[kind.name].add(values)
        return []
