"""Go through every record for a person: what is theirs, what names them, what may."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping
from typing import Any

from sqlalchemy import JSON, Connection, Table, Text, cast, select

from coldfield.errors import UnknownRecord
from coldfield.files.wording import TextPlace, Wording
from coldfield.records import schema
from coldfield.records.archive import FILES
from coldfield.records.forget.columns import Texts, texts_by_column
from coldfield.records.forget.contents import Mention, cleaned, mentions
from coldfield.records.forget.keys import Keys
from coldfield.records.forget.names import INSTEAD, Wanted, without
from coldfield.records.forget.plan import Plan
from coldfield.records.forget.scope import Scope
from coldfield.records.kinds import KINDS

Row = dict[str, Any]

MOST_PLACES = 3
"""Places told of one file. Setting."""

_MADE_BY_CHANCE = re.compile(r"[0-9a-f]{8}(-?[0-9a-f]{4}){3}-?[0-9a-f]{12}", re.IGNORECASE)
_FREE = (Wording.WORDS, Wording.ANYTHING)
_KIND_OF = {kind.table: kind.name for kind in KINDS.values()}
_ABOVE = {schema.drill_version: ("drills", "drill_id"), schema.run_searcher: ("runs", "run_id")}
"""Rows without a version of their own: whose they are."""


def look_through(connection: Connection, person_id: str) -> Plan:
    """Return what forgetting a person, deleted or not, would do; nothing is changed.

    Raises
    ------
    UnknownRecord
        If there is no such person.
    """
    return _Look(connection, person_id).all()


class _Look:
    def __init__(self, connection: Connection, person_id: str) -> None:
        self.connection = connection
        person = schema.person
        rows = connection.execute(select(person.c.id, person.c.name, person.c.contact)).all()
        me = next((row for row in rows if row.id == person_id), None)
        if me is None:
            raise UnknownRecord(f"there is no person '{person_id}'")
        others = [(row.name, row.contact) for row in rows if row.id != person_id]
        self.wanted = Wanted(me.name, me.contact, others)
        self.plan = Plan(self.wanted, person_id)
        self.scope = Scope(connection, person_id, self.wanted)

    def all(self) -> Plan:
        self._tracks()
        self._grids()
        self._debriefs()
        self._person()
        self.keys = Keys(self.connection, self.wanted, self.scope)
        for table, columns in texts_by_column().items():
            if table not in (schema.original, schema.grid_file, schema.phase, schema.forgotten):
                self._table(table, columns)
        self._links()
        self.plan.end()
        return self.plan

    # --- what is theirs ---------------------------------------------------------------------------------

    def _tracks(self) -> None:
        for row, content in self._files("tracks"):
            if self.scope.is_my_track(row):
                self.plan.go("tracks", [row["id"]])
                self.scope.my_runs.add(row["run_id"])
                continue
            stem = row["file_name"].rpartition(".")[0] or row["file_name"]
            named = [Mention("its name", hit.sure) for hit in self.wanted.hits(stem)]
            found = mentions(content, self.wanted)
            filed = row["searcher"] is not None or any(json.loads(row["parts"]))
            meant = self.scope.meant(schema.track, row)
            if not filed and meant and any(one.sure for one in [*named, *found]):
                self.plan.go("tracks", [row["id"]])
                self.scope.my_runs.add(row["run_id"])
            elif found:
                self._named_in_file("tracks", row, content, found, meant=meant)
            elif not filed and named:
                self.plan.look(f"track {row['id']}: its file mentions this name ({named[0].place})")
        self.plan.count(
            self.plan.done.removed, "tracks, with their files", len(self.plan.gone.get("tracks", ()))
        )

    def _grids(self) -> None:
        for row, content in self._files("grids"):
            if found := mentions(content, self.wanted):
                meant = self.scope.meant(schema.grid, row)
                self._named_in_file("grids", row, content, found, meant=meant)

    def _named_in_file(
        self, kind: str, row: Row, content: bytes, found: list[Mention], *, meant: bool
    ) -> None:
        """Take the name out of a file that is not theirs, or tell where it stands there."""
        one = f"{KINDS[kind].table.name} {row['id']}"
        named = meant and any(mention.sure for mention in found)
        if named and cleaned(content, row["file_name"], self.wanted) is not None:
            self.plan.files.append((kind, row["id"]))
            self.plan.touch(kind, row["id"])
            self.plan.count(self.plan.done.made_anonymous, "files that mentioned the person")
            if kind == "tracks":
                self.plan.look(f"{one}: is somebody else's, and its file named this person; see whose it is")
            found = [mention for mention in found if not mention.sure]
        for mention in found[:MOST_PLACES]:
            if mention.sure:
                self.plan.look(f"{one}: its file mentions this name ({mention.place})")
            else:
                self.plan.look(f"{one}: its file may mean this person ({mention.place})")

    def _files(self, kind: str) -> Iterator[tuple[Row, bytes]]:
        """Give each record of a kind with its file, one file in memory at a time."""
        files, column = FILES[kind]
        table = KINDS[kind].table
        for row in self._rows(table):
            query = select(files.c.content).where(files.c[column] == row["id"])
            yield row, bytes(self.connection.execute(query).scalar_one())

    def _debriefs(self) -> None:
        gone = [row["id"] for row in self._rows(schema.debrief) if row["run_id"] in self.scope.my_runs]
        self.plan.go("debriefs", gone)
        words = "debriefs made from them; make them anew from what is left"
        self.plan.count(self.plan.done.removed, words, len(gone))

    def _person(self) -> None:
        part = schema.participant
        mine = select(part.c.id).where(part.c.person_id == self.plan.person_id)
        entries = self.connection.execute(mine).scalars().all()
        self.plan.go("participants", entries)
        self.plan.count(self.plan.done.removed, "entries in courses", len(entries))
        self.plan.go("people", [self.plan.person_id])
        self.plan.count(self.plan.done.removed, "entry of the person")

    def _links(self) -> None:
        runs = self.scope.part_in
        for run_id in runs:
            self.plan.touch("runs", run_id)
        self.plan.count(self.plan.done.made_anonymous, "runs", sum(len(mine) for mine in runs.values()))
        for kit_id in self.scope.my_kit:
            self.plan.touch("kit", kit_id)
        words = "pieces of kit, without owner now"
        self.plan.count(self.plan.done.made_anonymous, words, len(self.scope.my_kit))

    # --- what names them ----------------------------------------------------------------------------------

    def _rows(self, table: Table) -> Iterator[Row]:
        """Give every row, documents as text: most need not be taken apart."""
        columns = [
            cast(column, Text).label(column.name) if isinstance(column.type, JSON) else column
            for column in table.c
        ]
        query = select(*columns).execution_options(yield_per=200)
        for row in self.connection.execute(query).mappings():
            yield {str(name): value for name, value in row.items()}

    def _table(self, table: Table, columns: Mapping[str, Texts]) -> None:
        gone = self.plan.gone.get(_KIND_OF.get(table, ""), set())
        for row in self._rows(table):
            if row.get("id") in gone:
                continue
            for name, texts in columns.items():
                value = row[name]
                if texts and isinstance(value, str) and self._worth_a_look(table, row, value, texts):
                    self._column(table, row, name, texts)

    def _worth_a_look(self, table: Table, row: Row, value: str, texts: Texts) -> bool:
        linked = table is schema.drill_version and bool(self.scope.searchers(row))
        return (linked and "name" in texts) or self.wanted.mentioned(value)

    def _column(self, table: Table, row: Row, name: str, texts: Texts) -> None:
        document = isinstance(table.c[name].type, JSON)
        old = json.loads(row[name]) if document else row[name]
        new = _Text(self, table, row, name, texts).cleaned(old, "", None)
        if new == old:
            return
        key = tuple(row[column.name] for column in table.primary_key)
        self.plan.change(table, key, {name: new})
        kind, above = _ABOVE.get(table, (_KIND_OF.get(table, ""), "id"))
        self.plan.touch(kind, row[above])
        if table is schema.drill_version:
            words = "drill versions"
        elif table is schema.debrief:
            words = "debriefs of other people's runs"
        else:
            words = "notes and names that mentioned the person"
        self.plan.count(self.plan.done.made_anonymous, words)


class _Text:
    """Clean the texts of one column of one row."""

    def __init__(self, look: _Look, table: Table, row: Row, name: str, texts: Texts) -> None:
        self.look, self.table, self.row, self.name, self.texts = look, table, row, name, texts
        self.plan, self.wanted = look.plan, look.wanted
        self.meant = look.scope.meant(table, row)
        self.free = any(place.wording is Wording.ANYTHING for place in texts.values())

    def cleaned(self, value: Any, path: str, parent: Mapping[str, Any] | None, number: int = 0) -> Any:
        """Return a value of a document, or the column's own text, as it may stay."""
        if isinstance(value, dict):
            return {
                (self._words(key, "", None) if self.free else key): self.cleaned(
                    one, f"{path}.{key}" if path else key, value, number
                )
                for key, one in value.items()
            }
        if isinstance(value, list):
            return [self.cleaned(one, f"{path}[]", parent, i) for i, one in enumerate(value, start=1)]
        if not isinstance(value, str):
            return value
        place = self.texts.get("" if self.free else path)
        return self._text(value, path, place, parent, number)

    def _text(
        self,
        value: str,
        path: str,
        place: TextPlace | None,
        parent: Mapping[str, Any] | None,
        number: int,
    ) -> str:
        wording = place.wording if place else None
        if wording in (Wording.SEARCHER, Wording.BURIAL):
            return self._key(value, path, wording)
        if wording is Wording.NAME and self.table is schema.drill_version:
            return self._searcher(value, path, str((parent or {}).get("id")), number)
        if wording is Wording.ANYTHING:
            value = self.look.keys.renamed_anywhere(self.row, path, value)
        if wording in _FREE and place is not None:
            return self._words(value, path, place.most)
        hits = self.wanted.hits(value) if wording is not Wording.CODE else []
        if any(hit.sure for hit in hits):
            if wording is Wording.RECORD:
                self._id(value)
            else:
                self._look(path, sure=True)
        return value

    def _words(self, value: str, path: str, most: int | None) -> str:
        hits = self.wanted.hits(value)
        if any(not hit.sure for hit in hits):
            self._look(path, sure=False)
        if not any(hit.sure for hit in hits):
            return value
        if not self.meant:
            self._look(path, sure=True)
            return value
        return without(value, hits, INSTEAD, most)

    def _key(self, value: str, path: str, wording: Wording) -> str:
        new = self.look.keys.renamed(self.table, self.row, wording, value)
        if new is None:
            if hits := self.wanted.hits(value):
                self._look(path, sure=any(hit.sure for hit in hits))
            return value
        return new

    def _searcher(self, value: str, path: str, searcher: str, number: int) -> str:
        """Return what a searcher of a drill is called."""
        hits = self.wanted.hits(value)
        if searcher in self.look.scope.searchers(self.row):
            if hits or self.wanted.is_meant_by(value):
                return f"Searcher {number}"
            if value != f"Searcher {number}":
                name = json.loads(self.row[self.name])["name"]
                drill = without(name, self.wanted.hits(name))
                self.plan.look(f"drill '{drill}': the person was '{value}' there")
        elif any(hit.sure for hit in hits) and not self.wanted.shared:
            return f"Searcher {number}"
        elif hits:
            self._look(path, sure=any(hit.sure for hit in hits))
        return value

    def _id(self, value: str) -> None:
        # Ids of others that refer to this one say the same; the record itself is told once.
        if self.name == "id" and not _MADE_BY_CHANCE.fullmatch(value):
            self.plan.look(f"{self.table.name} {value}: its id holds this name, and stays")

    def _look(self, path: str, *, sure: bool) -> None:
        table = self.table.name.replace("_", " ")
        ids = " ".join(str(self.row[column.name]) for column in self.table.primary_key)
        place = ".".join(one for one in (self.name, path) if one).replace(".[]", "[]")
        if sure:
            self.plan.look(f"{table} {ids}: '{place}' mentions this name")
        else:
            self.plan.look(f"{table} {ids}: '{place}' may mean this person")
