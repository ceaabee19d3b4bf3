"""Overviews for pages: a course, a person, and the runs and days of any page."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import Any

from sqlalchemy import ColumnElement, Connection, Select, func, select

from coldfield.errors import UnknownRecord
from coldfield.message import message
from coldfield.records import schema
from coldfield.records.history import last_airway_s, splits_of
from coldfield.records.kinds import PEOPLE
from coldfield.records.kinds.courses import KIND as COURSES
from coldfield.records.kinds.drills import ground_sketches, sketches_of_versions
from coldfield.records.kinds.runs import KIND as RUNS
from coldfield.records.overview_answers import (
    CourseOfPerson,
    CourseOverview,
    CourseSeen,
    DaySeen,
    DrillRun,
    DrillSeen,
    OwnKit,
    ParticipantSeen,
    PersonOverview,
    RunSeen,
    SearcherSeen,
)
from coldfield.records.phases import newest_debriefs, of_another_model
from coldfield.records.run_list import counted

MOST_DAYS, MOST_PARTICIPANTS, MOST_RUNS = 200, 500, 300
"""Limits for one course; if more are left out, the answer says so. Settings."""

MOST_DRILLS = 6
"""Most drills of a day; others are left out. Setting."""


def course_overview(connection: Connection, course_id: str) -> CourseOverview:
    """Return a course's days, drills, runs and participants.

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
    mine = runs_listed().where(day.c.course_id == course_id, day.c.deletion_id.is_(None))
    newest = mine.order_by(run.c.held_utc.desc(), run.c.id.desc())
    runs = runs_seen(connection, newest.limit(MOST_RUNS + 1))
    shown = runs[:MOST_RUNS]
    days = days_seen(connection, day.c.course_id == course_id, MOST_DAYS)
    return CourseOverview(
        course=CourseSeen(**row),
        days=days,
        participants=_participants(connection, schema.participant.c.course_id == course_id, shown),
        drills=_drills_of(shown),
        drills_ready=_drills_ready(connection, days, shown),
        runs=shown,
        more_runs=len(runs) > MOST_RUNS,
    )


