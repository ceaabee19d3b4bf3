"""The route that plays one run of a rehearsal again; rehearsals themselves are jobs."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter
from pydantic import Field

from coldfield.app.rehearsals.answers import TraceAnswer
from coldfield.web.problems import documented
from coldfield.web.routes.computing import OnDrill


class TraceRequest(OnDrill):
    """Which run of which rehearsal."""

    run: Annotated[int, Field(ge=0, lt=1_000_000)]
    seed: Annotated[int, Field(ge=0, lt=2**53)] = 1
    strip_width_m: Annotated[float, Field(ge=5, le=200)] | None = None
    anywhere: bool = False


def router() -> APIRouter:
    """Return the routes."""
    api = APIRouter(prefix="/api", tags=["computing"])

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
