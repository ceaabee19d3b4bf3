"""Routes for the kit: a recorded pulse, range tests, what is due."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from fastapi import APIRouter, Query, Request

from coldfield.app.kit.pulse import RecordedPulse, pulse_of
from coldfield.app.kit.range_tests import KitRanges, kit_ranges
from coldfield.app.kit.range_track import TrackRange, track_ranges
from coldfield.app.kit.receivers import KitReceivers, kit_receivers
from coldfield.beacon.pulse_limits import Source
from coldfield.records.database import Database
from coldfield.records.forms import Day
from coldfield.web.problems import documented
from coldfield.web.routes.ground import A_FILE, FileName


@dataclass(frozen=True, slots=True, kw_only=True)
class TrackRanges:
    """The lines in a file, each from the set to where its signal was last stable."""

    ranges: tuple[TrackRange, ...]


def router(database: Database) -> APIRouter:
    """Return the routes."""
    api = APIRouter(prefix="/api", tags=["kit"])
    _pulse(api)

    @api.get("/kit-ranges", responses=documented(422))
    def ranges(today: Day | None = None) -> KitRanges:
        """Return what is due, the drift of each set's range, and the effect of the weakest on the width."""
        return kit_ranges(database, today)

    @api.get("/kit-receivers")
    def receivers() -> KitReceivers:
        """Return the range of each set of the kit as a receiver of a drill."""
        return kit_receivers(database)

    @api.post("/range-from-track", responses=documented(413, 422), openapi_extra=A_FILE)
    async def from_track(request: Request, file_name: FileName) -> TrackRanges:
        """Return how far each recorded line leads; the body is the file (GPX, FIT, CSV or zip)."""
        from starlette.concurrency import run_in_threadpool

        return TrackRanges(ranges=await run_in_threadpool(track_ranges, await request.body(), file_name))

    return api


def _pulse(api: APIRouter) -> None:

    @api.post("/pulse", responses=documented(413, 422), openapi_extra=A_FILE)
    async def pulse(
        request: Request,
        file_name: FileName = "recording.wav",
        recorded_from: Annotated[Source, Query(alias="from")] = "unknown",
    ) -> RecordedPulse:
        """Return a set's pulses from a WAV file, the body, as `coldfield pulse --json` prints them."""
        from starlette.concurrency import run_in_threadpool

        return await run_in_threadpool(pulse_of, await request.body(), file_name, recorded_from=recorded_from)
