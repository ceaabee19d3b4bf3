"""Keep what a phone sends with a code of a run: in that run only, each item once."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from sqlalchemy import select

from coldfield.app.day.same_run import HERE
from coldfield.app.day.take import Taking, columns_of
from coldfield.errors import BadInput, Conflict, Refused, UnknownRecord
from coldfield.files.day_file import DayFile, read_day_file
from coldfield.files.day_model import ON_THE_LAPTOP, CheckItem, ItemLine
from coldfield.message import message
from coldfield.records import schema
from coldfield.records.database import Database
from coldfield.records.store import Store

_PAGE = 400
_READ_FROM_ITEMS = (schema.split, schema.observation, schema.hiding)


@dataclass(frozen=True, slots=True, kw_only=True)
class Acknowledged:
    """The ids of the received items that are kept here, and of those that were refused."""

    have: tuple[str, ...]
    not_taken: tuple[str, ...]


def keep_from_phone(database: Database, run_id: str, content: bytes) -> Acknowledged:
    """Keep what a phone sends of a run and of its group checks; a repeat changes nothing.

    Items of another run, and items that would change anything not recorded by phones, are refused.

    Raises
    ------
    BadInput
        If it is not a day file, or its items cannot be kept; the error reveals nothing about the records.
    """
    day = read_day_file(content, "")
    try:
        with database.write() as connection:
            store = Store(connection, database.stamp())
            for of, items in _of_this_run(store, run_id, day).items():
                joins = None if _belongs(store, of, run_id) or of == run_id else run_id
                Taking(store, replace(day, items=tuple(items)), None, False, None).all(of, joins, None)
    except (BadInput, Refused, UnknownRecord, Conflict):
        raise BadInput(message("fault.phone_not_taken")) from None
    with database.read() as connection:
        have = _kept(Store(connection, database.stamp()), day.items)
    ids = tuple(one.id for one in day.items)
    return Acknowledged(
        have=tuple(one for one in ids if one in have), not_taken=tuple(one for one in ids if one not in have)
    )


def _of_this_run(store: Store, run_id: str, day: DayFile) -> dict[str, list[ItemLine]]:
    """Return the items that may be kept, by the phone's id of the run or check."""
    groups: dict[str, list[ItemLine]] = {}
    for item in day.items:
        if not isinstance(item, ON_THE_LAPTOP) and item.phone != HERE:
            groups.setdefault(item.of, []).append(item)
    ours = {of: items for of, items in groups.items() if _is_ours(store, run_id, of, items)}
    foreign = _records_without_item(store, [one for items in ours.values() for one in items])
    return {of: [one for one in items if one.id not in foreign] for of, items in ours.items()}


def _is_ours(store: Store, run_id: str, of: str, items: Sequence[ItemLine]) -> bool:
    """Return whether an `of` is this run, one of its checks, or not known yet."""
    item, run, check = schema.day_item, schema.run, schema.group_check
    execute = store.connection.execute
    query = select(item.c.run_id, check.c.run_id).select_from(
        item.outerjoin(check, check.c.id == item.c.check_id)
    )
    told = {row[0] or row[1] for row in execute(query.where(item.c.of == of).distinct())}
    told |= set(execute(select(check.c.run_id).where(check.c.id == of)).scalars())
    told |= set(execute(select(run.c.id).where(run.c.id == of)).scalars())
    if told:
        return told == {run_id}
    begins = [one for one in items if isinstance(one, CheckItem)]
    return all(one.run == run_id or _belongs(store, one.run, run_id) for one in begins)


def _belongs(store: Store, of: str | None, run_id: str) -> bool:
    """Return whether a phone's id of a run refers to this run."""
    item = schema.day_item
    query = select(item.c.run_id).where(item.c.of == of, item.c.run_id.is_not(None)).limit(1)
    return of is not None and store.connection.execute(query).scalar_one_or_none() == run_id


def _records_without_item(store: Store, items: Iterable[ItemLine]) -> set[str]:
    """Return the ids of records here that no phone wrote, which an item would overwrite."""
    ids = [one.id for one in items]
    found: set[str] = set()
    for start in range(0, len(ids), _PAGE):
        part = ids[start : start + _PAGE]
        for table in _READ_FROM_ITEMS:
            found |= set(store.connection.execute(select(table.c.id).where(table.c.id.in_(part))).scalars())
        known = select(schema.day_item.c.id).where(schema.day_item.c.id.in_(part))
        found -= set(store.connection.execute(known).scalars())
    return found


def _kept(store: Store, items: Sequence[ItemLine]) -> set[str]:
    """Return the ids of items that are kept here unchanged."""
    table = schema.day_item
    found: set[str] = set()
    for start in range(0, len(items), _PAGE):
        part = {one.id: one for one in items[start : start + _PAGE]}
        for row in store.connection.execute(select(table).where(table.c.id.in_(part))).mappings():
            told = columns_of(part[row["id"]])
            if told == {key: row[key] for key in told}:
                found.add(row["id"])
    return found
