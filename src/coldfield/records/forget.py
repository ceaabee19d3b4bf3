"""Forget a person: out of every table, every document, every track; say what was done.

What other people's records need stays, without the person: a group's run keeps its splits, its drill a
searcher without that name.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

from sqlalchemy import Column, ColumnElement, Connection, Table, delete, func, or_, select, update

from coldfield.errors import UnknownRecord
from coldfield.records import schema
from coldfield.records.kinds import KINDS

INSTEAD = "(forgotten person)"
"""What stands where the name stood."""

_PROSE: tuple[tuple[Table, str], ...] = tuple(
    (KINDS[kind].table, column)
    for kind, column in (
        ("people", "contact"),
        ("people", "notes"),
        ("kit", "label"),
        ("kit", "notes"),
        ("sites", "name"),
        ("sites", "notes"),
        ("courses", "name"),
        ("courses", "notes"),
        ("days", "notes"),
        ("drills", "name"),
        ("drills", "notes"),
        ("runs", "name"),
        ("runs", "notes"),
        ("splits", "note"),
        ("splits", "split"),
        ("observations", "about"),
        ("observations", "note"),
        ("tracks", "file_name"),
        ("grids", "file_name"),
        ("phones", "name"),
        ("phones", "keeper"),
        ("group_checks", "leader"),
        ("hidings", "by"),
        ("hidings", "set"),
    )
)

_TOLD: tuple[tuple[Table, str], ...] = (
    (schema.group_check, "checked"),
    (schema.hiding, "place"),
    (schema.day_item, "told"),
)
"""Values of several texts, in any of which a person may be named."""


@dataclass(slots=True)
class Forgotten:
    """What became of a person's traces.

    `removed` and `made_anonymous` count records by what they are; `to_look_at` names what mentions
    the same name but may mean somebody else.
    """

    removed: dict[str, int] = field(default_factory=dict)
    made_anonymous: dict[str, int] = field(default_factory=dict)
    to_look_at: list[str] = field(default_factory=list)


def forget_person(connection: Connection, person_id: str, now_utc: str) -> Forgotten:
    """Remove a person, deleted or not, and make anonymous what must stay.

    A name that another person of the records bears too is replaced only where the records tell that
    this person is meant; other mentions are listed in `to_look_at`.

    Raises
    ------
    UnknownRecord
        If there is no such person.
    """
    return _Forgetting(connection, person_id, now_utc).all()


class _Forgetting:
    def __init__(self, connection: Connection, person_id: str, now_utc: str) -> None:
        self.connection = connection
        self.person_id = person_id
        self.now_utc = now_utc
        self.done = Forgotten()
        person = schema.person
        query = select(person.c.name, person.c.contact).where(person.c.id == person_id)
        row = connection.execute(query).first()
        if row is None:
            raise UnknownRecord(f"there is no person '{person_id}'")
        self.name: str = row.name
        # A contact shorter than this is no address or number that stands for one person.
        self.words = [row.name, *([row.contact] if len(row.contact) >= 6 else [])]
        pattern = "|".join(re.escape(word) for word in sorted(self.words, key=len, reverse=True))
        self.word = re.compile(rf"(?<!\w)(?:{pattern})(?!\w)", re.IGNORECASE)
        others = select(person.c.name).where(person.c.id != person_id)
        self.shared = any(
            one.casefold() == self.name.casefold() for one in connection.execute(others).scalars()
        )
        who = schema.run_searcher
        mine = select(who.c.run_id, who.c.searcher).where(who.c.person_id == person_id)
        self.part_in: dict[str, set[str]] = {}
        for row in connection.execute(mine):
            self.part_in.setdefault(row.run_id, set()).add(row.searcher)

    def all(self) -> Forgotten:
        self._tracks()
        self._debriefs()
        self._drills()
        self._as_buried()
        self._links()
        self._prose()
        self._told()
        self._person()
        return self.done

    # --- what goes ----------------------------------------------------------------------------------

    def _tracks(self) -> None:
        track, original = schema.track, schema.original
        ids = set(
            self.connection.execute(select(track.c.id).where(track.c.person_id == self.person_id)).scalars()
        )
        loose = select(
            track.c.id,
            track.c.run_id,
            track.c.searcher,
            track.c.parts,
            track.c.file_name,
            original.c.content,
        )
        loose = loose.join(original, original.c.track_id == track.c.id).where(track.c.person_id.is_(None))
        for row in self.connection.execute(loose):
            mine = self.part_in.get(row.run_id, set())
            linked = not mine.isdisjoint([row.searcher, *row.parts])
            named = row.searcher is None and self._mentioned(row.file_name, row.content)
            if linked or (named and row.run_id in self.part_in) or (named and not self.shared):
                ids.add(row.id)
            elif named:
                self.done.to_look_at.append(f"track {row.id}: its file mentions this name")
        for part in _parts(ids):
            self.connection.execute(delete(original).where(original.c.track_id.in_(part)))
            self.connection.execute(delete(track).where(track.c.id.in_(part)))
        self._count(self.done.removed, "tracks, with their files", len(ids))

    def _mentioned(self, file_name: str, content: bytes) -> bool:
        text = content.decode("utf-8", errors="replace")
        return bool(self.word.search(file_name.rpartition(".")[0] or file_name) or self.word.search(text))

    def _debriefs(self) -> None:
        debrief = schema.debrief
        gone = []
        for row in self.connection.execute(select(debrief.c.id, debrief.c.run_id, debrief.c.document)):
            if row.run_id in self.part_in:
                gone.append(row.id)
            elif self.word.search(json.dumps(row.document, ensure_ascii=False)):
                if self.shared:
                    self.done.to_look_at.append(f"debrief {row.id}: mentions this name")
                else:
                    gone.append(row.id)
        for part in _parts(gone):
            self.connection.execute(delete(schema.phase).where(schema.phase.c.debrief_id.in_(part)))
            self.connection.execute(delete(debrief).where(debrief.c.id.in_(part)))
        self._count(self.done.removed, "debriefs made from them; make them anew from what is left", len(gone))

    # --- what stays, without the person -------------------------------------------------------------

    def _drills(self) -> None:
        table, run = schema.drill_version, schema.run
        mine = self._searchers_by_version()
        runs_of: dict[tuple[str, int], list[str]] = {}
        for row in self.connection.execute(select(run.c.id, run.c.drill_id, run.c.drill_version)):
            runs_of.setdefault((row.drill_id, row.drill_version), []).append(row.id)
        changed = 0
        versions = self.connection.execute(select(table.c.drill_id, table.c.number, table.c.document)).all()
        for drill_id, number, stored in versions:
            key = (drill_id, number)
            document, renamed = self._without_name(stored, mine.get(key, set()))
            if document == stored:
                continue
            changed += 1
            self.connection.execute(
                update(table)
                .where(table.c.drill_id == key[0], table.c.number == key[1])
                .values(document=document)
            )
            for old, new in renamed.items():
                self._rename_searcher(runs_of.get(key, []), old, new)
        self._count(self.done.made_anonymous, "drill versions", changed)

    def _searchers_by_version(self) -> dict[tuple[str, int], set[str]]:
        run, found = schema.run, dict[tuple[str, int], set[str]]()
        for part in _parts(self.part_in):
            query = select(run.c.id, run.c.drill_id, run.c.drill_version).where(run.c.id.in_(part))
            for row in self.connection.execute(query):
                found.setdefault((row.drill_id, row.drill_version), set()).update(self.part_in[row.id])
        return found

    def _without_name(
        self, document: dict[str, Any], mine: set[str]
    ) -> tuple[dict[str, Any], dict[str, str]]:
        renamed: dict[str, str] = {}
        searchers = []
        ids = {one["id"] for one in document["searchers"]}
        for number, one in enumerate(document["searchers"], start=1):
            meant = one["id"] in mine or not self.shared
            if meant and self.word.search(one["id"]):
                new = next(f"searcher-{n}" for n in range(number, number + 100) if f"searcher-{n}" not in ids)
                ids.add(new)
                renamed[one["id"]] = new
                one = {**one, "id": new}
            if meant and self.word.search(one["name"]):
                one = {**one, "name": f"Searcher {number}"}
            elif one["id"] in mine and one["name"] != f"Searcher {number}":
                self.done.to_look_at.append(
                    f"drill '{document['name']}': the person was '{one['name']}' there"
                )
            searchers.append(one)
        name = document["name"] if self.shared and not mine else self.word.sub(INSTEAD, document["name"])
        burials = self._sets_without_name(document["burials"], meant=bool(mine) or not self.shared)
        changed = {**document, "name": name[:200], "searchers": searchers, "burials": burials}
        return changed, renamed

    def _sets_without_name(self, burials: list[dict[str, Any]], *, meant: bool) -> list[dict[str, Any]]:
        """Return burials whose sets are not called after the person."""
        return [
            {**one, "set": self.word.sub(INSTEAD, one["set"])[:40]} if meant and one.get("set") else one
            for one in burials
        ]

    def _as_buried(self) -> None:
        run = schema.run
        query = select(run.c.id, run.c.as_buried).where(run.c.as_buried.is_not(None))
        for row in self.connection.execute(query).all():
            meant = row.id in self.part_in or not self.shared
            burials = self._sets_without_name(row.as_buried, meant=meant)
            if burials != row.as_buried:
                self.connection.execute(update(run).where(run.c.id == row.id).values(as_buried=burials))

    def _rename_searcher(self, runs: Iterable[str], old: str, new: str) -> None:
        tables = (schema.run_searcher, schema.split, schema.observation, schema.track)
        for table in tables:
            for part in _parts(runs):
                self.connection.execute(
                    update(table)
                    .where(table.c.run_id.in_(part), table.c.searcher == old)
                    .values(searcher=new)
                )
        track = schema.track
        for part in _parts(runs):
            for row in self.connection.execute(
                select(track.c.id, track.c.parts).where(track.c.run_id.in_(part))
            ).all():
                if old in row.parts:
                    parts = [new if one == old else one for one in row.parts]
                    self.connection.execute(update(track).where(track.c.id == row.id).values(parts=parts))

    def _links(self) -> None:
        for table, column, words in (
            (schema.run_searcher, "person_id", "runs"),
            (schema.kit, "owner_id", "pieces of kit, without owner now"),
        ):
            found = self.connection.execute(
                update(table).where(table.c[column] == self.person_id).values({column: None})
            )
            self._count(self.done.made_anonymous, words, found.rowcount)

    def _prose(self) -> None:
        changed = 0
        for table, column in _PROSE:
            likely: ColumnElement[bool] = or_(
                *(table.c[column].icontains(word, autoescape=True) for word in self.words)
            )
            if not "".join(self.words).isascii():
                # SQLite compares letters beyond ASCII exactly; Python below does not.
                likely = func.length(table.c[column]) >= min(map(len, self.words))
            for row in self.connection.execute(select(table).where(likely)).mappings().all():
                if not self.word.search(row[column]) or (
                    table is schema.person and row["id"] == self.person_id
                ):
                    continue
                if self.shared and row.get("run_id", row["id"]) not in self.part_in:
                    self.done.to_look_at.append(f"{table.name} {row['id']}: '{column}' mentions this name")
                    continue
                changed += 1
                self._replace(table.c[column], row)
        self._count(self.done.made_anonymous, "notes and names that mentioned the person", changed)

    def _told(self) -> None:
        changed = 0
        for table, column in _TOLD:
            rows = self.connection.execute(select(table).where(table.c[column].is_not(None))).mappings().all()
            for row in rows:
                if not self.word.search(json.dumps(row[column], ensure_ascii=False)):
                    continue
                if self.shared and row["run_id"] not in self.part_in:
                    self.done.to_look_at.append(f"{table.name} {row['id']}: '{column}' mentions this name")
                    continue
                changed += 1
                told = self._without_words(row[column])
                self.connection.execute(update(table).where(table.c.id == row["id"]).values({column: told}))
        self._count(self.done.made_anonymous, "what phones told that mentioned the person", changed)

    def _without_words(self, value: Any) -> Any:
        """Return a value with the person's words replaced in each of its texts."""
        if isinstance(value, str):
            # The shortest text of an item holds 40 letters.
            return self.word.sub(INSTEAD, value)[: max(40, len(value))]
        if isinstance(value, dict):
            return {key: self._without_words(one) for key, one in value.items()}
        return [self._without_words(one) for one in value] if isinstance(value, list) else value

    def _replace(self, column: Column[Any], row: Any) -> None:
        most: dict[str, int] = {
            "label": 64,
            "split": 64,
            "set": 40,
            "keeper": 200,
            "leader": 200,
            "by": 200,
            "file_name": 120,
            "name": 200,
            "note": 200,
        }
        text = self.word.sub(INSTEAD, row[column.name])[: most.get(column.name, 10_000)]
        table = column.table
        self.connection.execute(
            update(table)
            .where(table.c.id == row["id"])
            .values({column.name: text, "version": row["version"] + 1, "changed_utc": self.now_utc})
        )

    def _person(self) -> None:
        part, person, deletion = schema.participant, schema.person, schema.deletion
        found = self.connection.execute(delete(part).where(part.c.person_id == self.person_id))
        self._count(self.done.removed, "entries in courses", found.rowcount)
        self.connection.execute(delete(person).where(person.c.id == self.person_id))
        self.connection.execute(
            delete(deletion).where(deletion.c.kind == "people", deletion.c.record_id == self.person_id)
        )
        self._count(self.done.removed, "entry of the person", 1)

    def _count(self, into: dict[str, int], words: str, number: int) -> None:
        if number:
            into[words] = into.get(words, 0) + number


def _parts(ids: Iterable[str], size: int = 500) -> Iterable[list[str]]:
    """Give ids in parts that fit one statement."""
    listed = sorted(ids)
    return (listed[i : i + size] for i in range(0, len(listed), size))
