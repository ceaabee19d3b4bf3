"""Routes of the kit: a recorded pulse."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Request

from coldfield.app.kit.pulse import PulseAnswer, pulse_of
from coldfield.beacon.pulse_limits import Source
from coldfield.web.problems import documented
from coldfield.web.routes.ground import A_FILE, FileName


def router() -> APIRouter:
    """Return the routes."""
    api = APIRouter(prefix="/api", tags=["kit"])

    @api.post("/pulse", responses=documented(413, 422), openapi_extra=A_FILE)
    async def pulse(
        request: Request,
        file_name: FileName = "recording.wav",
        recorded_from: Annotated[Source, Query(alias="from")] = "unknown",
    ) -> PulseAnswer:
        """Tell a set's pulses from a WAV file, the body: what `coldfield pulse --json` prints."""
        from starlette.concurrency import run_in_threadpool

        return await run_in_threadpool(pulse_of, await request.body(), file_name, recorded_from=recorded_from)

    return api
