"""A person's runs over the seasons, newest first, with their own split times."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, select, tuple_

from coldfield.errors import UnknownRecord
from coldfield.message import message
from coldfield.records import schema
from coldfield.records.kinds import PEOPLE
from coldfield.records.kinds.runs import KIND as RUNS
from coldfield.records.phases import newest_debriefs, of_another_model, phases_of

MOST_LISTED = 200


@dataclass(frozen=True, slots=True, kw_only=True)
class HistoryEntry:
    """One run of a person; `seconds` from the alarm by burial ('' if none is named) and split.

    They are null if the run has no alarm. `phases` are the seconds of each phase, by burial, from the run's
    newest debrief. `older_model`: they come from another model, so a comparison needs a note.
    """

    run_id: str
    held_utc: str
    run: str
    simulated: bool
    drill: str
    drill_version: int
    course_id: str | None
    day_id: str | None
    searcher: str
    seconds: dict[str, dict[str, float | None]]
    debrief_id: str | None
    phases: dict[str, dict[str, float]]
    older_model: bool


def person_history(
    connection: Connection, person_id: str, *, before: str | None = None, limit: int = 50
) -> list[HistoryEntry]:
    """Return the runs a person searched in, newest first.

    Parameters
    ----------
    connection : Connection
        A reading or writing transaction.
    person_id : str
        The person.
    before : str, optional
        The run_id of the last entry on the previous page.
    limit : int
        At most 200.

    Raises
    ------
    UnknownRecord
        If there is no such person, or no such run to continue from.
    """
    person = schema.person
    found = select(person.c.id).where(person.c.id == person_id, person.c.deletion_id.is_(None))
    if connection.execute(found).first() is None:
        raise UnknownRecord(message("fault.no_record", kind=PEOPLE.one, id=person_id))
    rows = _runs_of(connection, person_id, before, min(limit, MOST_LISTED))
    runs = [row["run_id"] for row in rows]
    splits = splits_of(connection, runs)
    debriefs = newest_debriefs(connection, runs)
    phases = phases_of(connection, debriefs.values())
    older = of_another_model(connection, debriefs.values())
    return [
        HistoryEntry(
            **row,
            seconds=seconds_since_alarm(splits.get(row["run_id"], []), row["searcher"]),
            debrief_id=debriefs.get(row["run_id"]),
            phases=phases.get((str(debriefs.get(row["run_id"])), row["searcher"]), {}),
            older_model=debriefs.get(row["run_id"]) in older,
        )
        for row in rows
    ]


def _runs_of(connection: Connection, person_id: str, before: str | None, limit: int) -> list[dict[str, Any]]:
    who, run, drill, day = schema.run_searcher, schema.run, schema.drill, schema.day
    query = (
        select(
            run.c.id.label("run_id"),
            who.c.held_utc,
            run.c.name.label("run"),
            run.c.simulated,
            drill.c.name.label("drill"),
            run.c.drill_version,
            day.c.course_id,
            run.c.day_id,
            who.c.searcher,
        )
        .select_from(who.join(run, run.c.id == who.c.run_id).join(drill, drill.c.id == run.c.drill_id))
        .outerjoin(day, day.c.id == run.c.day_id)
        .where(who.c.person_id == person_id, run.c.deletion_id.is_(None))
        .order_by(who.c.held_utc.desc(), who.c.run_id.desc())
        .limit(limit)
    )
    if before is not None:
        last = connection.execute(select(run.c.held_utc).where(run.c.id == before)).scalar_one_or_none()
        if last is None:
            raise UnknownRecord(message("fault.no_record_after", kind=RUNS.one, id=before))
        query = query.where(tuple_(who.c.held_utc, who.c.run_id) < (last, before))
    return [dict(row) for row in connection.execute(query).mappings()]


def splits_of(connection: Connection, runs: list[str]) -> dict[str, list[Any]]:
    """Return the splits of some runs, by run, in the order of entry."""
    split = schema.split
    found: dict[str, list[Any]] = {}
    query = select(split).where(split.c.run_id.in_(runs), split.c.deletion_id.is_(None))
    query = query.order_by(split.c.run_id, split.c.created_utc, split.c.id)
    for row in connection.execute(query).mappings():
        found.setdefault(row["run_id"], []).append(row)
    return found


def seconds_since_alarm(splits: list[Any], searcher: str | None) -> dict[str, dict[str, float | None]]:
    """Return burial -> split -> seconds from the alarm, for one searcher or (None) for everyone."""
    alarms = [s["time_unix_s"] for s in splits if s["split"] == "alarm" and s["time_unix_s"] is not None]
    seconds: dict[str, dict[str, float | None]] = {}
    for split in splits:
        if searcher is not None and split["searcher"] != searcher:
            continue
        since = split["since_alarm_s"]
        if since is None and alarms:
            since = round(split["time_unix_s"] - min(alarms), 3)
        seconds.setdefault(split["burial"] or "", {})[split["split"]] = since
    return seconds


def last_airway_s(splits: list[Any]) -> float | None:
    """Return the seconds from the alarm until the last airway was clear; None if unknown."""
    told = [times.get("airway_clear") for times in seconds_since_alarm(splits, None).values()]
    return max((seconds for seconds in told if seconds is not None), default=None)


def earlier_debriefs(connection: Connection, run_id: str, *, limit: int = 10) -> dict[str, set[str]]:
    """Return the newest debrief of each earlier run of a run's people: its id -> which searcher was whom.

    Only known people count, and only simulated runs for a simulated run, real ones for a real one.

    Parameters
    ----------
    connection : Connection
        A reading or writing transaction.
    run_id : str
        The run from which to look back.
    limit : int
        At most this many runs, the latest first.
    """
    who, run, debrief = schema.run_searcher, schema.run, schema.debrief
    this = connection.execute(select(run.c.held_utc, run.c.simulated).where(run.c.id == run_id)).one()
    people = select(who.c.person_id).where(who.c.run_id == run_id, who.c.person_id.is_not(None))
    query = (
        select(who.c.run_id, who.c.searcher, who.c.held_utc)
        .join(run, run.c.id == who.c.run_id)
        .where(
            who.c.person_id.in_(people),
            who.c.held_utc < this.held_utc,
            run.c.deletion_id.is_(None),
            run.c.simulated == this.simulated,
        )
        .order_by(who.c.held_utc.desc(), who.c.run_id.desc())
        .limit(limit * 60)
    )
    runs: dict[str, set[str]] = {}
    for row in connection.execute(query):
        if row.run_id in runs or len(runs) < limit:
            runs.setdefault(row.run_id, set()).add(row.searcher)
    found = {}
    for earlier, searchers in runs.items():
        newest = (
            select(debrief.c.id)
            .where(debrief.c.run_id == earlier, debrief.c.deletion_id.is_(None))
            .order_by(debrief.c.created_utc.desc(), debrief.c.id.desc())
            .limit(1)
        )
        debrief_id = connection.execute(newest).scalar_one_or_none()
        if debrief_id is not None:
            found[str(debrief_id)] = searchers
    return found
