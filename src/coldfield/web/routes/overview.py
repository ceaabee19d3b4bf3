"""Routes that tell much at a glance: the first page, a course, a person."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Query
from pydantic import BaseModel, create_model

from coldfield.app.records import overview
from coldfield.records.database import Database
from coldfield.records.forms import Day
from coldfield.records.kinds import KINDS
from coldfield.records.kinds.drills import GroundSketch
from coldfield.web.problems import documented
from coldfield.web.routes.records import Id

Counts = create_model(
    "Counts",
    __doc__="How many records of each kind there are; 10,000 stands for that many or more.",
    **{kind.name: (int, ...) for kind in KINDS.values() if kind.counted},  # type: ignore[call-overload]
)


class DrillSeen(BaseModel):
    """A drill with what a small picture of its ground needs."""

    id: str
    name: str
    changed_utc: str
    ground: GroundSketch


class SearcherSeen(BaseModel):
    """Who of a drill's searchers was which person."""

    searcher: str
    person_id: str | None
    name: str | None


class RunSeen(BaseModel):
    """A run; `airway_clear_s` is from the alarm until the last airway was clear, null where not told.

    `older_model`: its debrief was worked out by another model, not to be compared in silence.
    """

    id: str
    name: str
    held_utc: str
    simulated: bool
    day_id: str | None
    drill_id: str
    drill: str
    searchers: list[SearcherSeen]
    debrief_id: str | None
    older_model: bool
    airway_clear_s: float | None


class DaySeen(BaseModel):
    """A day of a course."""

    id: str
    version: int
    date: str
    notes: str
    course_id: str
    course: str
    site_id: str | None
    site: str | None


class KitSeen(BaseModel):
    """A piece of kit that waits for a check."""

    id: str
    label: str
    kind: str
    notes: str


class FirstLook(BaseModel):
    """What the first page shows."""

    counts: Counts  # type: ignore[valid-type]
    drills: list[DrillSeen]
    runs: list[RunSeen]
    days: list[DaySeen]
    to_check: list[KitSeen]


class ParticipantSeen(BaseModel):
    """A person's part in a course, and in how many of its runs they searched."""

    id: str
    version: int
    person_id: str
    name: str
    role: str
    runs: int


class DrillRun(BaseModel):
    """A drill and how often it was run in a course."""

    id: str
    name: str
    runs: int


class CourseSeen(BaseModel):
    """A course with its stamps."""

    id: str
    version: int
    created_utc: str
    changed_utc: str
    deletion_id: str | None
    name: str
    notes: str


class CourseOverview(BaseModel):
    """A course at a glance; `more_runs`: the newest 300 are told, there are others."""

    course: CourseSeen
    days: list[DaySeen]
    participants: list[ParticipantSeen]
    drills: list[DrillRun]
    runs: list[RunSeen]
    more_runs: bool


class OwnKit(BaseModel):
    """A piece of kit that belongs to a person."""

    id: str
    label: str
    kind: str
    state: str


class CourseOfPerson(BaseModel):
    """A course a person has a part in."""

    id: str
    name: str
    role: str
    first_date: str | None


class PersonOverview(BaseModel):
    """A person at a glance."""

    runs: int
    kit: list[OwnKit]
    courses: list[CourseOfPerson]


def router(database: Database) -> APIRouter:
    """Return the routes."""
    api = APIRouter(prefix="/api")

    @api.get("/overview", response_model=FirstLook, responses=documented(422), tags=["overview"])
    def first_look(
        today: Annotated[Day | None, Query(description="The reader's date; without it that of UTC.")] = None,
        limit: Annotated[int, Query(ge=1, le=50)] = 5,
    ) -> dict[str, Any]:
        """Tell how much there is, what was changed and held last, and what comes next."""
        return overview.first_look(database, today=today, limit=limit)

    @api.get(
        "/courses/{course_id}/overview",
        response_model=CourseOverview,
        responses=documented(404, 422),
        tags=["courses"],
    )
    def course_overview(course_id: Id) -> dict[str, Any]:
        """Tell a course's days, drills, runs and participants."""
        return overview.course_overview(database, course_id)

    @api.get(
        "/people/{person_id}/overview",
        response_model=PersonOverview,
        responses=documented(404, 422),
        tags=["people"],
    )
    def person_overview(person_id: Id) -> dict[str, Any]:
        """Tell a person's courses, their kit and in how many runs they searched."""
        return overview.person_overview(database, person_id)

    return api
