"""The records of a kind as a table: one line per record, columns from the form, names beside ids."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import partial
from types import NoneType
from typing import Any, get_args

from pydantic import BaseModel
from sqlalchemy import select

from coldfield.records.kind import Kind, Record
from coldfield.records.kinds import references
from coldfield.records.store import MOST_LISTED, Store


def as_table(store: Store, kind: Kind, **how: Any) -> Iterator[Sequence[Any]]:
    """Yield the headings, then a line for each record that is not deleted, in the order of the kind.

    Beside each reference is the name of the record, in a column without ``_id``. Each figure of an object has
    its own column. Fields left out of lists, and lists of objects that name nobody, are left out.

    Parameters
    ----------
    store : Store
        The records.
    kind : Kind
        The kind.
    how : dict
        As in `Store.page`: `where` and `find`.
    """
    columns = list(_columns(kind))
    yield ["id", *(head for head, _ in columns), "created_utc", "changed_utc"]
    names: dict[tuple[str, str], str] = {}
    after = None
    while rows := store.page(kind.name, after=after, limit=MOST_LISTED, **how):
        for record in rows:
            called = {
                place: _called(store, to, value, names) for place, _, to, value in references(kind, record)
            }
            cells = [read(record, called) for _, read in columns]
            yield [record["id"], *cells, record["created_utc"], record["changed_utc"]]
        after = rows[-1]["id"]


Read = Callable[[Record, Mapping[str, str]], Any]
"""Returns a cell from a record and the names of its references, by place."""


def _columns(kind: Kind) -> Iterator[tuple[str, Read]]:
    for name in kind.derived_fields:
        yield name, _plain(name)
    for name, info in kind.form.model_fields.items():
        inner = [one for one in (get_args(info.annotation) or (info.annotation,)) if one is not NoneType]
        if name in kind.heavy:
            continue
        if name in kind.refers:
            yield name, _plain(name)
            yield name.removesuffix("_id"), _name_of(name)
        elif any(place.startswith(f"{name}[].") for place in kind.refers):
            yield name, partial(_listed, kind, name)
        elif len(inner) == 1 and isinstance(inner[0], type) and issubclass(inner[0], BaseModel):
            for key in inner[0].model_fields:
                yield f"{name}.{key}", _figure(name, key)
        elif not _has_objects(info.annotation):
            yield name, _plain(name)


def _plain(name: str) -> Read:
    def read(record: Record, _called: Mapping[str, str]) -> Any:
        value = record[name]
        return "; ".join(map(str, value)) if isinstance(value, list) else value

    return read


def _name_of(reference: str) -> Read:
    return lambda _record, called: called[reference]


def _figure(name: str, key: str) -> Read:
    return lambda record, _called: (record[name] or {}).get(key)


def _listed(kind: Kind, field: str, record: Record, called: Mapping[str, str]) -> str:
    """Return a list of objects that refer to others, such as the searchers, as words."""
    referring = {place.rpartition(".")[2] for place in kind.refers if place.startswith(f"{field}[].")}
    said = []
    for i, one in enumerate(record[field]):
        parts = [
            called[f"{field}[{i}].{key}"] if key in referring else str(value) for key, value in one.items()
        ]
        said.append(" ".join(part for part in parts if part))
    return "; ".join(said)


def _has_objects(annotation: Any) -> bool:
    if isinstance(annotation, type):
        return issubclass(annotation, (BaseModel, dict))
    return any(_has_objects(inner) for inner in get_args(annotation))


def _called(store: Store, kind: Kind, record_id: str | None, names: dict[tuple[str, str], str]) -> str:
    """Return the name of a record, even if it is deleted; '' for none or one without a name."""
    key = (kind.name, record_id or "")
    if record_id is None or not kind.called:
        return ""
    if key not in names:
        query = select(kind.table.c[kind.called]).where(kind.table.c.id == record_id)
        names[key] = str(store.connection.execute(query).scalar_one())
    return names[key]
