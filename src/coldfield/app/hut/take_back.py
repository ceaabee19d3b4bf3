"""Remove everything that one phone sent of a run, and restore it."""

from __future__ import annotations

from datetime import datetime
from uuid import uuid4

from sqlalchemy import select

from coldfield.app.day.kept import kept_items
from coldfield.app.day.same_run import HERE
from coldfield.app.day.take import Taking
from coldfield.errors import UnknownRecord
from coldfield.files.day_file import DayFile
from coldfield.files.day_model import HeadLine, ItemLine, LeftOutItem
from coldfield.message import message
from coldfield.records import schema
from coldfield.records.database import Database
from coldfield.records.store import Store


def leave_out_phone(database: Database, run_id: str, phone: str, *, out: bool) -> None:
    """Remove everything that a phone sent of a run, by any route, or restore it without loss.

    Later items from that phone are treated the same. Its tracks and group checks are deleted and restored
    with the rest.

    Raises
    ------
    UnknownRecord
        If there is no such run, or the phone sent nothing of it.
    """
    with database.write() as connection:
        store = Store(connection, database.stamp())
        store.get("runs", run_id)
        items = kept_items(store, run_id=run_id)
        ofs = sorted({one.of for one in items if one.phone == phone})
        tracks, checks = _tracks(store, run_id, phone), _checks(store, run_id, phone)
        if phone == HERE or not (ofs or tracks or checks):
            raise UnknownRecord(message("fault.no_phone_in_run", id=phone))
        said = [_item(store, items, of, phone, out) for of in ofs]
        if said:
            head = HeadLine(made_by="Coldfield", made_ms=said[0].wall_ms)
            Taking(store, DayFile(head=head, items=tuple(said)), None, False, None).all(None, None, None)
        for kind, ids in (("tracks", tracks), ("group_checks", checks)):
            for record_id, deletion_id in ids.items():
                if out and deletion_id is None:
                    store.delete(kind, record_id)
                elif not out and deletion_id is not None:
                    store.undo(deletion_id)


def _item(store: Store, items: list[ItemLine], of: str, phone: str, out: bool) -> LeftOutItem:
    last = max((one.n for one in items if one.phone == HERE and one.of == of), default=0)
    return LeftOutItem(
        id=uuid4().hex,
        phone=HERE,
        n=last + 1,
        of=of,
        wall_ms=round(datetime.fromisoformat(store.now_utc).timestamp() * 1000),
        page=HERE,
        since_page_ms=0.0,
        whose=phone,
        out=out,
    )


def _tracks(store: Store, run_id: str, phone: str) -> dict[str, str | None]:
    """Return the tracks that a phone sent, each with the deletion that removed it."""
    table = schema.track
    query = select(table.c.id, table.c.deletion_id).where(table.c.run_id == run_id, table.c.phone_id == phone)
    return {row.id: row.deletion_id for row in store.connection.execute(query)}


def _checks(store: Store, run_id: str, phone: str) -> dict[str, str | None]:
    """Return the group checks of a run that came entirely from one phone, each with its deletion."""
    check, item = schema.group_check, schema.day_item
    query = select(check.c.id, check.c.deletion_id, item.c.phone)
    query = query.join(item, item.c.check_id == check.c.id).where(check.c.run_id == run_id)
    rows = store.connection.execute(query).all()
    others = {row.id for row in rows if row.phone != phone}
    return {row.id: row.deletion_id for row in rows if row.id not in others}
