"""Use cases behind the first page and the pages of a course and a person, with one answer each."""

from __future__ import annotations

from coldfield.app.demo.records import RUN_ID
from coldfield.records import first_look as looking
from coldfield.records import overview
from coldfield.records.database import Database
from coldfield.records.overview_answers import CourseOverview, FirstLook, PersonOverview


def first_look(database: Database, *, today: str | None = None, limit: int = 5) -> FirstLook:
    """Return what the first page shows; `today` is the reader's date, by default that of UTC."""
    with database.read() as connection:
        day = today or database.stamp()[:10]
        return looking.first_look(connection, today=day, limit=limit, demo_run=RUN_ID)


def course_overview(database: Database, course_id: str) -> CourseOverview:
    """Return a course's days, drills, runs and participants, or raise `UnknownRecord`."""
    with database.read() as connection:
        return overview.course_overview(connection, course_id)


def person_overview(database: Database, person_id: str) -> PersonOverview:
    """Return a person's courses, kit and number of runs, or raise `UnknownRecord`."""
    with database.read() as connection:
        return overview.person_overview(connection, person_id)
