"""A stored record as it is given out: the fields of its form with its stamps."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import Any

from pydantic import BaseModel, create_model

from coldfield.records.kinds import Kind


class Stamps(BaseModel):
    """What every record carries beside its own fields."""

    id: str
    version: int
    created_utc: str
    changed_utc: str
    deletion_id: str | None


_BESIDE: dict[str, dict[str, Any]] = {"drills": {"name": (str, ...), "drill_version": (int, ...)}}
"""Fields of a stored record that follow from others and are not filled in."""


@cache
def stored_model(kind: Kind) -> type[BaseModel]:
    """Return the model of a stored record: its form with its stamps."""
    return model_of(kind, f"Stored{kind.form.__name__}")


def model_of(
    kind: Kind, name: str, *, without: tuple[str, ...] = (), more: Mapping[str, Any] | None = None
) -> type[BaseModel]:
    """Return a model of stored records, without some fields of the form and with some beside them."""
    fields: dict[str, Any] = {
        key: (info.annotation, info) for key, info in kind.form.model_fields.items() if key not in without
    }
    fields |= _BESIDE.get(kind.name, {}) | dict(more or {})
    return create_model(name, __base__=Stamps, __doc__=kind.form.__doc__, **fields)
