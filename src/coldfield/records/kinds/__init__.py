"""The kinds of records, one module each; `KINDS` has them all, in the order of an import."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from coldfield.errors import UnknownRecord
from coldfield.message import message
from coldfield.records.kind import Kind
from coldfield.records.kinds import (
    courses,
    day_items,
    days,
    debriefs,
    drills,
    grids,
    group_checks,
    hidings,
    kit,
    observations,
    participants,
    people,
    phones,
    pictures,
    range_tests,
    runs,
    sites,
    splits,
    standards,
    tracks,
)

PEOPLE = people.KIND
"""The kind to which personal records refer, and that can be forgotten."""

KINDS: dict[str, Kind] = {
    module.KIND.name: module.KIND
    for module in (
        people,
        kit,
        sites,
        courses,
        days,
        participants,
        drills,
        grids,
        pictures,
        runs,
        splits,
        observations,
        phones,
        tracks,
        debriefs,
        group_checks,
        hidings,
        day_items,
        standards,
        range_tests,
    )
}
"""All kinds by name, each after those to which it refers."""


def kind_of(name: str) -> Kind:
    """Return the kind with this name.

    Raises
    ------
    UnknownRecord
        If there is none.
    """
    if name not in KINDS:
        raise UnknownRecord(message("fault.no_kind", name=name, known=tuple(KINDS)))
    return KINDS[name]


def parts_of(kind: Kind) -> Iterator[tuple[Kind, str]]:
    """Yield the kinds whose records are parts of this kind's, each with its reference to them."""
    for part in KINDS.values():
        for column in part.belongs:
            if part.refers[column] == kind.name:
                yield part, column


def references(kind: Kind, fields: Mapping[str, Any]) -> Iterator[tuple[str, str, Kind, Any]]:
    """Yield the references in the fields of a record: the place, its name in `refers`, the kind, the id.

    The id may be null. In a list, each has its own place, such as ``searchers[0].person_id``.
    """
    for name, to in kind.refers.items():
        field, inside, column = name.partition("[].")
        if not inside:
            yield name, name, KINDS[to], fields.get(name)
            continue
        for i, one in enumerate(fields.get(field) or ()):
            yield f"{field}[{i}].{column}", name, KINDS[to], one[column]
