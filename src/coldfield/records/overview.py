"""What a page shows at a glance: how much there is, what came last and next, a course, a person."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from sqlalchemy import ColumnElement, Connection, Select, Table, func, select

from coldfield.errors import UnknownRecord
from coldfield.message import message
from coldfield.records import schema
from coldfield.records.history import seconds_since_alarm, splits_of
from coldfield.records.kinds import KINDS, PEOPLE
from coldfield.records.kinds.courses import KIND as COURSES
from coldfield.records.kinds.drills import ground_sketches
from coldfield.records.kinds.runs import KIND as RUNS
from coldfield.records.phases import newest_debriefs, of_another_model

MOST_COUNTED = 10_000
"""A count of this many stands for that many or more. Setting."""

MOST_DAYS, MOST_PARTICIPANTS, MOST_RUNS = 200, 500, 300
"""Of one course, further ones are left off and that is said. Settings."""


def counts(connection: Connection) -> dict[str, int]:
    """Return how many records of each kind there are that are not deleted, counted up to 10,000."""
    return {kind.name: _count(connection, kind.table) for kind in KINDS.values() if kind.counted}


def _count(connection: Connection, table: Table) -> int:
    some = select(table.c.id).order_by(table.c.id).limit(MOST_COUNTED).subquery()
    there = connection.execute(select(func.count()).select_from(some)).scalar_one()
    deleted = select(func.count()).select_from(table).where(table.c.deletion_id.is_not(None))
    return max(int(there) - int(connection.execute(deleted).scalar_one()), 0)


def first_look(connection: Connection, *, today: str, limit: int = 5) -> dict[str, Any]:
    """Return what the first page shows.

    `counts` (see `counts`); the `drills` changed last; the `runs` held last; the `days` of courses
    from today on; `to_check`, the first pieces of kit that wait for a check.

    Parameters
    ----------
    connection : Connection
        A reading or writing transaction.
    today : str
        The date where the reader is, YYYY-MM-DD.
    limit : int
        Of each, at most this many.
    """
    drill, run, kit = schema.drill, schema.run, schema.kit
    latest = select(drill.c.id, drill.c.name, drill.c.changed_utc).where(drill.c.deletion_id.is_(None))
    latest = latest.order_by(drill.c.changed_utc.desc(), drill.c.id.desc()).limit(limit)
    drills = _rows(connection, latest)
    grounds = ground_sketches(connection, [one["id"] for one in drills])
    held = _runs().order_by(run.c.held_utc.desc(), run.c.id.desc()).limit(limit)
    check = select(kit.c.id, kit.c.label, kit.c.kind, kit.c.notes)
    check = check.where(kit.c.deletion_id.is_(None), kit.c.state == "to check")
    return {
        "counts": counts(connection),
        "drills": [{**one, "ground": grounds[one["id"]]} for one in drills],
        "runs": _told_runs(connection, held),
        "days": _rows(connection, _days(schema.day.c.date >= today).limit(limit)),
        "to_check": _rows(connection, check.order_by(kit.c.label, kit.c.id).limit(limit)),
    }


def course_overview(connection: Connection, course_id: str) -> dict[str, Any]:
    """Return a course's days, drills, runs and participants.

    Each of the `runs` tells who searched and `airway_clear_s`, the seconds from the alarm until the
    last airway was clear, null where no split tells it. `drills` are those of the runs, with how
    often each was run. `left_off` counts the runs beyond the newest 300.

    Raises
    ------
    UnknownRecord
        If there is no such course.
    """
    course = schema.course
    query = select(course).where(course.c.id == course_id, course.c.deletion_id.is_(None))
    row = connection.execute(query).mappings().first()
    if row is None:
        raise UnknownRecord(message("fault.no_record", kind=COURSES.one, id=course_id))
    run, day = schema.run, schema.day
    mine = _runs().where(day.c.course_id == course_id, day.c.deletion_id.is_(None))
    runs = _told_runs(connection, mine.order_by(run.c.held_utc.desc(), run.c.id.desc()).limit(MOST_RUNS + 1))
    shown = runs[:MOST_RUNS]
    participants = _participants(connection, schema.participant.c.course_id == course_id)
    return {
        "course": dict(row),
        "days": _rows(connection, _days(day.c.course_id == course_id).limit(MOST_DAYS)),
        "participants": [{**one, "runs": _times(one["person_id"], shown)} for one in participants],
        "drills": _drills_of(shown),
        "runs": shown,
        "more_runs": len(runs) > MOST_RUNS,
    }


def person_overview(connection: Connection, person_id: str) -> dict[str, Any]:
    """Return a person's courses, kit and how many runs they searched in.

    Raises
    ------
    UnknownRecord
        If there is no such person.
    """
    person, who, run, kit, day = (
        schema.person,
        schema.run_searcher,
        schema.run,
        schema.kit,
        schema.day,
    )
    there = select(person.c.id).where(person.c.id == person_id, person.c.deletion_id.is_(None))
    if connection.execute(there).first() is None:
        raise UnknownRecord(message("fault.no_record", kind=PEOPLE.one, id=person_id))
    searched = select(func.count()).select_from(who.join(run, run.c.id == who.c.run_id))
    searched = searched.where(who.c.person_id == person_id, run.c.deletion_id.is_(None))
    owned = select(kit.c.id, kit.c.label, kit.c.kind, kit.c.state)
    owned = owned.where(kit.c.owner_id == person_id, kit.c.deletion_id.is_(None))
    course, part = schema.course, schema.participant
    first = select(func.min(day.c.date)).where(day.c.course_id == course.c.id, day.c.deletion_id.is_(None))
    courses = (
        select(course.c.id, course.c.name, part.c.role, first.scalar_subquery().label("first_date"))
        .join(course, course.c.id == part.c.course_id)
        .where(part.c.person_id == person_id, part.c.deletion_id.is_(None), course.c.deletion_id.is_(None))
    )
    return {
        "runs": connection.execute(searched).scalar_one(),
        "kit": _rows(connection, owned.order_by(kit.c.label, kit.c.id).limit(MOST_DAYS)),
        "courses": _rows(connection, courses.order_by(course.c.name, course.c.id).limit(MOST_DAYS)),
    }


def _rows(connection: Connection, query: Select[Any]) -> list[dict[str, Any]]:
    return [dict(row) for row in connection.execute(query).mappings()]


def _days(condition: ColumnElement[bool]) -> Select[Any]:
    day, course, site = schema.day, schema.course, schema.site
    query = select(
        day.c.id,
        day.c.date,
        day.c.notes,
        day.c.version,
        day.c.course_id,
        course.c.name.label("course"),
        day.c.site_id,
        site.c.name.label("site"),
    )
    query = query.select_from(day.join(course, course.c.id == day.c.course_id))
    query = query.outerjoin(site, site.c.id == day.c.site_id)
    return query.where(day.c.deletion_id.is_(None), condition).order_by(day.c.date, day.c.id)


def _participants(connection: Connection, condition: ColumnElement[bool]) -> list[dict[str, Any]]:
    part, person = schema.participant, schema.person
    query = select(part.c.id, part.c.version, part.c.person_id, person.c.name, part.c.role)
    query = query.join(person, person.c.id == part.c.person_id).where(part.c.deletion_id.is_(None), condition)
    return _rows(connection, query.order_by(person.c.name, part.c.id).limit(MOST_PARTICIPANTS))


def _runs() -> Select[Any]:
    run, drill, day = schema.run, schema.drill, schema.day
    query = select(
        run.c.id,
        run.c.name,
        run.c.held_utc,
        run.c.simulated,
        run.c.day_id,
        run.c.drill_id,
        drill.c.name.label("drill"),
    )
    query = query.select_from(run.join(drill, drill.c.id == run.c.drill_id))
    query = query.outerjoin(day, day.c.id == run.c.day_id)
    return query.where(run.c.deletion_id.is_(None))


def _told_runs(connection: Connection, query: Select[Any]) -> list[dict[str, Any]]:
    runs = _rows(connection, query)
    ids = [one["id"] for one in runs]
    RUNS.read(connection, runs, whole=False)
    names = _names(connection, [who["person_id"] for one in runs for who in one["searchers"]])
    debriefs, splits = newest_debriefs(connection, ids), splits_of(connection, ids)
    older = of_another_model(connection, debriefs.values())
    for one in runs:
        one["searchers"] = [{**who, "name": names.get(who["person_id"])} for who in one["searchers"]]
        one["debrief_id"] = debriefs.get(one["id"])
        one["older_model"] = one["debrief_id"] in older
        one["airway_clear_s"] = _last_airway_s(splits.get(one["id"], []))
    return runs


def _names(connection: Connection, people: Sequence[str | None]) -> dict[str | None, str]:
    person = schema.person
    query = select(person.c.id, person.c.name).where(person.c.id.in_({one for one in people if one}))
    return {row.id: row.name for row in connection.execute(query)}


def _last_airway_s(splits: list[Any]) -> float | None:
    told = [times.get("airway_clear") for times in seconds_since_alarm(splits, None).values()]
    return max((seconds for seconds in told if seconds is not None), default=None)


def _drills_of(runs: Sequence[dict[str, Any]]) -> list[dict[str, Any]]:
    found: dict[str, dict[str, Any]] = {}
    for one in runs:
        drill = found.setdefault(one["drill_id"], {"id": one["drill_id"], "name": one["drill"], "runs": 0})
        drill["runs"] += 1
    return sorted(found.values(), key=lambda drill: (drill["name"], drill["id"]))


def _times(person_id: str, runs: Sequence[dict[str, Any]]) -> int:
    return sum(any(who["person_id"] == person_id for who in one["searchers"]) for one in runs)
