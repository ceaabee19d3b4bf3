"""Overview of runs: drill, day, who searched, debriefed or not; found by words in any of these."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import ColumnElement, Connection, Table, func, or_, select, tuple_

from coldfield.errors import UnknownRecord
from coldfield.message import message
from coldfield.records import schema
from coldfield.records.history import last_airway_s, splits_of
from coldfield.records.kinds.drills import GroundSketch, sketches_of_versions
from coldfield.records.kinds.runs import KIND as RUNS
from coldfield.records.phases import of_another_model

MOST_LISTED = 200


@dataclass(frozen=True, slots=True, kw_only=True)
class RunAtAGlance:
    """A run with its drill, day, people, and its newest debrief.

    `people` are names, `tracks` and `splits` are counts; debrief_id and debriefed_utc are null without a
    debrief. `older_model`, `airway_clear_s` and `ground` as in `RunSeen`.
    """

    id: str
    name: str
    held_utc: str
    simulated: bool
    drill_id: str
    drill: str
    drill_version: int
    day_id: str | None
    course_id: str | None
    course: str | None
    people: tuple[str, ...]
    tracks: int
    splits: int
    debrief_id: str | None
    debriefed_utc: str | None
    older_model: bool
    airway_clear_s: float | None
    ground: GroundSketch


def runs_at_a_glance(
    connection: Connection, *, words: str = "", after: str | None = None, limit: int = 50
) -> tuple[RunAtAGlance, ...]:
    """Return runs, newest first.

    Parameters
    ----------
    connection : Connection
        A reading transaction.
    words : str
        Only runs whose name, drill, course, day or people contain each of these words.
    after : str, optional
        The id of the last run on the previous page.
    limit : int
        At most 200.

    Raises
    ------
    UnknownRecord
        If there is no such run to continue from.
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
    rows = connection.execute(query).mappings().all()
    ids = [row["id"] for row in rows]
    people, debriefs = _people_of(connection, ids), _debriefs_of(connection, ids)
    tracks, splits = counted(connection, schema.track, ids), splits_of(connection, ids)
    older = of_another_model(connection, [made for made, _ in debriefs.values()])
    grounds = sketches_of_versions(connection, {(row["drill_id"], row["drill_version"]) for row in rows})
    return tuple(
        RunAtAGlance(
            **row,
            people=tuple(people.get(row["id"], ())),
            tracks=tracks.get(row["id"], 0),
            splits=len(splits.get(row["id"], ())),
            debrief_id=debriefs.get(row["id"], (None, None))[0],
            debriefed_utc=debriefs.get(row["id"], (None, None))[1],
            older_model=debriefs.get(row["id"], ("", ""))[0] in older,
            airway_clear_s=last_airway_s(splits.get(row["id"], [])),
            ground=grounds[row["drill_id"], row["drill_version"]],
        )
        for row in rows
    )


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


def _people_of(connection: Connection, runs: Sequence[str]) -> dict[str, list[str]]:
    who, person = schema.run_searcher, schema.person
    query = (
        select(who.c.run_id, person.c.name)
        .join(person, person.c.id == who.c.person_id)
        .where(who.c.run_id.in_(runs), person.c.deletion_id.is_(None))
        .order_by(who.c.run_id, who.c.searcher)
    )
    names: dict[str, list[str]] = {}
    for row in connection.execute(query):
        names.setdefault(row.run_id, []).append(row.name)
    return names


def counted(connection: Connection, table: Table, runs: Sequence[str]) -> dict[str, int]:
    """Return how many rows of a table belong to each of some runs."""
    query = (
        select(table.c.run_id, func.count().label("number"))
        .where(table.c.run_id.in_(runs), table.c.deletion_id.is_(None))
        .group_by(table.c.run_id)
    )
    return {row.run_id: row.number for row in connection.execute(query)}


def _debriefs_of(connection: Connection, runs: Sequence[str]) -> dict[str, tuple[str, str]]:
    """Return for each run with a debrief the id of its newest one and when that was made."""
    table = schema.debrief
    query = (
        select(table.c.run_id, table.c.id, table.c.created_utc)
        .where(table.c.run_id.in_(runs), table.c.deletion_id.is_(None))
        .order_by(table.c.created_utc, table.c.id)
    )
    return {row.run_id: (row.id, row.created_utc) for row in connection.execute(query)}


def runs_with_files(connection: Connection, files: Collection[str], *, without: str) -> Sequence[Any]:
    """Return `sha256`, `id`, `name`, `held_utc` of other runs that have any of these files, latest first.

    Parameters
    ----------
    connection : Connection
        A reading transaction.
    files : collection of str
        Fingerprints of recorded files.
    without : str
        The id of the run to leave out.
    """
    run, track = schema.run, schema.track
    query = (
        select(track.c.sha256, run.c.id, run.c.name, run.c.held_utc)
        .join(run, run.c.id == track.c.run_id)
        .where(track.c.sha256.in_(list(files)), run.c.id != without)
        .where(track.c.deletion_id.is_(None), run.c.deletion_id.is_(None))
        .distinct()
        .order_by(run.c.held_utc.desc(), run.c.id)
    )
    return connection.execute(query).all()
