"""Routes that play a few runs immediately; rehearsals themselves are jobs."""

from __future__ import annotations

import asyncio
import threading
from typing import Annotated, Any

from anyio import CapacityLimiter, to_thread
from anyio.lowlevel import RunVar
from fastapi import APIRouter, Request, Response
from pydantic import Field

from coldfield.app.jobs.jobs import Jobs
from coldfield.app.rehearsals.answers import LiveAnswer, OneRehearsal, TraceAnswer
from coldfield.app.rehearsals.kept import KeptMinutes, kept_minutes
from coldfield.app.rehearsals.rehearsal_csv import rehearsal_csv
from coldfield.errors import UnknownRecord
from coldfield.message import message
from coldfield.records.database import Database
from coldfield.web.problems import documented, problem
from coldfield.web.routes.computing import OnDrill
from coldfield.web.routes.records import Id


class TraceRequest(OnDrill):
    """One run of a rehearsal."""

    run: Annotated[int, Field(ge=0, lt=1_000_000)]
    seed: Annotated[int, Field(ge=0, lt=2**53)] = 1
    strip_width_m: Annotated[float, Field(ge=5, le=200)] | None = None
    anywhere: bool = False


class LiveRequest(OnDrill):
    """A drill that is being changed; `settled` once nothing moves, until then at most `most_runs`."""

    settled: bool = False
    most_runs: Annotated[int, Field(ge=20, le=200)] | None = None


GETTING_READY = message("fault.rehearsal_getting_ready")

AT_A_TIME = 2
"""The number of these requests that are computed at a time; others wait. Setting."""

GONE_S = 0.02
"""How often to check whether somebody still waits for the answer, s. Setting."""

_playing: RunVar[CapacityLimiter] = RunVar("coldfield_live_minutes")


def router(database: Database, jobs: Jobs) -> APIRouter:
    """Return the routes."""
    api = APIRouter(prefix="/api", tags=["computing"])
    _live(api)
    _kept(api, database)
    _table(api, jobs)

    @api.post("/rehearsal-trace", responses=documented(413, 422))
    def rehearsal_trace(asked: TraceRequest) -> TraceAnswer:
        """Play one run of a rehearsal again, with everybody's line."""
        from coldfield.app.rehearsals.trace import trace_answer

        return trace_answer(
            asked.read(),
            run=asked.run,
            seed=asked.seed,
            strip_width_m=asked.strip_width_m,
            anywhere=asked.anywhere,
        )

    return api


def _live(api: APIRouter) -> None:
    @api.post("/minutes", response_model=LiveAnswer, responses=documented(413, 422, 503))
    async def minutes(asked: LiveRequest, request: Request) -> Any:
        """Return quickly how long the group will need, from a few runs, or from all runs once settled.

        The work ends if the client closes the connection because the drill has changed again.
        """
        from coldfield.app.rehearsals.live import live_minutes
        from coldfield.app.rehearsals.runs import kernel_ready

        if not kernel_ready():
            return problem(503, GETTING_READY, headers={"Retry-After": "1"})
        gone = threading.Event()

        def played() -> LiveAnswer:
            return live_minutes(
                asked.read(), settled=asked.settled, most_runs=asked.most_runs, cancelled=gone.is_set
            )

        playing = asyncio.ensure_future(to_thread.run_sync(played, limiter=_limiter()))
        while not playing.done():
            await asyncio.wait({playing}, timeout=GONE_S)
            if not playing.done() and await request.is_disconnected():
                gone.set()
        return await playing


def _kept(api: APIRouter, database: Database) -> None:
    @api.get("/drills/{drill_id}/minutes", responses=documented(404, 422), tags=["drills"])
    async def minutes_of_drill(drill_id: Id) -> KeptMinutes:
        """Return how long the group needs for a kept drill: the settled minutes of its page."""
        return await to_thread.run_sync(kept_minutes, database, drill_id, limiter=_limiter())


def _table(api: APIRouter, jobs: Jobs) -> None:
    @api.get("/rehearsals/{job_id}/minutes.csv", response_class=Response, include_in_schema=False)
    def rehearsal_table(job_id: Id) -> Response:
        """Return the minutes of a finished job 'rehearse' as CSV."""
        result = jobs.get(job_id).result
        if not isinstance(result, OneRehearsal):
            raise UnknownRecord(message("fault.no_rehearsal_result"))
        kept = {"content-disposition": "attachment"}  # the link names the file after the drill
        return Response(rehearsal_csv(result), media_type="text/csv; charset=utf-8", headers=kept)


def _limiter() -> CapacityLimiter:
    try:
        return _playing.get()
    except LookupError:
        limiter = CapacityLimiter(AT_A_TIME)
        _playing.set(limiter)
        return limiter
