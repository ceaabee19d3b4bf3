"""Data of the first page: how much there is, what was last, and what comes next."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import Connection, Table, func, select

from coldfield.records import schema
from coldfield.records.kinds.debriefs import phase
from coldfield.records.overview import (
    MOST_DRILLS,
    days_seen,
    drills_listed,
    drills_seen,
    rows,
    runs_listed,
    runs_seen,
)
from coldfield.records.overview_answers import (
    COUNTED,
    ComingDay,
    Counts,
    DaySeen,
    DebriefSeen,
    DrillSeen,
    FirstLook,
    KitSeen,
    PhaseSeen,
    RibbonSeen,
    RunSeen,
)

MOST_COUNTED = 10_000
"""Counts stop here; this value means that many or more. Setting."""

MOST_RIBBONS, MOST_PHASES = 12, 60
"""Most ribbons of a debrief, phases of a ribbon; others are left out. Settings."""


def first_look(
    connection: Connection, *, today: str, limit: int = 5, demo_run: str | None = None
) -> FirstLook:
    """Return what the first page shows.

    Parameters
    ----------
    connection : Connection
        A reading or writing transaction.
    today : str
        The date where the reader is, YYYY-MM-DD.
    limit : int
        At most this many of each.
    demo_run : str, optional
        The id of the demo's run if the demo is in the records.
    """
    run, kit, drill = schema.run, schema.kit, schema.drill
    newest_runs = runs_listed().order_by(run.c.held_utc.desc(), run.c.id.desc())
    # The first page shows no sketch of a run: it is the lightest page.
    held = runs_seen(connection, newest_runs.limit(limit), sketched=False)
    check = select(kit.c.id, kit.c.label, kit.c.kind, kit.c.notes)
    check = check.where(kit.c.deletion_id.is_(None), kit.c.state == "to check")
    there = select(run.c.id).where(run.c.id == demo_run, run.c.deletion_id.is_(None))
    newest = drills_listed().order_by(drill.c.changed_utc.desc(), drill.c.id.desc())
    days = days_seen(connection, schema.day.c.date >= today, limit)
    return FirstLook(
        counts=Counts(**{kind.name: _count(connection, kind.table) for kind in COUNTED}),
        drills=drills_seen(connection, newest.limit(limit)),
        runs=held,
        debriefs=_debriefs_seen(connection, [one for one in held if one.debrief_id]),
        days=tuple(ComingDay(day=day, drills=_drills_of(connection, day)) for day in days),
        to_check=tuple(
            KitSeen(**one) for one in rows(connection, check.order_by(kit.c.label, kit.c.id).limit(limit))
        ),
        demo_run=connection.execute(there).scalar_one_or_none() if demo_run else None,
    )


def _count(connection: Connection, table: Table) -> int:
    some = select(table.c.id).order_by(table.c.id).limit(MOST_COUNTED).subquery()
    there = connection.execute(select(func.count()).select_from(some)).scalar_one()
    deleted = select(func.count()).select_from(table).where(table.c.deletion_id.is_not(None))
    return max(int(there) - int(connection.execute(deleted).scalar_one()), 0)


def _drills_of(connection: Connection, day: DaySeen) -> tuple[DrillSeen, ...]:
    drill, run = schema.drill, schema.run
    of_runs = select(run.c.drill_id).where(run.c.day_id == day.id, run.c.deletion_id.is_(None))
    query = drills_listed().order_by(drill.c.name, drill.c.id).limit(MOST_DRILLS)
    told = drills_seen(connection, query.where(drill.c.id.in_(of_runs)))
    if told or day.site_id is None:
        return told
    return drills_seen(connection, query.where(drill.c.site_id == day.site_id))


def _debriefs_seen(connection: Connection, runs: Sequence[RunSeen]) -> tuple[DebriefSeen, ...]:
    found: dict[str, dict[str, list[PhaseSeen]]] = {}
    query = select(phase).where(phase.c.debrief_id.in_([one.debrief_id for one in runs]))
    for row in connection.execute(query.order_by(phase.c.debrief_id, phase.c.number)):
        told = found.setdefault(row.debrief_id, {}).setdefault(row.searcher, [])
        if len(told) < MOST_PHASES:
            told.append(PhaseSeen(phase=row.phase, start_s=row.start_s, end_s=row.end_s))
    return tuple(
        DebriefSeen(run=one, ribbons=_ribbons(one, found.get(str(one.debrief_id), {}))) for one in runs
    )


def _ribbons(run: RunSeen, phases: dict[str, list[PhaseSeen]]) -> tuple[RibbonSeen, ...]:
    names = {one.searcher: one.name or "" for one in run.searchers}
    return tuple(
        RibbonSeen(searcher=who, name=names.get(who, ""), phases=tuple(told))
        for who, told in list(phases.items())[:MOST_RIBBONS]
    )
