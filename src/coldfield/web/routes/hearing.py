"""Routes of the Hearing part of a drill: the map, flux lines, overlapping pulses."""

from __future__ import annotations

from dataclasses import dataclass
from math import radians
from typing import Annotated

from fastapi import APIRouter, Query, Response
from pydantic import Field

from coldfield.app.hearing.answers import FluxLinesAnswer, NeighbourAnswer, OverlapInTimeAnswer
from coldfield.app.hearing.readiness import Readiness
from coldfield.files.drill_model import PointM
from coldfield.records.database import Database
from coldfield.records.forms import RecordId
from coldfield.records.near import NearDrill
from coldfield.web.problems import documented
from coldfield.web.routes.computing import OnDrill

Name = Annotated[str, Field(min_length=1, max_length=200)]


class HearingMapRequest(OnDrill):
    """Whose map, of which burials, how fine."""

    searcher: Name | None = None
    burials: Annotated[list[Name], Field(max_length=20)] | None = None
    lines: Annotated[int, Field(ge=2, le=200)] = 200
    margin_m: Annotated[float, Field(ge=0, le=200)] = 10.0
    height_m: Annotated[float, Field(ge=0, le=10)] | None = None
    heading_deg: Annotated[float, Field(ge=-360, le=360)] = 0.0


class FluxLineRequest(OnDrill):
    """Where a walk along the direction starts, and to which burial; without one, to each."""

    from_m: PointM
    burial: Name | None = None
    searcher: Name | None = None


class OverlapRequest(OnDrill):
    """How long overlaps are looked for, and for how long each pulse is told."""

    duration_s: Annotated[float, Field(ge=1, le=3600)] = 600.0
    window_s: Annotated[float, Field(ge=1, le=60)] = 12.0


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadyAnswer:
    """What is ready: after the first start of an installation the map takes half a minute."""

    hearing_map: bool


class NeighbourRequest(OnDrill):
    """Which recorded drill takes place at the same time."""

    neighbour_id: RecordId


def router(database: Database, readiness: Readiness | None = None) -> APIRouter:
    """Return the routes; until `readiness` is there the map says so instead of making people wait."""
    api = APIRouter(prefix="/api", tags=["hearing"])
    _computes(api, readiness)
    _neighbours(api, database)
    return api


def _computes(api: APIRouter, readiness: Readiness | None) -> None:
    @api.get("/ready")
    def ready() -> ReadyAnswer:
        """Tell whether the loops of the hearing map are compiled: until then it is coarse."""
        return ReadyAnswer(hearing_map=readiness is None or readiness.ready)

    @api.post(
        "/hearing-map",
        response_class=Response,
        responses={
            200: {
                "content": {"application/octet-stream": {"schema": {"type": "string", "format": "binary"}}}
            },
            **documented(404, 413, 422, 503),
        },
    )
    def hearing_map(asked: HearingMapRequest) -> Response:
        """Tell over the whole ground what a receiver reads; packed as docs/hearing.md describes.

        Until the loops behind it are compiled the map is coarser, and its header says `plain`.
        """
        from coldfield.app.hearing.map import hearing_map_bytes

        content = hearing_map_bytes(
            asked.read(anywhere=True),
            searcher=asked.searcher,
            burials=asked.burials,
            lines=asked.lines,
            margin_m=asked.margin_m,
            height_m=asked.height_m,
            heading_rad=radians(asked.heading_deg),
            plain=readiness is not None and not readiness.ready,
        )
        return Response(content, media_type="application/octet-stream")

    @api.post("/flux-line", responses=documented(404, 413, 422))
    def flux_line(asked: FluxLineRequest) -> FluxLinesAnswer:
        """Walk along the direction from a place to a burial, or to each that is heard there."""
        from coldfield.app.hearing.flux_lines import flux_lines_from

        place = (asked.from_m[0], asked.from_m[1])
        return flux_lines_from(asked.read(), place, burial=asked.burial, searcher=asked.searcher)

    @api.post("/overlap", responses=documented(413, 422))
    def overlap(asked: OverlapRequest) -> OverlapInTimeAnswer:
        """Tell when which sets hide each other's pulses, and how much in the long run."""
        from coldfield.app.hearing.overlap import overlap_in_time

        return overlap_in_time(asked.read(), duration_s=asked.duration_s, window_s=asked.window_s)


def _neighbours(api: APIRouter, database: Database) -> None:
    @api.get("/neighbours", responses=documented(422))
    def near(
        latitude_deg: Annotated[float, Query(ge=-89, le=89)],
        longitude_deg: Annotated[float, Query(ge=-180, le=180)],
        within_m: Annotated[float, Query(ge=0, le=2000)] = 500.0,
        without: Annotated[RecordId | None, Query(description="The drill that is asked for.")] = None,
    ) -> list[NearDrill]:
        """List the recorded drills whose origin lies near a place, the nearest first."""
        from coldfield.app.hearing.neighbours import near_drills

        return near_drills(
            database,
            latitude_deg=latitude_deg,
            longitude_deg=longitude_deg,
            within_m=within_m,
            without=without,
        )

    @api.post("/neighbours", responses=documented(404, 413, 422))
    def effect(asked: NeighbourRequest) -> NeighbourAnswer:
        """Tell which sets of a recorded drill are heard on this one's ground, and what they hide."""
        from coldfield.app.hearing.neighbours import neighbour_on_record

        return neighbour_on_record(database, asked.read(), asked.neighbour_id)
