"""Where the records show that a person is meant: their runs, courses, kit, and what belongs to those."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sqlalchemy import Connection, Table, select

from coldfield.records import schema
from coldfield.records.forget.names import Wanted
from coldfield.records.kind import Kind
from coldfield.records.kinds import KINDS, PEOPLE
from coldfield.records.kinds.drills import KIND as DRILLS
from coldfield.records.kinds.runs import KIND as RUNS


class Scope:
    """What is linked with a person.

    `part_in` are their runs with the searchers they were. `linked` has, by kind, the records that refer to
    them, and the records to which their own records refer: a participant's course, a track's run.
    """

    def __init__(self, connection: Connection, person_id: str, wanted: Wanted) -> None:
        self.person_id, self.shared = person_id, wanted.shared
        who, run = schema.run_searcher, schema.run
        self.part_in: dict[str, set[str]] = {}
        mine = select(who.c.run_id, who.c.searcher).where(who.c.person_id == person_id)
        for run_id, searcher in connection.execute(mine):
            self.part_in.setdefault(run_id, set()).add(searcher)
        self.linked: dict[str, set[str]] = {name: set() for name in KINDS}
        self.linked[RUNS.name] = set(self.part_in)
        self.drill_of: dict[str, str] = {}
        self._searchers: dict[tuple[str, int], set[str]] = {}
        runs = connection.execute(select(run.c.id, run.c.drill_id, run.c.drill_version))
        for run_id, drill_id, number in runs:
            self.drill_of[run_id] = drill_id
            if run_id in self.part_in:
                self._searchers.setdefault((drill_id, number), set()).update(self.part_in[run_id])
        self._drills = {self.drill_of[run_id] for run_id in self.part_in}
        self.linked[DRILLS.name] |= self._drills
        self.owned: dict[str, set[str]] = {name: set() for name in KINDS}
        for kind in KINDS.values():
            self._look_at(connection, kind)

    def _look_at(self, connection: Connection, kind: Kind) -> None:
        """Remember the records of a kind that refer to the person."""
        table = kind.table
        for column in people_columns(kind):
            rows = connection.execute(select(table).where(table.c[column] == self.person_id)).mappings()
            for row in rows:
                self.linked[kind.name].add(row["id"])
                if goes_with_person(kind, column):
                    self.owned[kind.name].add(row["id"])
                    self.link(kind, dict(row))

    def link(self, kind: Kind, row: Mapping[str, Any]) -> None:
        """Remember what a record of the person's own refers to."""
        for column, to in kind.refers.items():
            if to != PEOPLE.name and row.get(column) is not None:
                self.linked[to].add(row[column])

    def is_theirs(self, kind: Kind, row: Mapping[str, Any]) -> bool:
        """Return whether a record, or a part of it, is the person's own; the row as for `searchers`."""
        mine = self.part_in.get(row.get("run_id", ""), set())
        return row["id"] in self.owned[kind.name] or not mine.isdisjoint(kind.searchers(row))

    def meant(self, table: Table, row: Mapping[str, Any]) -> bool:
        """Return whether the name in a row means this person."""
        if not self.shared:
            return True
        for name, ids in self.linked.items():
            of = KINDS[name].table
            if table is of and row["id"] in ids:
                return True
            if any(row.get(column) in ids for column in _columns_to(table, of)):
                return True
        return False

    def meant_in_drill(self, drill_id: str) -> bool:
        """Return whether the name in a drill or its runs means this person."""
        return not self.shared or drill_id in self._drills

    def searchers(self, version: Mapping[str, Any]) -> set[str]:
        """Return which searchers of a drill version were the person."""
        return self._searchers.get((version["drill_id"], version["number"]), set())

    def drill(self, table: Table, row: Mapping[str, Any]) -> str | None:
        """Return the drill to which a row belongs, directly or through its run."""
        if "drill_id" in row:
            return str(row["drill_id"])
        return self.drill_of.get(row["run_id"]) if "run_id" in row else None


def people_columns(kind: Kind) -> list[str]:
    """Return the columns in which the records of a kind refer to people."""
    return [name for name, to in kind.refers.items() if to == PEOPLE.name and name in kind.table.c]


def goes_with_person(kind: Kind, column: str) -> bool:
    """Return whether a record is removed with the person to whom one of its columns refers."""
    return kind.personal or not kind.table.c[column].nullable


def _columns_to(table: Table, other: Table) -> list[str]:
    return [key.parent.name for key in table.foreign_keys if key.column is other.c.id]
