"""The items from phones, as kept in the records."""

from __future__ import annotations

from sqlalchemy import select

from coldfield.files.day_model import ITEMS, ItemLine
from coldfield.records import schema
from coldfield.records.store import Store


def kept_items(store: Store, *, run_id: str | None = None, check_id: str | None = None) -> list[ItemLine]:
    """Return the kept items of a run or a group check."""
    table = schema.day_item
    whose = table.c.run_id == run_id if run_id is not None else table.c.check_id == check_id
    rows = store.connection.execute(select(table).where(whose, table.c.deletion_id.is_(None))).mappings()
    return [
        ITEMS[row["told"]["kind"]].model_validate(
            {**row["told"], **{key: row[key] for key in ("id", "of", "phone", "n")}}
        )
        for row in rows
    ]
