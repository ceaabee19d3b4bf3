"""From the newest debriefs of runs: how long each phase of a search took, and by which model."""

from __future__ import annotations

from collections.abc import Iterable

from sqlalchemy import Connection, select

from coldfield.records.kinds.debriefs import debrief, phase, phase_rows
from coldfield.rescue import is_this_model

__all__ = ["newest_debriefs", "of_another_model", "phase_rows", "phases_of"]


def newest_debriefs(connection: Connection, runs: Iterable[str]) -> dict[str, str]:
    """Return the id of the newest debrief of each run that has one."""
    query = (
        select(debrief.c.run_id, debrief.c.id)
        .where(debrief.c.run_id.in_(list(runs)), debrief.c.deletion_id.is_(None))
        .order_by(debrief.c.run_id, debrief.c.created_utc, debrief.c.id)
    )
    return {row.run_id: row.id for row in connection.execute(query)}


def of_another_model(connection: Connection, debriefs: Iterable[str]) -> set[str]:
    """Return those of some debriefs that come from another rehearsal model."""
    wanted = list(debriefs)
    if not wanted:
        return set()
    query = select(debrief.c.id, debrief.c.made_by).where(debrief.c.id.in_(wanted))
    return {
        row.id for row in connection.execute(query) if not is_this_model(row.made_by.get("model_version"))
    }


def phases_of(
    connection: Connection, debriefs: Iterable[str]
) -> dict[tuple[str, str], dict[str, dict[str, float]]]:
    """Return (debrief, searcher) -> burial -> phase -> seconds; parts of one phase are added up."""
    found: dict[tuple[str, str], dict[str, dict[str, float]]] = {}
    wanted = list(debriefs)
    if not wanted:
        return found
    query = select(phase).where(phase.c.debrief_id.in_(wanted))
    for row in connection.execute(query.order_by(phase.c.debrief_id, phase.c.number)):
        seconds = found.setdefault((row.debrief_id, row.searcher), {}).setdefault(row.burial, {})
        took = max(row.end_s - row.start_s, 0.0)
        seconds[row.phase] = round(seconds.get(row.phase, 0.0) + took, 1)
    return found
