"""Routes for gathering a run: dropped tracks and splits, whose each track is, the state of the debrief."""

from __future__ import annotations

from typing import Annotated, Any, get_type_hints

from fastapi import APIRouter, Query, Request, Response
from pydantic import create_model
from starlette.concurrency import run_in_threadpool

from coldfield.app.answers import plain
from coldfield.app.debriefs import gather, split_files
from coldfield.app.debriefs.from_records import Standing, standing
from coldfield.app.debriefs.track_measures import FileContents
from coldfield.app.jobs.jobs import Jobs
from coldfield.app.jobs.stages import Progress
from coldfield.app.records import reading as records
from coldfield.errors import Conflict
from coldfield.message import message
from coldfield.records.database import Database
from coldfield.records.forms import RecordId
from coldfield.records.kinds.tracks import TrackTold
from coldfield.records.stored import StoredTrack
from coldfield.web.problems import documented
from coldfield.web.routes.jobs import BECAME_A_JOB
from coldfield.web.routes.records import ETAG, Id, IfMatch
from coldfield.web.soon import soon
from coldfield.web.turns import in_turn, writes

BYTES = {
    "requestBody": {
        "required": True,
        "content": {"application/octet-stream": {"schema": {"type": "string", "format": "binary"}}},
    }
}
_CSV = {"requestBody": {"required": True, "content": {"text/csv": {"schema": {"type": "string"}}}}}

FileName = Annotated[str, Query(min_length=1, max_length=255)]


_CONTENTS: dict[str, Any] = {name: (kind, ...) for name, kind in get_type_hints(FileContents).items()}

GatheredTrack = create_model(
    "GatheredTrack",
    __base__=StoredTrack,
    __doc__="A track of a run with what is in its file; `at_once`: two of its tracks cover the same minutes; "
    "`measured`: false where its file is still to be read, by the next list; `also_in`: other runs that keep "
    "the same file.",
    measured=(bool, ...),
    also_in=(list[gather.SameTrack], ...),
    **_CONTENTS,
)


def router(database: Database, jobs: Jobs) -> APIRouter:
    """Return the routes."""
    api = APIRouter(prefix="/api")
    _tracks(api, database, jobs)
    _told(api, database)
    _splits(api, database)
    _looks(api, database)
    return api


def _tracks(api: APIRouter, database: Database, jobs: Jobs) -> None:
    @api.post(
        "/runs/{run_id}/tracks",
        response_model=gather.DroppedTracks,
        responses={**BECAME_A_JOB, **documented(404, 413, 422, 503, 507)},
        openapi_extra=BYTES,
        tags=["runs"],
    )
    async def drop_tracks(run_id: Id, request: Request, file_name: FileName) -> Any:
        """Keep a recorded file, or each file of a zip, and guess whose they are; a repeat changes nothing."""
        content = await request.body()

        def drop(progress: Progress) -> gather.DroppedTracks:
            return gather.drop_tracks(database, run_id, file_name, content, progress=progress)

        order = {"work": "tracks", "of": run_id, "file_name": file_name}
        return await soon(jobs, "tracks", drop, order=order)

    @api.get(
        "/runs/{run_id}/tracks",
        response_model=list[GatheredTrack],  # type: ignore[valid-type]
        responses=documented(404, 422),
        tags=["runs"],
    )
    def list_run_tracks(run_id: Id) -> list[dict[str, Any]]:
        """List the tracks of a run with the contents of their files."""
        return [
            {
                **one.record,
                **plain(one.contents or FileContents()),
                "measured": one.contents is not None,
                "also_in": plain(one.also_in),
            }
            for one in gather.tracks_of_run(database, run_id)
        ]


def _told(api: APIRouter, database: Database) -> None:
    @api.put(
        "/tracks/{record_id}",
        response_model=StoredTrack,
        responses={200: {"headers": ETAG}, **documented(404, 412, 422, 503, 507)},
        operation_id="tell_tracks",
        tags=["tracks"],
    )
    @writes
    def tell_track(
        record_id: Id,
        told: TrackTold,
        response: Response,
        if_match: IfMatch = None,
        confirmed: Annotated[bool, Query(description="What was guessed is right.")] = False,
    ) -> dict[str, Any]:
        """Set whose a track is and the error of its clock; its file does not change."""
        if if_match is None:
            raise Conflict(message("fault.name_the_version"), version=None, based_on=0)
        based_on = int(if_match.strip('"'))
        fields = told.model_dump()
        put = gather.tell_track(database, record_id, fields, confirmed=confirmed, based_on=based_on)
        response.headers["ETag"] = f'"{put.record["version"]}"'
        return put.record


def _splits(api: APIRouter, database: Database) -> None:
    @api.post(
        "/runs/{run_id}/splits/read",
        responses=documented(404, 413, 422),
        openapi_extra=_CSV,
        tags=["runs"],
    )
    async def read_splits(run_id: Id, request: Request) -> split_files.SplitFile:
        """Read splits and observations from CSV and return them; nothing is kept."""
        content = await request.body()
        return await run_in_threadpool(split_files.read_split_file, database, run_id, content)

    @api.post(
        "/runs/{run_id}/splits/keep",
        responses=documented(404, 413, 422, 503, 507),
        openapi_extra=_CSV,
        tags=["runs"],
    )
    async def keep_splits(run_id: Id, request: Request) -> split_files.KeptSplits:
        """Keep the splits and observations of a CSV, all or none; a repeat changes nothing."""
        content = await request.body()
        return await in_turn(split_files.keep_split_file, database, run_id, content)


def _looks(api: APIRouter, database: Database) -> None:
    @api.get(
        "/runs/{run_id}/standing",
        responses=documented(404, 422),
        tags=["runs"],
    )
    def run_standing(run_id: Id) -> Standing:
        """Return the state of a run's debrief."""
        return standing(database, run_id)

    @api.get("/overview/runs", responses=documented(404, 422), tags=["runs"])
    def list_runs_at_a_glance(
        words: Annotated[str, Query(max_length=200)] = "",
        after: Annotated[RecordId | None, Query()] = None,
        limit: Annotated[int, Query(ge=1, le=200)] = 50,
    ) -> records.RunsAtAGlance:
        """List runs with drill, day, people and debrief, newest first; all `words` must match."""
        return records.glance(database, words=words, after=after, limit=limit)