def person_overview(connection: Connection, person_id: str) -> PersonOverview:
    """Return a person's courses, kit, and the number of runs in which they searched.

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
    kits = rows(connection, owned.order_by(kit.c.label, kit.c.id).limit(MOST_DAYS))
    taken = rows(connection, courses.order_by(course.c.name, course.c.id).limit(MOST_DAYS))
    return PersonOverview(
        runs=connection.execute(searched).scalar_one(),
        kit=tuple(OwnKit(**one) for one in kits),
        courses=tuple(CourseOfPerson(**one) for one in taken),
    )


def rows(connection: Connection, query: Select[Any]) -> list[dict[str, Any]]:
    """Return the result of a query, a dict for each row."""
    return [dict(row) for row in connection.execute(query).mappings()]


def days_seen(connection: Connection, condition: ColumnElement[bool], most: int) -> tuple[DaySeen, ...]:
    """Return days of courses, the earliest first."""
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
    query = query.where(day.c.deletion_id.is_(None), condition).order_by(day.c.date, day.c.id)
    return tuple(DaySeen(**one) for one in rows(connection, query.limit(most)))


def drills_listed() -> Select[Any]:
    """Return the query for drills that are not deleted."""
    drill = schema.drill
    columns = (drill.c.id, drill.c.name, drill.c.changed_utc, drill.c.checks)
    return select(*columns).where(drill.c.deletion_id.is_(None))


def drills_seen(connection: Connection, query: Select[Any]) -> tuple[DrillSeen, ...]:
    """Return the drills found by a query from `drills_listed`."""
    found = rows(connection, query)
    grounds = ground_sketches(connection, [one["id"] for one in found])
    return tuple(
        DrillSeen(**{**one, "checks": tuple(one["checks"])}, ground=grounds[one["id"]]) for one in found
    )


def _drills_ready(
    connection: Connection, days: Sequence[DaySeen], runs: Sequence[RunSeen]
) -> dict[str, tuple[DrillSeen, ...]]:
    drill, held = schema.drill, {one.day_id for one in runs}
    query = drills_listed().order_by(drill.c.name, drill.c.id).limit(MOST_DRILLS)
    sites = {day.site_id for day in days if day.site_id is not None and day.id not in held}
    return {site: drills_seen(connection, query.where(drill.c.site_id == site)) for site in sorted(sites)}


def _participants(
    connection: Connection, condition: ColumnElement[bool], runs: Sequence[RunSeen]
) -> tuple[ParticipantSeen, ...]:
    part, person = schema.participant, schema.person
    query = select(part.c.id, part.c.version, part.c.person_id, person.c.name, part.c.role)
    query = query.join(person, person.c.id == part.c.person_id).where(part.c.deletion_id.is_(None), condition)
    found = rows(connection, query.order_by(person.c.name, part.c.id).limit(MOST_PARTICIPANTS))
    return tuple(ParticipantSeen(**one, runs=_times(one["person_id"], runs)) for one in found)


def runs_listed() -> Select[Any]:
    """Return the query for runs that are not deleted, with the names of their drills."""
    run, drill, day = schema.run, schema.drill, schema.day
    query = select(
        run.c.id,
        run.c.name,
        run.c.held_utc,
        run.c.simulated,
        run.c.day_id,
        run.c.drill_id,
        run.c.drill_version,
        drill.c.name.label("drill"),
    )
    query = query.select_from(run.join(drill, drill.c.id == run.c.drill_id))
    query = query.outerjoin(day, day.c.id == run.c.day_id)
    return query.where(run.c.deletion_id.is_(None))


def runs_seen(connection: Connection, query: Select[Any], *, sketched: bool = True) -> tuple[RunSeen, ...]:
    """Return the runs found by a query from `runs_listed`, with who searched and their newest debrief.

    False for `sketched` leaves out the sketch of the ground, for which a whole drill file is read.
    """
    runs = rows(connection, query)
    ids = [one["id"] for one in runs]
    RUNS.read(connection, runs, whole=False)
    names = _names(connection, [who["person_id"] for one in runs for who in one["searchers"]])
    debriefs, splits = newest_debriefs(connection, ids), splits_of(connection, ids)
    older = of_another_model(connection, debriefs.values())
    tracks = counted(connection, schema.track, ids)
    held_on = {(one["drill_id"], one["drill_version"]) for one in runs}
    grounds = sketches_of_versions(connection, held_on) if sketched else {}
    return tuple(
        RunSeen(
            **_without(one, "searchers", "drill_version"),
            searchers=tuple(
                SearcherSeen(**who, name=names.get(who["person_id"])) for who in one["searchers"]
            ),
            debrief_id=debriefs.get(one["id"]),
            older_model=debriefs.get(one["id"]) in older,
            airway_clear_s=last_airway_s(splits.get(one["id"], [])),
            tracks=tracks.get(one["id"], 0),
            splits=len(splits.get(one["id"], [])),
            ground=grounds.get((one["drill_id"], one["drill_version"])),
        )
        for one in runs
    )


def _without(row: dict[str, Any], *names: str) -> dict[str, Any]:
    return {key: value for key, value in row.items() if key not in names}


def _names(connection: Connection, people: Sequence[str | None]) -> dict[str | None, str]:
    person = schema.person
    query = select(person.c.id, person.c.name).where(person.c.id.in_({one for one in people if one}))
    return {row.id: row.name for row in connection.execute(query)}


def _drills_of(runs: Sequence[RunSeen]) -> tuple[DrillRun, ...]:
    times = Counter((one.drill, one.drill_id) for one in runs)
    return tuple(DrillRun(id=drill_id, name=name, runs=n) for (name, drill_id), n in sorted(times.items()))


def _times(person_id: str, runs: Sequence[RunSeen]) -> int:
    return sum(any(who.person_id == person_id for who in one.searchers) for one in runs)
