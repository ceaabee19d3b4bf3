"""Routes for the data of a run: splits from phones, original tracks, debriefs; and a person's history."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Body, Query, Request, Response
from pydantic import Field, create_model

from coldfield.app.debriefs.kept import KeptDocument, kept_document
from coldfield.app.jobs.jobs import Jobs
from coldfield.app.jobs.stages import Progress
from coldfield.app.records import reading as records
from coldfield.app.records.history_csv import history_csv
from coldfield.files.drill_model import SearcherId
from coldfield.records.checking import read_form
from coldfield.records.database import Database
from coldfield.records.forms import Form, RecordId
from coldfield.records.history import HistoryEntry
from coldfield.records.kinds import KINDS
from coldfield.records.kinds.splits import SplitRecord
from coldfield.records.store import Put
from coldfield.records.stored import StoredTrack, stored_model
from coldfield.web.problems import documented
from coldfield.web.routes.jobs import BECAME_A_JOB
from coldfield.web.routes.records import ETAG, Id
from coldfield.web.soon import kept_soon
from coldfield.web.turns import writes

Number = Annotated[int, Field(ge=1, le=1_000_000)]

SplitItem = create_model(
    "SplitItem",
    __base__=Form,
    __doc__="One split with its own id; either `time_unix_s` (UTC) or `since_alarm_s`.",
    id=(RecordId, ...),
    **{name: (info.annotation, info) for name, info in SplitRecord.model_fields.items() if name != "run_id"},  # type: ignore[call-overload]
)


def router(database: Database, jobs: Jobs) -> APIRouter:
    """Return the routes."""
    api = APIRouter(prefix="/api")
    _splits(api, database)
    _tracks(api, database, jobs)
    _looks_back(api, database)
    return api


def _splits(api: APIRouter, database: Database) -> None:
    def add_splits(run_id: Id, splits: Any) -> list[dict[str, Any]]:
        """Add splits to a run, all or none, each id once, in any order; they can be sent again."""
        forms = [
            (one.id, read_form("splits", one.model_dump(exclude={"id"}) | {"run_id": run_id}))
            for one in splits
        ]
        return records.add_splits(database, run_id, forms)

    add_splits.__annotations__["splits"] = Annotated[
        list[SplitItem],  # type: ignore[valid-type]
        Body(min_length=1, max_length=500),
    ]
    api.post(
        "/runs/{run_id}/splits",
        response_model=list[stored_model(KINDS["splits"])],  # type: ignore[misc]
        responses=documented(404, 409, 413, 422, 503, 507),
        tags=["runs"],
    )(writes(add_splits))


def _tracks(api: APIRouter, database: Database, jobs: Jobs) -> None:
    model = StoredTrack

    @api.put(
        "/runs/{run_id}/tracks/{track_id}",
        response_model=model,
        responses={
            200: {"headers": ETAG},
            201: {"model": model, "description": "Created", "headers": ETAG},
            **BECAME_A_JOB,
            **documented(404, 409, 413, 422, 503, 507),
        },
        openapi_extra={
            "requestBody": {
                "required": True,
                "content": {"application/octet-stream": {"schema": {"type": "string", "format": "binary"}}},
            }
        },
        tags=["runs"],
    )
    async def keep_track(
        run_id: Id,
        track_id: Id,
        request: Request,
        response: Response,
        file_name: Annotated[str, Query(min_length=1, max_length=120)],
        searcher: Annotated[SearcherId | None, Query()] = None,
        person_id: Annotated[RecordId | None, Query()] = None,
    ) -> Any:
        """Keep a recorded track of a run; the body is the file as the phone or watch wrote it."""
        told = {"run_id": run_id, "file_name": file_name, "searcher": searcher, "person_id": person_id}
        content = await request.body()

        def keep(_progress: Progress) -> Put:
            return records.keep_track(database, track_id, content, told)

        order = {"work": "tracks", "of": run_id, "file_name": file_name}
        return await kept_soon(jobs, keep, order=order, response=response)


def _looks_back(api: APIRouter, database: Database) -> None:
    @api.get(
        "/people/{person_id}/history",
        responses=documented(404, 422),
        tags=["people"],
    )
    def person_history(
        person_id: Id,
        before: Annotated[RecordId | None, Query(description="The run_id of the last entry seen.")] = None,
        limit: Annotated[int, Query(ge=1, le=200)] = 50,
    ) -> list[HistoryEntry]:
        """List the runs in which a person searched, newest first, with their split times."""
        return records.history(database, person_id, before=before, limit=limit)

    @api.get(
        "/people/{person_id}/history.csv",
        response_class=Response,
        responses={200: {"content": {"text/csv": {"schema": {"type": "string"}}}}, **documented(404, 422)},
        tags=["people"],
    )
    def person_history_table(person_id: Id) -> Response:
        """Tabulate all runs a person searched in: a line for each split time and each phase."""
        kept = {"content-disposition": "attachment"}  # the link names the file after the person
        text = history_csv(database, person_id)
        return Response(text.encode(), media_type="text/csv; charset=utf-8", headers=kept)

    @api.get("/debriefs/{debrief_id}/document", responses=documented(404, 422), tags=["debriefs"])
    def debrief_document(debrief_id: Id) -> KeptDocument:
        """Return a debrief for the page; fields that an earlier version did not have are filled in."""
        return kept_document(database, debrief_id)

    @api.get("/drills/{drill_id}/versions/{number}", responses=documented(404, 422), tags=["drills"])
    def drill_version(drill_id: Id, number: Number) -> dict[str, Any]:
        """Return the drill file of one version."""
        return records.drill_version(database, drill_id, number)
