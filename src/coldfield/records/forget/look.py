"""Search every record for a person: what is theirs, what names them, and what may name them."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping
from typing import Any

from sqlalchemy import JSON, Connection, Table, Text, cast, select

from coldfield.errors import UnknownRecord
from coldfield.files.own_words import own_words
from coldfield.files.wording import TextPlace, Wording
from coldfield.message import message
from coldfield.records import schema
from coldfield.records.forget.columns import Texts, texts_by_column, whose
from coldfield.records.forget.contents import Mention, cleaned, mentions
from coldfield.records.forget.keys import Keys
from coldfield.records.forget.names import INSTEAD, Wanted, without
from coldfield.records.forget.plan import Plan, parts_of
from coldfield.records.forget.scope import Scope, people_columns
from coldfield.records.kind import KeptFile, Kind
from coldfield.records.kinds import KINDS, PEOPLE
from coldfield.records.kinds.runs import KIND as RUNS

Row = dict[str, Any]

MOST_PLACES = 3
"""Most places reported for one file. Setting."""

_MADE_BY_CHANCE = re.compile(r"[0-9a-f]{8}(-?[0-9a-f]{4}){3}-?[0-9a-f]{12}", re.IGNORECASE)
_FREE = (Wording.WORDS, Wording.ANYTHING)


def look_through(connection: Connection, person_id: str) -> Plan:
    """Return what forgetting a person, deleted or not, would do; nothing changes.

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
            raise UnknownRecord(message("fault.no_record", kind=PEOPLE.one, id=person_id))
        others = [(row.name, row.contact) for row in rows if row.id != person_id]
        self.wanted = Wanted(me.name, me.contact, others)
        self.plan = Plan(self.wanted, person_id)
        self.scope = Scope(connection, person_id, self.wanted)

    def all(self) -> Plan:
        # First find what is theirs: it shows which runs and courses are, and so whom a shared name means.
        for kind in sorted(KINDS.values(), key=lambda kind: not kind.personal):
            self._theirs(kind)
        for kind in KINDS.values():
            self._with_them(kind)
        self.plan.go(PEOPLE.name, [self.plan.person_id])
        for kind in KINDS.values():
            self.plan.count(self.plan.done.removed, kind.removed_words or kind.many, self._gone(kind))
        self.keys = Keys(self.connection, self.wanted, self.scope)
        for table, columns in texts_by_column().items():
            owner, above = whose(table)
            if owner is not None or table is schema.deletion:
                self._table(table, columns, owner, above)
        self._links()
        self.plan.end()
        return self.plan

    # --- what is theirs ---------------------------------------------------------------------------------

    def _theirs(self, kind: Kind) -> None:
        """Remove the records that are the person's own, and search the files of the others."""
        if kind.file is None:
            self.plan.go(kind.name, self.scope.owned[kind.name])
            return
        for row, content in self._files(kind, kind.file):
            if self.scope.is_theirs(kind, row):
                self.plan.go(kind.name, [row["id"]])
                self.scope.link(kind, row)
                continue
            stem = row["file_name"].rpartition(".")[0] or row["file_name"]
            named = [Mention(message("place.file_name"), hit.sure) for hit in self.wanted.hits(stem)]
            found = mentions(content, self.wanted)
            # A personal file without a known owner may be theirs; its content decides.
            open_ = kind.personal and not any(kind.searchers(row))
            meant = self.scope.meant(kind.table, row)
            if open_ and meant and any(one.sure for one in [*named, *found]):
                self.plan.go(kind.name, [row["id"]])
                self.scope.link(kind, row)
            elif found:
                self._named_in_file(kind, row, content, found, meant=meant)
            elif open_ and named:
                said = message("note.forget_file_names", place=named[0].place)
                self.plan.look(said.at(f"{kind.table.name} {row['id']}"))

    def _with_them(self, kind: Kind) -> None:
        """Remove what was made from the person's records, and the parts of what is removed."""
        ids = kind.table.c.id
        if kind.made_from:
            source = kind.table.c[kind.made_from]
            mine = self.scope.linked[kind.refers[kind.made_from]]
            for part in parts_of(mine):
                self.plan.go(
                    kind.name, self.connection.execute(select(ids).where(source.in_(part))).scalars()
                )
        for column, to in kind.refers.items():
            if column in kind.table.c and (column in kind.belongs or not kind.table.c[column].nullable):
                for part in parts_of(self.plan.gone.get(to, ())):
                    there = select(ids).where(kind.table.c[column].in_(part))
                    self.plan.go(kind.name, self.connection.execute(there).scalars())

    def _gone(self, kind: Kind) -> int:
        return len(self.plan.gone.get(kind.name, ()))

    def _named_in_file(
        self, kind: Kind, row: Row, content: bytes, found: list[Mention], *, meant: bool
    ) -> None:
        """Remove the name from a file that is not theirs, or report where it is."""
        one = f"{kind.table.name} {row['id']}"
        named = meant and any(mention.sure for mention in found)
        if named and cleaned(content, row["file_name"], self.wanted) is not None:
            self.plan.files.append((kind.name, row["id"]))
            self.plan.touch(kind.name, row["id"])
            self.plan.count(self.plan.done.made_anonymous, message("term.forgotten.files_cleared"))
            if kind.personal:
                self.plan.look(message("note.forget_file_of_another").at(one))
            found = [mention for mention in found if not mention.sure]
        for mention in found[:MOST_PLACES]:
            if mention.sure:
                self.plan.look(message("note.forget_file_names", place=mention.place).at(one))
            else:
                self.plan.look(message("note.forget_file_may_mean", place=mention.place).at(one))

    def _files(self, kind: Kind, kept: KeptFile) -> Iterator[tuple[Row, bytes]]:
        """Yield each record of a kind with its file, one file in memory at a time."""
        for row in self._rows(kind.table):
            query = select(kept.table.c.content).where(kept.table.c[kept.column] == row["id"])
            yield row, bytes(self.connection.execute(query).scalar_one())

    def _links(self) -> None:
        """Remove the person from records that refer to them and stay."""
        part_in = self.scope.part_in
        for run_id in part_in:
            self.plan.touch(RUNS.name, run_id)
        parts = sum(map(len, part_in.values()))
        self.plan.count(self.plan.done.made_anonymous, RUNS.cleared_words or RUNS.many, parts)
        for kind in KINDS.values():
            if people_columns(kind):
                left = self.scope.linked[kind.name] - self.plan.gone.get(kind.name, set())
                for record_id in left:
                    self.plan.touch(kind.name, record_id)
                self.plan.count(self.plan.done.made_anonymous, kind.cleared_words or kind.many, len(left))

    # --- what names them ----------------------------------------------------------------------------------

    def _rows(self, table: Table) -> Iterator[Row]:
        """Yield every row with documents as text, because most need not be parsed."""
        columns = [
            cast(column, Text).label(column.name) if isinstance(column.type, JSON) else column
            for column in table.c
        ]
        query = select(*columns).execution_options(yield_per=200)
        for row in self.connection.execute(query).mappings():
            yield {str(name): value for name, value in row.items()}

    def _table(self, table: Table, columns: Mapping[str, Texts], kind: Kind | None, above: str) -> None:
        gone = self.plan.gone.get(kind.name, set()) if kind is not None else set()
        for row in self._rows(table):
            if kind is not None and row[above] in gone:
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
        kind, above = whose(table)
        if kind is None:
            return
        self.plan.touch(kind.name, row[above])
        words = kind.document_words if name in kind.form.as_given else None
        self.plan.count(self.plan.done.made_anonymous, words or message("term.forgotten.texts_cleared"))


