"""How long each phase of a search took, by debrief: kept beside it, so that years are read at once."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from itertools import islice
from math import isfinite
from typing import Any

from sqlalchemy import Connection, insert, select

from coldfield.records import schema
from coldfield.rescue import is_this_model

PHASES = ("signal", "coarse", "fine", "probe", "dig")
MOST_ROWS = 5_000
_PHASE = schema.phase


def phase_rows(debrief_id: str, document: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Return the phases that a debrief tells of, as rows; what has no usable place or time is left out.

    Parameters
    ----------
    debrief_id : str
        The debrief.
    document : mapping
        What `coldfield debrief --json` prints.
    """
    rows = []
    for number, (searcher, phase) in enumerate(islice(_told(document), MOST_ROWS)):
        start_s, end_s = _seconds(phase.get("start_s")), _seconds(phase.get("end_s"))
        if phase.get("phase") not in PHASES or start_s is None or end_s is None:
            continue
        burial = phase.get("burial")
        rows.append(
            {
                "debrief_id": debrief_id,
                "number": number,
                "searcher": searcher[:64],
                "burial": burial[:64] if isinstance(burial, str) else "",
                "phase": phase["phase"],
                "start_s": start_s,
                "end_s": end_s,
            }
        )
    return rows


def _told(document: Mapping[str, Any]) -> Iterator[tuple[str, Mapping[str, Any]]]:
    searchers = document.get("searchers")
    for one in searchers if isinstance(searchers, list) else []:
        if not isinstance(one, Mapping) or not isinstance(one.get("id"), str):
            continue
        phases = one.get("phases")
        for phase in phases if isinstance(phases, list) else []:
            if isinstance(phase, Mapping):
                yield one["id"], phase


def _seconds(value: Any) -> float | None:
    usable = isinstance(value, int | float) and not isinstance(value, bool) and isfinite(value)
    return float(value) if usable else None


def keep_phases(connection: Connection, debrief_id: str, document: Mapping[str, Any]) -> None:
    """Write the phases of a debrief that is new."""
    rows = phase_rows(debrief_id, document)
    if rows:
        connection.execute(insert(_PHASE), rows)


def newest_debriefs(connection: Connection, runs: Iterable[str]) -> dict[str, str]:
    """Return the id of the newest debrief of each run that has one."""
    debrief = schema.debrief
    query = (
        select(debrief.c.run_id, debrief.c.id)
        .where(debrief.c.run_id.in_(list(runs)), debrief.c.deletion_id.is_(None))
        .order_by(debrief.c.run_id, debrief.c.created_utc, debrief.c.id)
    )
    return {row.run_id: row.id for row in connection.execute(query)}


def of_another_model(connection: Connection, debriefs: Iterable[str]) -> set[str]:
    """Return those of some debriefs that another model of rehearsals worked out."""
    wanted = list(debriefs)
    if not wanted:
        return set()
    debrief = schema.debrief
    query = select(debrief.c.id, debrief.c.made_by).where(debrief.c.id.in_(wanted))
    return {
        row.id for row in connection.execute(query) if not is_this_model(row.made_by.get("model_version"))
    }


def phases_of(
    connection: Connection, debriefs: Iterable[str]
) -> dict[tuple[str, str], dict[str, dict[str, float]]]:
    """Return (debrief, searcher) -> burial -> phase -> seconds it took; parts of one phase are added up."""
    found: dict[tuple[str, str], dict[str, dict[str, float]]] = {}
    wanted = list(debriefs)
    if not wanted:
        return found
    query = select(_PHASE).where(_PHASE.c.debrief_id.in_(wanted))
    for row in connection.execute(query.order_by(_PHASE.c.debrief_id, _PHASE.c.number)):
        seconds = found.setdefault((row.debrief_id, row.searcher), {}).setdefault(row.burial, {})
        took = max(row.end_s - row.start_s, 0.0)
        seconds[row.phase] = round(seconds.get(row.phase, 0.0) + took, 1)
    return found
