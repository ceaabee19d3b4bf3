"""Runs at a glance: which drill, which day, who searched, debriefed or not; found by any of these words."""

from __future__ import annotations

from typing import Any

from sqlalchemy import ColumnElement, Connection, func, or_, select, tuple_

from coldfield.errors import UnknownRecord
from coldfield.message import message
from coldfield.records import schema
from coldfield.records.kinds.runs import KIND as RUNS

MOST_LISTED = 200


def runs_at_a_glance(
    connection: Connection, *, words: str = "", after: str | None = None, limit: int = 50
) -> list[dict[str, Any]]:
    """Return runs, newest first.

    Each has id, name, held_utc, simulated, drill_id, drill, drill_version, day_id, course_id, course,
    people (their names), tracks and splits (how many), debrief_id and debriefed_utc (the newest, or null).

    Parameters
    ----------
    connection : Connection
        A reading transaction.
    words : str
        Only runs whose name, drill, course, day or people hold each of these words.
    after : str, optional
        The id of the last run of the page before.
    limit : int
        At most 200.

    Raises
    ------
    UnknownRecord
        If there is no such run to go on from.
    """
    run, drill, day, course = schema.run, schema.drill, schema.day, schema.course
    columns = (
        run.c.id,
        run.c.name,
        run.c.held_utc,
        run.c.simulated,
        run.c.drill_id,
        drill.c.name.label("drill"),
        run.c.drill_version,
        run.c.day_id,
        day.c.course_id,
        course.c.name.label("course"),
    )
    query = (
        select(*columns)
        .select_from(
            run.join(drill, drill.c.id == run.c.drill_id)
            .outerjoin(day, day.c.id == run.c.day_id)
            .outerjoin(course, course.c.id == day.c.course_id)
        )
        .where(run.c.deletion_id.is_(None))
        .order_by(run.c.held_utc.desc(), run.c.id.desc())
        .limit(min(limit, MOST_LISTED))
    )
    for word in words.split()[:8]:
        query = query.where(_holds(word))
    if after is not None:
        held_utc = connection.execute(select(run.c.held_utc).where(run.c.id == after)).scalar_one_or_none()
        if held_utc is None:
            raise UnknownRecord(message("fault.no_record_after", kind=RUNS.one, id=after))
        query = query.where(tuple_(run.c.held_utc, run.c.id) < (held_utc, after))
    runs = [dict(row) for row in connection.execute(query).mappings()]
    _add_people(connection, runs)
    _add_counts(connection, runs)
    _add_debriefs(connection, runs)
    return runs


def _holds(word: str) -> ColumnElement[bool]:
    run, drill, course = schema.run, schema.drill, schema.course
    who, person = schema.run_searcher, schema.person
    people = (
        select(who.c.run_id)
        .join(person, person.c.id == who.c.person_id)
        .where(who.c.run_id == run.c.id, person.c.name.icontains(word, autoescape=True))
        .exists()
    )
    texts = (run.c.name, drill.c.name, func.coalesce(course.c.name, ""), run.c.held_utc)
    return or_(*(text.icontains(word, autoescape=True) for text in texts), people)


def _add_people(connection: Connection, runs: list[dict[str, Any]]) -> None:
    who, person = schema.run_searcher, schema.person
    query = (
        select(who.c.run_id, person.c.name)
        .join(person, person.c.id == who.c.person_id)
        .where(who.c.run_id.in_([run["id"] for run in runs]), person.c.deletion_id.is_(None))
        .order_by(who.c.run_id, who.c.searcher)
    )
    names: dict[str, list[str]] = {}
    for row in connection.execute(query):
        names.setdefault(row.run_id, []).append(row.name)
    for run in runs:
        run["people"] = names.get(run["id"], [])


def _add_counts(connection: Connection, runs: list[dict[str, Any]]) -> None:
    ids = [run["id"] for run in runs]
    for name, table in (("tracks", schema.track), ("splits", schema.split)):
        query = (
            select(table.c.run_id, func.count().label("number"))
            .where(table.c.run_id.in_(ids), table.c.deletion_id.is_(None))
            .group_by(table.c.run_id)
        )
        counts = {row.run_id: row.number for row in connection.execute(query)}
        for run in runs:
            run[name] = counts.get(run["id"], 0)


def _add_debriefs(connection: Connection, runs: list[dict[str, Any]]) -> None:
    table = schema.debrief
    query = (
        select(table.c.run_id, table.c.id, table.c.created_utc)
        .where(table.c.run_id.in_([run["id"] for run in runs]), table.c.deletion_id.is_(None))
        .order_by(table.c.created_utc, table.c.id)
    )
    newest = {row.run_id: row for row in connection.execute(query)}
    for run in runs:
        row = newest.get(run["id"])
        run["debrief_id"] = None if row is None else row.id
        run["debriefed_utc"] = None if row is None else row.created_utc
