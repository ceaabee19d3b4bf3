"""Routes for long work: start, read, follow, cancel."""

from __future__ import annotations

from collections.abc import AsyncIterator, Callable, Mapping
from dataclasses import dataclass
from functools import partial
from typing import Annotated, Any, Literal, cast

import anyio
from fastapi import APIRouter, Response
from fastapi.responses import StreamingResponse
from pydantic import Field, TypeAdapter

from coldfield.app.answers import IF_ASKED, fields_of, json_text
from coldfield.app.coaching.answers import CoachAnswer
from coldfield.app.coaching.coach import coach_arguments
from coldfield.app.coaching.group_runs import GroupRuns, group_runs
from coldfield.app.coaching.last_run import last_run
from coldfield.app.coaching.proposing import ProposedAnswer, Wanted, check_wanted
from coldfield.app.debriefs.from_records import KeptDebrief, debrief_arguments
from coldfield.app.debriefs.gather import DroppedTracks
from coldfield.app.demo.fill import refuse_unless_empty
from coldfield.app.demo.records import MadeDemo
from coldfield.app.jobs.job import ENDED, Job, JobStanding
from coldfield.app.jobs.jobs import Jobs
from coldfield.app.rehearsals.answers import RehearsalAnswer
from coldfield.coaching.exercises import Wish
from coldfield.files.drill_json import drill_of_part
from coldfield.files.drill_model import DrillPart
from coldfield.records.archive_in import BroughtIn
from coldfield.records.database import Database
from coldfield.records.forms import Day, Form, RecordId
from coldfield.records.store import Put
from coldfield.records.stored import StoredGrid, StoredPicture, StoredTrack
from coldfield.web.problems import documented
from coldfield.web.routes.records import Id

MOST_RUNS = 1_000_000
LOOK_EVERY_S = 0.2
LONGEST_STREAM_S = 600.0


_EVENT = {
    "type": "object",
    "description": "`data` is a job as JSON, without its result.",
    "properties": {name: {"type": "string"} for name in ("event", "id", "data")},
    "required": ["event", "id", "data"],
}


class RehearseOrder(Form):
    """Play a drill many times; the result is that of `coldfield rehearse --json`.

    `worth` also plays every change, to find what helps most. `before`, the drill before a change, is
    rehearsed with the same draws for comparison. `own_of` uses the own figures of a course, '' those of
    everybody on record, null the settings.
    """

    work: Literal["rehearse"]
    drill: DrillPart
    runs: Annotated[int, Field(ge=1, le=MOST_RUNS)] = 1000
    seed: Annotated[int, Field(ge=0, lt=2**53)] = 1
    strip_width_m: Annotated[float, Field(ge=1, le=200)] | None = None
    anywhere: bool = False
    worth: bool = False
    before: DrillPart | None = None
    own_of: RecordId | Literal[""] | None = None

    def arguments(self, database: Database) -> dict[str, Any]:
        """Return the arguments of `rehearse_work`; raise `BadInput` if a drill cannot be used."""
        return {
            **self.model_dump(exclude={"work", "drill", "before", "own_of"}),
            "drill": drill_of_part(self.drill),
            "before": None if self.before is None else drill_of_part(self.before),
            "group": _group(database, self.own_of),
        }


class CoachOrder(Form):
    """Learn from the runs of a course (null: of everybody on record): progress, standards, what to practise.

    `today` is the reader's date; default: that of UTC.
    """

    work: Literal["coach"]
    course_id: RecordId | None = None
    today: Day | None = None


class ProposeOrder(Form):
    """Propose drills like this one; the result is that of `coldfield propose --json`.

    `own_of` judges with the own figures of a course, '' those of everybody on record, null the settings.
    """

    work: Literal["propose"]
    drill: DrillPart
    p90_min: Annotated[list[float], Field(min_length=2, max_length=2)] | None = None
    wish: Annotated[list[Wish], Field(max_length=4, default_factory=list)]
    found_min: Annotated[float, Field(ge=0, le=1)] = 0.95
    seed: Annotated[int, Field(ge=0, lt=2**53)] = 1
    harder: bool = False
    ladder: Annotated[int, Field(ge=0, le=6)] = 0
    own_of: RecordId | Literal[""] | None = None


class DebriefOrder(Form):
    """Debrief a recorded run; the debrief is kept under the job's id, which the result contains."""

    work: Literal["debrief"]
    run_id: RecordId


class DemoOrder(Form):
    """Fill empty records with the demo's invented ones; refused if there are people or drills."""

    work: Literal["demo"]


class FileOrder(Form):
    """A file that was sent to its own route, and whose reading became a job."""

    work: Literal["import", "tracks", "grid", "picture"]
    of: RecordId | None = None
    file_name: str
    dry_run: bool = False


Order = Annotated[
    RehearseOrder | CoachOrder | ProposeOrder | DebriefOrder | DemoOrder, Field(discriminator="work")
]


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptTrack:
    """The record of a recorded track that was kept."""

    created: bool
    track: StoredTrack  # type: ignore[valid-type]


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptGrid:
    """The record of an elevation grid that was kept."""

    created: bool
    record: StoredGrid  # type: ignore[valid-type]


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptPicture:
    """The record of a picture that was kept."""

    created: bool
    picture: StoredPicture  # type: ignore[valid-type]


