"""The columns with texts, derived from the forms, so that nothing is listed twice."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache

from sqlalchemy import JSON, Column, LargeBinary, String, Table

from coldfield.files.wording import TextPlace, Wording, texts_of
from coldfield.records import schema
from coldfield.records.kind import Kind
from coldfield.records.kinds import KINDS

Texts = Mapping[str, TextPlace]
"""The texts of one column by their path in it; '' is the column itself."""

_RECORD, _CODE = TextPlace(Wording.RECORD), TextPlace(Wording.CODE)

_NO_KIND: Mapping[Table, Mapping[str, TextPlace]] = {
    schema.deletion: {"id": _RECORD, "kind": _CODE, "record_id": _RECORD, "deleted_utc": _CODE},
    schema.forgotten: {"digest": _CODE, "forgotten_utc": _CODE},
    schema.phone_code: {
        "id": _RECORD,
        "run_id": _RECORD,
        **dict.fromkeys(("may", "digest", "typed_digest", "created_utc", "until_utc"), _CODE),
    },
}
"""Tables that belong to no kind."""

_STAMPS = {"id": _RECORD, "created_utc": _CODE, "changed_utc": _CODE, "deletion_id": _RECORD}


def texts_by_column() -> Mapping[Table, Mapping[str, Texts]]:
    """Return each table's text columns with the texts in them, without columns of a few fixed words."""
    return _texts_by_column(tuple(KINDS.values()))


@cache
def _texts_by_column(kinds: tuple[Kind, ...]) -> Mapping[Table, Mapping[str, Texts]]:
    found: dict[Table, dict[str, dict[str, TextPlace]]] = {}
    for beside in (_NO_KIND, *(kind.texts_beside for kind in kinds)):
        for table, columns in beside.items():
            found.setdefault(table, {}).update({name: {"": place} for name, place in columns.items()})
    for kind in kinds:
        mine = found.setdefault(kind.table, {})
        mine |= {name: {"": place} for name, place in _STAMPS.items()}
        mine |= {name: {} for name in kind.form.model_fields if name in kind.table.c}
        for path, place in texts_of(kind.form).items():
            table, column, inner = _where(kind, path)
            found.setdefault(table, {}).setdefault(column, {})[inner] = place
    return found


def _where(kind: Kind, path: str) -> tuple[Table, str, str]:
    """Return the table, the column, and the path within the column for one text of a form."""
    field, _, inner = path.partition(".")
    table, column = kind.elsewhere.get(field.removesuffix("[]"), (kind.table, ""))
    if table is kind.table:
        field = field.partition("[]")[0]
        return table, field, path[len(field) :].removeprefix(".")
    return (table, column, inner) if column else (table, inner, "")


def whose(table: Table) -> tuple[Kind | None, str]:
    """Return the kind whose texts a table holds, and its column for the record.

    None for tables without data of their own, such as those recomputed from a record.
    """
    for kind in KINDS.values():
        if table is kind.table:
            return kind, "id"
        if any(table is beside for beside, _ in kind.elsewhere.values()):
            return kind, next(key.parent.name for key in table.foreign_keys if key.column is kind.table.c.id)
    return None, ""


def of_text(column: Column[object]) -> bool:
    """Return whether a column can hold text."""
    return isinstance(column.type, (String, JSON, LargeBinary))


def unclassified() -> list[str]:
    """Return the text columns that are not classified; a test requires that there are none."""
    known = texts_by_column()
    files = {kind.file.table.name for kind in KINDS.values() if kind.file is not None}
    return [
        f"{table.name}.{column.name}"
        for table in schema.metadata.sorted_tables
        for column in table.c
        if of_text(column)
        and column.name not in known.get(table, {})
        and not (isinstance(column.type, LargeBinary) and table.name in files)
    ]
