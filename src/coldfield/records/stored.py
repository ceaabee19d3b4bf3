"""A stored record as it is returned: the fields of its form with its stamps."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import Any

from pydantic import BaseModel, create_model

from coldfield.records.kind import Kind
from coldfield.records.kinds import KINDS


class StoredRecord(BaseModel):
    """What every record has in addition to its own fields."""

    id: str
    version: int
    created_utc: str
    changed_utc: str
    deletion_id: str | None


@cache
def stored_model(kind: Kind) -> type[BaseModel]:
    """Return the model of a stored record: its form with its stamps."""
    return _model_of(kind, f"Stored{kind.form.__name__}")


@cache
def listed_model(kind: Kind) -> type[BaseModel]:
    """Return the model of a record in a list: without large fields, with those added for lists."""
    told = {one.name: (one.type, ...) for other in KINDS.values() for one in other.lists.get(kind.name, ())}
    more = {**kind.listed_fields, **told}
    return _model_of(kind, f"Listed{kind.form.__name__}", without=kind.heavy, more=more)


def _model_of(
    kind: Kind, name: str, *, without: tuple[str, ...] = (), more: Mapping[str, Any] | None = None
) -> type[BaseModel]:
    fields: dict[str, Any] = {
        key: (info.annotation, info) for key, info in kind.form.model_fields.items() if key not in without
    }
    fields |= {**kind.derived_fields, **(more or {})}
    return create_model(name, __base__=StoredRecord, __doc__=kind.form.__doc__, **fields)


StoredTrack, StoredGrid = stored_model(KINDS["tracks"]), stored_model(KINDS["grids"])
StoredPicture = stored_model(KINDS["pictures"])
