"""What records in an archive stand on: others in it, or others that are here."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from sqlalchemy import Connection, select

from coldfield.files.records_zip import ArchiveReader
from coldfield.records import schema
from coldfield.records.kinds import KINDS, Kind
from coldfield.records.parts import drill_document, run_faults

_PAGE = 500


class References:
    """The ids that an archive brings, and what of them is here.

    Parameters
    ----------
    connection : Connection
        The records.
    reader : ArchiveReader
        The archive.
    """

    def __init__(self, connection: Connection, reader: ArchiveReader) -> None:
        self.connection, self.reader = connection, reader
        self.brought: dict[str, set[str]] = {name: set() for name in KINDS}
        self.here: dict[str, set[str]] = {name: set() for name in KINDS}
        self.deletions: set[str] = set()
        self.versions: dict[str, list[str]] = {}
        self.searchers: dict[tuple[str, int], list[str]] = {}
        self.taking_part: set[tuple[str, str]] | None = None

    def note_deletions(self, ids: Sequence[str]) -> set[str]:
        """Take note of deletions in the archive; return those that are here, or stood there before."""
        table = schema.deletion
        known = set(self.connection.execute(select(table.c.id).where(table.c.id.in_(ids))).scalars())
        known |= {one for i, one in enumerate(ids) if one in self.deletions or one in ids[:i]}
        self.deletions.update(ids)
        return known

    def note(self, kind: Kind, placed: Sequence[tuple[str, str]]) -> list[str]:
        """Take note of records by their place and id; return a line for each id that stands twice."""
        faults = []
        ids = self.brought[kind.name]
        for place, record_id in placed:
            if record_id in ids:
                faults.append(f"{place}: id: '{record_id}' stands twice")
            ids.add(record_id)
        self._look(kind, [record_id for _, record_id in placed])
        return faults

    def is_here(self, kind: Kind, record_id: str) -> bool:
        """Return whether a record that was noted is here already."""
        return record_id in self.here[kind.name]

    def _look(self, kind: Kind, ids: Sequence[str]) -> None:
        query = select(kind.table.c.id).where(kind.table.c.id.in_(ids))
        self.here[kind.name].update(self.connection.execute(query).scalars())

    def faults(
        self,
        kind: Kind,
        stamps: Mapping[str, Any],
        fields: Mapping[str, Any],
        versions: Sequence[Mapping[str, Any]],
    ) -> list[str]:
        """Return what is wrong between a record and what it stands on."""
        found = []
        if stamps["deletion_id"] is not None and not self._is_deletion(stamps["deletion_id"]):
            found.append(f"deletion_id: there is no deletion '{stamps['deletion_id']}'")
        wanted = [(column, KINDS[to], fields[column]) for column, to in kind.refers.items()]
        wanted += [
            (f"searchers[{i}].person_id", KINDS["people"], one["person_id"])
            for i, one in enumerate(fields.get("searchers", ()))
        ]
        for place, to, value in wanted:
            if value is not None and not self._is_there(to, value):
                found.append(f"{place}: there is no {to.one} '{value}', neither here nor in the archive")
        if kind.name == "drills":
            self.versions[stamps["id"]] = [one["file"] for one in versions]
        if kind.name == "participants" and stamps["deletion_id"] is None:
            found += self._twice((fields["course_id"], fields["person_id"]))
        return found or (self._run_faults(fields) if kind.name == "runs" else [])

    def _is_deletion(self, deletion_id: str) -> bool:
        table = schema.deletion
        query = select(table.c.id).where(table.c.id == deletion_id)
        return deletion_id in self.deletions or self.connection.execute(query).first() is not None

    def _is_there(self, kind: Kind, record_id: str) -> bool:
        if record_id not in self.brought[kind.name] and record_id not in self.here[kind.name]:
            self._look(kind, [record_id])
        return record_id in self.brought[kind.name] or record_id in self.here[kind.name]

    def _twice(self, pair: tuple[str, str]) -> list[str]:
        if self.taking_part is None:
            table = schema.participant
            query = select(table.c.course_id, table.c.person_id).where(table.c.deletion_id.is_(None))
            self.taking_part = {(row.course_id, row.person_id) for row in self.connection.execute(query)}
        if pair in self.taking_part:
            return [f"person_id: '{pair[1]}' takes part in the course '{pair[0]}' already"]
        self.taking_part.add(pair)
        return []

    def _run_faults(self, fields: Mapping[str, Any]) -> list[str]:
        drill_id, number = fields["drill_id"], fields["drill_version"]
        found = [
            f"{name}: must be told of a run that was held"
            for name in ("drill_version", "held_utc")
            if fields[name] is None
        ]
        if found:
            return found
        files = self.versions.get(drill_id)
        if files is not None and number > len(files):
            return [f"drill_version: this drill has versions 1 to {len(files)}"]
        if files is None:
            drill = schema.drill
            query = select(drill.c.name, drill.c.drill_version).where(drill.c.id == drill_id)
            row = self.connection.execute(query).one_or_none()
            if row is None:
                # It stands in the archive and has a fault of its own, told by now.
                return []
            if number > row.drill_version:
                # A drill that is here stays as it is, so the run has nothing to stand on.
                return [
                    f"run '{fields['name']}' is of version {number} of the drill '{row.name}', "
                    f"which was changed differently here and has {row.drill_version}"
                ]
        return run_faults(fields, self._drill(drill_id, number, whole=fields["as_buried"] is not None))

    def _drill(self, drill_id: str, number: int, *, whole: bool) -> dict[str, Any]:
        """Return a drill file, or only who searches in it: so much is remembered of each version."""
        known = self.searchers.get((drill_id, number))
        if known is not None and not whole:
            return {"searchers": [{"id": one} for one in known]}
        files = self.versions.get(drill_id)
        document = (
            drill_document(self.connection, drill_id, number)
            if files is None
            else self.reader.read_json(files[number - 1], again=True)
        )
        document = document or {"searchers": []}
        self.searchers[drill_id, number] = [one["id"] for one in document["searchers"]]
        return document
