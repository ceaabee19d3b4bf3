"""Where the records tell that a person is meant: their runs, courses, kit, and what belongs to those."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from sqlalchemy import Connection, Table, select

from coldfield.records import schema
from coldfield.records.forget.names import Wanted


class Scope:
    """What is linked with a person.

    `part_in` are their runs with the searchers they were; `my_runs` those and the ones that a track of
    theirs lies in.
    """

    def __init__(self, connection: Connection, person_id: str, wanted: Wanted) -> None:
        self.person_id, self.shared = person_id, wanted.shared
        who, run, kit = schema.run_searcher, schema.run, schema.kit
        self.part_in: dict[str, set[str]] = {}
        mine = select(who.c.run_id, who.c.searcher).where(who.c.person_id == person_id)
        for run_id, searcher in connection.execute(mine):
            self.part_in.setdefault(run_id, set()).add(searcher)
        self.my_runs = set(self.part_in)
        self.drill_of: dict[str, str] = {}
        self._searchers: dict[tuple[str, int], set[str]] = {}
        runs = connection.execute(select(run.c.id, run.c.drill_id, run.c.drill_version))
        for run_id, drill_id, number in runs:
            self.drill_of[run_id] = drill_id
            if run_id in self.part_in:
                self._searchers.setdefault((drill_id, number), set()).update(self.part_in[run_id])
        self._drills = {self.drill_of[run_id] for run_id in self.part_in}
        part = schema.participant
        courses = select(part.c.course_id).where(part.c.person_id == person_id)
        self._courses = set(connection.execute(courses).scalars())
        self.my_kit = set(connection.execute(select(kit.c.id).where(kit.c.owner_id == person_id)).scalars())

    def is_my_track(self, row: Mapping[str, Any]) -> bool:
        """Return whether a track, or a part of it, is the person's."""
        mine = self.part_in.get(row["run_id"], set())
        return row["person_id"] == self.person_id or not mine.isdisjoint(
            [row["searcher"], *json.loads(row["parts"])]
        )

    def meant(self, table: Table, row: Mapping[str, Any]) -> bool:
        """Return whether the name, where it stands in a row, means this person."""
        if not self.shared:
            return True
        theirs = (
            (schema.run, "run_id", self.my_runs),
            (schema.drill, "drill_id", self._drills),
            (schema.course, "course_id", self._courses),
            (schema.kit, "", self.my_kit),
        )
        return any(
            row["id" if table is of else column] in ids
            for of, column, ids in theirs
            if table is of or column in row
        )

    def meant_in_drill(self, drill_id: str) -> bool:
        """Return whether the name in a drill or its runs means this person."""
        return not self.shared or drill_id in self._drills

    def searchers(self, version: Mapping[str, Any]) -> set[str]:
        """Return the searchers of a drill version that the person was."""
        return self._searchers.get((version["drill_id"], version["number"]), set())

    def drill(self, table: Table, row: Mapping[str, Any]) -> str | None:
        """Return the drill that a row belongs to, by itself or through its run."""
        if "drill_id" in row:
            return str(row["drill_id"])
        return self.drill_of.get(row["run_id"]) if "run_id" in row else None
