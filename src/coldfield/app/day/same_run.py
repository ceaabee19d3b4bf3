"""Join a run that was begun on a phone to a drill here: the proposed matching, and the choice as an item."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any
from uuid import uuid4

from coldfield.app.day.answers import DayJoined, DaySearcher, SameBurial, SamePerson
from coldfield.app.day.joining import Same, burials_told, check_same, searchers_told, usual
from coldfield.app.debriefs.from_records import as_run
from coldfield.files.day_model import ItemLine, SameItem
from coldfield.records.store import Store

HERE = "laptop"
"""What stands for the phone in an item that is written here."""


def joined(store: Store, items: Sequence[ItemLine], run_id: str | None, drill_id: str | None) -> DayJoined:
    """Return which burial and searcher of a run's drill, or of a drill, those of the phone correspond to.

    Raises
    ------
    UnknownRecord
        If there is no such run or drill.
    """
    if run_id is not None:
        drill = as_run(store, store.get("runs", run_id))
    else:
        drill = store.get("drills", drill_id or "")["document"]
    burials, searchers = _names(drill)
    same_burials, same_searchers = usual(items, burials, searchers)
    return DayJoined(
        burials=tuple(SameBurial(phone=one, drill=same_burials.get(one)) for one in burials_told(items)),
        searchers=tuple(
            SamePerson(phone=one, name=name, drill=same_searchers.get(one))
            for one, name in searchers_told(items).items()
        ),
        drill_burials=tuple(burials),
        drill_searchers=tuple(DaySearcher(id=one, name=name) for one, name in searchers.items()),
    )


def same_items(
    store: Store,
    run: Mapping[str, Any],
    of: str,
    items: Sequence[ItemLine],
    before: Sequence[ItemLine],
    chosen: Same | None,
) -> list[ItemLine]:
    """Return the item that says which is which, or nothing where that is said already.

    Parameters
    ----------
    store : Store
        The records.
    run : mapping
        The run that is joined.
    of : str
        What the phone calls it.
    items, before : sequence of ItemLine
        What the file holds of it, and what is kept of it.
    chosen : pair of mappings, optional
        What a person chose; None: the usual, unless something was chosen before.

    Raises
    ------
    BadInput
        If two are chosen alike, or one that the drill does not have.
    """
    known = [one for one in before if isinstance(one, SameItem) and one.of == of]
    if known and chosen is None:
        return []
    burials, searchers = _names(as_run(store, store.get("runs", run["id"])))
    same = usual(items, burials, searchers) if chosen is None else chosen
    check_same(same[0], burials, "burial")
    check_same(same[1], searchers, "searcher")
    last = max(known, key=lambda one: one.n, default=None)
    if last is not None and (last.burials, last.searchers) == (dict(same[0]), dict(same[1])):
        return []
    return [
        SameItem(
            id=uuid4().hex,
            phone=HERE,
            n=last.n + 1 if last is not None else 1,
            of=of,
            wall_ms=round(datetime.fromisoformat(store.now_utc).timestamp() * 1000),
            page=HERE,
            since_page_ms=0.0,
            burials=dict(same[0]),
            searchers=dict(same[1]),
        )
    ]


def _names(drill: Mapping[str, Any]) -> tuple[list[str], dict[str, str]]:
    return [one["id"] for one in drill["burials"]], {one["id"]: one["name"] for one in drill["searchers"]}
