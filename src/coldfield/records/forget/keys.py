"""Ids of searchers and burials that are the person's name: each gets one new id throughout a drill."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from typing import Any

from sqlalchemy import JSON, Connection, Table, Text, cast, select

from coldfield.files.wording import Wording
from coldfield.records.forget.columns import Texts, texts_by_column, whose
from coldfield.records.forget.names import Wanted
from coldfield.records.forget.scope import Scope

KEYS = (Wording.SEARCHER, Wording.BURIAL)
_Named = dict[tuple[str, Wording], set[str]]


class Keys:
    """New ids for those that name the person, by drill.

    A drill, its runs and what belongs to those use the same searchers and burials, even if the drill
    lacks one of them.
    """

    def __init__(self, connection: Connection, wanted: Wanted, scope: Scope) -> None:
        self._connection, self._wanted, self._scope = connection, wanted, scope
        self._new: dict[tuple[str, Wording], dict[str, str]] = {}
        named: _Named = {}
        for drill, wording, key in self._all(only_named=True):
            if scope.meant_in_drill(drill) and any(hit.sure for hit in wanted.hits(key)):
                named.setdefault((drill, wording), set()).add(key)
        if named:
            self._name_anew(named)

    def _name_anew(self, named: _Named) -> None:
        taken: _Named = {}
        for drill, wording, key in self._all(only_named=False):
            taken.setdefault((drill, wording), set()).add(key)
        for (drill, wording), keys in named.items():
            there = taken[drill, wording]
            free = (name for n in range(1, 10_000) if (name := f"{wording.value}-{n}") not in there)
            self._new[drill, wording] = dict(zip(sorted(keys), free, strict=False))

    def renamed(self, table: Table, row: Mapping[str, Any], wording: Wording, key: str) -> str | None:
        """Return the new id for one that names the person; None if it stays."""
        drill = self._scope.drill(table, row)
        return self._new.get((drill, wording), {}).get(key) if drill is not None else None

    def renamed_anywhere(self, row: Mapping[str, Any], path: str, text: str) -> str:
        """Return the new text for an id in a debrief: of a searcher, or of a burial if its path says so."""
        drill = self._scope.drill_of.get(row.get("run_id", ""), "")
        burial = "burial" in path.rpartition("[]")[2] or "burials[]" in path
        for wording in KEYS[::-1] if burial else KEYS:
            text = self._new.get((drill, wording), {}).get(text, text)
        return text

    def _all(self, *, only_named: bool) -> Iterator[tuple[str, Wording, str]]:
        """Yield every key with its drill, from all rows or from those whose texts mention the person."""
        for table, columns in texts_by_column().items():
            keyed = {
                name: texts
                for name, texts in columns.items()
                if any(place.wording in KEYS for place in texts.values())
            }
            if not keyed or whose(table)[0] is None:
                continue
            for row in self._rows(table, keyed):
                drill = self._scope.drill(table, row)
                for name, texts in keyed.items():
                    value = row[name]
                    if drill is None or value is None or (only_named and not self._wanted.mentioned(value)):
                        continue
                    document = isinstance(table.c[name].type, JSON)
                    for wording, key in _keys_in(json.loads(value) if document else value, "", texts):
                        yield drill, wording, key

    def _rows(self, table: Table, keyed: Mapping[str, Texts]) -> Iterator[dict[str, Any]]:
        columns = [
            cast(table.c[name], Text).label(name) if isinstance(table.c[name].type, JSON) else table.c[name]
            for name in keyed
        ]
        above = [table.c[name] for name in ("drill_id", "run_id") if name in table.c and name not in keyed]
        for row in self._connection.execute(select(*columns, *above)).mappings():
            yield {str(name): value for name, value in row.items()}


def _keys_in(value: Any, path: str, texts: Texts) -> Iterator[tuple[Wording, str]]:
    if isinstance(value, dict):
        for key, one in value.items():
            yield from _keys_in(one, f"{path}.{key}" if path else key, texts)
    elif isinstance(value, list):
        for one in value:
            yield from _keys_in(one, f"{path}[]", texts)
    elif isinstance(value, str) and path in texts and texts[path].wording in KEYS:
        yield texts[path].wording, value