Result = (
    RehearsalAnswer
    | CoachAnswer
    | ProposedAnswer
    | KeptDebrief
    | MadeDemo
    | BroughtIn
    | DroppedTracks
    | KeptTrack
    | KeptGrid
    | KeptPicture
)
Ordered = RehearseOrder | CoachOrder | ProposeOrder | DebriefOrder | DemoOrder | FileOrder
_ORDER: TypeAdapter[Ordered] = TypeAdapter(Ordered)


@dataclass(frozen=True, slots=True, kw_only=True)
class JobTold(JobStanding):
    """The state of a job, with its result once it is done, and its order if requested."""

    result: Result | None = None
    order: Annotated[Ordered | None, IF_ASKED] = None


BECAME_A_JOB: dict[int | str, dict[str, Any]] = {
    202: {"model": JobStanding, "description": "It takes longer than a few seconds and became a job."}
}
"""The alternative answer of a route that accepts a file."""


def router(database: Database, jobs: Jobs) -> APIRouter:
    """Return the routes."""
    api = APIRouter(prefix="/api/jobs", tags=["jobs"])

    @api.get("", responses=documented())
    def list_jobs() -> list[JobStanding]:
        """List jobs, newest first, without their results."""
        return [jobs.standing(job) for job in jobs.all()]

    @api.put("/{job_id}", status_code=202, responses=documented(404, 409, 413, 422))
    def start_job(job_id: Id, order: Order) -> JobTold:
        """Start long work under an id of your choice; repeating an order returns the same job."""
        asked = order.model_dump(exclude_unset=True)
        return _told(
            jobs, jobs.submit(job_id, order.work, order=asked, arguments=_arguments(database, order))
        )

    @api.get("/{job_id}", response_model_exclude_unset=True, responses=documented(404, 422))
    def read_job(job_id: Id, with_order: bool = False) -> JobTold:
        """Return the state of a job, with its result once it is done and, with `with_order`, its order."""
        return _told(jobs, jobs.get(job_id), with_order=with_order)

    @api.post("/{job_id}/cancel", responses=documented(404, 422))
    def cancel_job(job_id: Id) -> JobStanding:
        """Cancel a job; a finished one stays as it is."""
        return jobs.standing(jobs.cancel(job_id))

    @api.get(
        "/{job_id}/events",
        response_class=Response,
        responses={
            200: {"content": {"text/event-stream": {"schema": _EVENT}}},
            **documented(404, 422),
        },
    )
    async def follow_job(job_id: Id) -> StreamingResponse:
        """Follow a job: one event 'job' for each change, the last one when it has ended."""
        jobs.get(job_id)
        return StreamingResponse(_events(jobs, job_id), media_type="text/event-stream")

    return api


def _told(jobs: Jobs, job: Job, *, with_order: bool = False) -> JobTold:
    return JobTold(
        **fields_of(jobs.standing(job)),
        result=_result(job),
        order=_ORDER.validate_python(job.order) if with_order else None,
    )


def _result(job: Job) -> Result | None:
    """Return the result of a job; kept records have the form of the record routes."""
    kept = job.result
    if not isinstance(kept, Put):
        return cast("Result | None", kept)
    if job.work == "grid":
        return KeptGrid(created=kept.created, record=StoredGrid.model_validate(kept.record))
    if job.work == "picture":
        return KeptPicture(created=kept.created, picture=StoredPicture.model_validate(kept.record))
    return KeptTrack(created=kept.created, track=StoredTrack.model_validate(kept.record))


def _arguments(database: Database, order: Order) -> Callable[[], Mapping[str, Any]]:
    """Return a function that returns the arguments of an order's job, or refuses the order."""
    if isinstance(order, DebriefOrder):
        return partial(debrief_arguments, database, order.run_id)
    if isinstance(order, DemoOrder):
        return partial(_demo_arguments, database)
    if isinstance(order, CoachOrder):
        return partial(coach_arguments, database, order.course_id, order.today)
    if isinstance(order, ProposeOrder):
        return partial(_propose_arguments, database, order)
    return partial(order.arguments, database)


def _propose_arguments(database: Database, order: ProposeOrder) -> dict[str, Any]:
    minutes = order.p90_min
    wanted = Wanted(
        p90_min=None if minutes is None else (minutes[0], minutes[1]),
        wish=tuple(dict.fromkeys(order.wish)),
        found_min=order.found_min,
        seed=order.seed,
        harder=order.harder,
        ladder=order.ladder,
    )
    check_wanted(wanted)
    drill, group = drill_of_part(order.drill), _group(database, order.own_of)
    last = last_run(group or group_runs(database), drill) if order.harder else None
    return {"drill": drill, "wanted": wanted, "group": group, "last": last}


def _group(database: Database, own_of: str | None) -> GroupRuns | None:
    """Return the runs of a course, '' for everybody on record; None if the settings are asked for."""
    return None if own_of is None else group_runs(database, own_of or None)


def _demo_arguments(database: Database) -> dict[str, Any]:
    refuse_unless_empty(database)
    return {}


async def _events(jobs: Jobs, job_id: str) -> AsyncIterator[str]:
    job = jobs.get(job_id)
    seen = -1
    with anyio.move_on_after(LONGEST_STREAM_S):
        while True:
            if job.revision != seen:
                told = jobs.standing(job)
                seen = told.revision
                yield f"id: {seen}\nevent: job\ndata: {json_text(told)}\n\n"
            if job.state in ENDED and job.revision == seen:
                return
            await anyio.sleep(LOOK_EVERY_S)
