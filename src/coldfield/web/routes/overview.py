"""Routes for overviews: the first page, a course, a person, and finding anything by a few words."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query

from coldfield.app.records import overview
from coldfield.app.records.finding import FoundAnswer, find_anything
from coldfield.records.database import Database
from coldfield.records.forms import Day
from coldfield.records.overview_answers import CourseOverview, FirstLook, PersonOverview
from coldfield.web.problems import documented
from coldfield.web.routes.records import Find, Id


def router(database: Database) -> APIRouter:
    """Return the routes."""
    api = APIRouter(prefix="/api")

    @api.get("/overview", responses=documented(422), tags=["overview"])
    def first_look(
        today: Annotated[Day | None, Query(description="The reader's date; without it that of UTC.")] = None,
        limit: Annotated[int, Query(ge=1, le=50)] = 5,
    ) -> FirstLook:
        """Return counts, the latest changes and runs, and what comes next."""
        return overview.first_look(database, today=today, limit=limit)

    @api.get("/find", responses=documented(422), tags=["overview"])
    def find(words: Annotated[Find, Query()] = "") -> FoundAnswer:
        """Find drills, runs, people, courses and kit that contain all of some words."""
        return find_anything(database, words)

    @api.get(
        "/courses/{course_id}/overview",
        responses=documented(404, 422),
        tags=["courses"],
    )
    def course_overview(course_id: Id) -> CourseOverview:
        """Return a course's days, drills, runs and participants."""
        return overview.course_overview(database, course_id)

    @api.get(
        "/people/{person_id}/overview",
        responses=documented(404, 422),
        tags=["people"],
    )
    def person_overview(person_id: Id) -> PersonOverview:
        """Return a person's courses and kit, and the number of runs in which they searched."""
        return overview.person_overview(database, person_id)

    return api