class _Text:
    """Clean the texts of one column of one row."""

    def __init__(self, look: _Look, table: Table, row: Row, name: str, texts: Texts) -> None:
        self.look, self.table, self.row, self.name, self.texts = look, table, row, name, texts
        self.plan, self.wanted = look.plan, look.wanted
        self.meant = look.scope.meant(table, row)
        self.free = any(place.wording is Wording.ANYTHING for place in texts.values())
        shape = next((place.shape for place in texts.values() if place.shape), None)
        self.own = own_words(shape) if shape else None

    def cleaned(self, value: Any, path: str, parent: Mapping[str, Any] | None, number: int = 0) -> Any:
        """Return a value of a document, or the column's own text, in the form in which it may stay."""
        if isinstance(value, dict):
            return {
                self._key_of(below, key): self.cleaned(one, below, value, number)
                for key, one in value.items()
                for below in [f"{path}.{key}" if path else key]
            }
        if isinstance(value, list):
            return [self.cleaned(one, f"{path}[]", parent, i) for i, one in enumerate(value, start=1)]
        if not isinstance(value, str) or (self.own and self.own.is_code(path)):
            return value
        place = self.texts.get("" if self.free else path)
        return self._text(value, path, place, parent, number)

    def _key_of(self, path: str, key: str) -> str:
        if not self.free or (self.own and self.own.is_key(path)):
            return key
        return self._words(key, "", None)

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
        """Return the name of a searcher of a drill."""
        hits = self.wanted.hits(value)
        if searcher in self.look.scope.searchers(self.row):
            if hits or self.wanted.is_meant_by(value):
                return f"Searcher {number}"
            if value != f"Searcher {number}":
                name = json.loads(self.row[self.name])["name"]
                drill = without(name, self.wanted.hits(name))
                self.plan.look(message("note.forget_other_name_there", drill=drill, name=value))
        elif any(hit.sure for hit in hits) and not self.wanted.shared:
            return f"Searcher {number}"
        elif hits:
            self._look(path, sure=any(hit.sure for hit in hits))
        return value

    def _id(self, value: str) -> None:
        # Ids that refer to this record say the same; the record itself is reported once.
        if self.name == "id" and not _MADE_BY_CHANCE.fullmatch(value):
            self.plan.look(message("note.forget_id_holds").at(f"{self.table.name} {value}"))

    def _look(self, path: str, *, sure: bool) -> None:
        table = self.table.name.replace("_", " ")
        ids = " ".join(str(self.row[column.name]) for column in self.table.primary_key)
        place = ".".join(one for one in (self.name, path) if one).replace(".[]", "[]")
        if sure:
            self.plan.look(message("note.forget_names", place=place).at(f"{table} {ids}"))
        else:
            self.plan.look(message("note.forget_may_mean", place=place).at(f"{table} {ids}"))
