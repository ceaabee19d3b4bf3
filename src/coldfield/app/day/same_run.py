"""Join a run begun on a phone to a drill here: propose a matching, and keep the choice as an item."""

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
"""The phone id of items that are written here."""


def joined(store: Store, items: Sequence[ItemLine], run_id: str | None, drill_id: str | None) -> DayJoined:
    """Return how the phone's burials and searchers match those of a drill, or of a run's drill.

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
    """Return the item that holds the matching, or nothing if it is already kept.

    Parameters
    ----------
    store : Store
        The records.
    run : mapping
        The run to join.
    of : str
        The phone's id of the run.
    items, before : sequence of ItemLine
        Its items in the file, and those kept already.
    chosen : pair of mappings, optional
        A person's choice; None for the default matching, unless a choice was made before.

    Raises
    ------
    BadInput
        If a name is chosen twice, or one that the drill does not have.
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
