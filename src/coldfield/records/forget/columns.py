"""Which columns hold which texts, as the forms tell: nothing here is kept by hand that a form says."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache

from sqlalchemy import JSON, Column, LargeBinary, String, Table

from coldfield.files.wording import TextPlace, Wording, texts_of
from coldfield.records import schema
from coldfield.records.archive import FILES
from coldfield.records.kinds import KINDS, Kind

Texts = Mapping[str, TextPlace]
"""The texts of one column by their path in it; '' is the column itself."""

_SEARCHER, _BURIAL = TextPlace(Wording.SEARCHER), TextPlace(Wording.BURIAL)
_RECORD, _CODE = TextPlace(Wording.RECORD), TextPlace(Wording.CODE)

_ELSEWHERE: Mapping[tuple[str, str], tuple[Table, str]] = {
    ("drills", "document"): (schema.drill_version, "document"),
    ("runs", "searchers"): (schema.run_searcher, ""),
}
"""Fields of forms that are kept in a table of their own: in one column, or each in one of its name."""

_NO_FIELDS: Mapping[Table, Mapping[str, TextPlace]] = {
    schema.deletion: {"id": _RECORD, "kind": _CODE, "record_id": _RECORD, "deleted_utc": _CODE},
    schema.drill_version: {"drill_id": _RECORD, "created_utc": _CODE},
    schema.run_searcher: {"run_id": _RECORD, "held_utc": _CODE},
    schema.original: {"track_id": _RECORD},
    schema.grid_file: {"grid_id": _RECORD},
    schema.phase: {"debrief_id": _RECORD, "searcher": _SEARCHER, "burial": _BURIAL, "phase": _CODE},
    # Made from the tracks' files, and emptied with every forgetting.
    schema.track_measure: {"track_id": _RECORD, "measured_by": _CODE, "document": _CODE},
    schema.forgotten: {"digest": _CODE, "forgotten_utc": _CODE},
}
"""Columns that follow from others, or that no form has."""

_STAMPS = {"id": _RECORD, "created_utc": _CODE, "changed_utc": _CODE, "deletion_id": _RECORD}


@cache
def texts_by_column() -> Mapping[Table, Mapping[str, Texts]]:
    """Return for each table its columns of text, each with the texts in it; a few fixed words are none."""
    found: dict[Table, dict[str, dict[str, TextPlace]]] = {}
    for table, columns in _NO_FIELDS.items():
        found[table] = {name: {"": place} for name, place in columns.items()}
    for kind in KINDS.values():
        mine = found.setdefault(kind.table, {})
        mine |= {name: {"": place} for name, place in _STAMPS.items()}
        mine |= {name: {} for name in kind.form.model_fields if name in kind.table.c}
        for path, place in texts_of(kind.form).items():
            table, column, inner = _where(kind, path)
            found.setdefault(table, {}).setdefault(column, {})[inner] = place
    # A drill's name stands in its document, and beside it for its list.
    found[schema.drill]["name"] = {"": found[schema.drill_version]["document"]["name"]}
    return found


def _where(kind: Kind, path: str) -> tuple[Table, str, str]:
    """Return table, column and path within the column of one text of a form."""
    field, _, inner = path.partition(".")
    table, column = _ELSEWHERE.get((kind.name, field.removesuffix("[]")), (kind.table, ""))
    if table is kind.table:
        field = field.partition("[]")[0]
        return table, field, path[len(field) :].removeprefix(".")
    return (table, column, inner) if column else (table, inner, "")


def of_text(column: Column[object]) -> bool:
    """Return whether texts can stand in a column."""
    return isinstance(column.type, (String, JSON, LargeBinary))


def unclassified() -> list[str]:
    """Return the columns of text of which nothing tells what stands in them; a test wants none."""
    known = texts_by_column()
    files = {table.name for table, _ in FILES.values()}
    return [
        f"{table.name}.{column.name}"
        for table in schema.metadata.sorted_tables
        for column in table.c
        if of_text(column)
        and column.name not in known.get(table, {})
        and not (isinstance(column.type, LargeBinary) and table.name in files)
    ]
