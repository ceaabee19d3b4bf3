"""Routes for the Hearing part of a drill: the map, flux lines, overlapping pulses."""

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
    """The searcher, the burials and the resolution of a map."""

    searcher: Name | None = None
    burials: Annotated[list[Name], Field(max_length=20)] | None = None
    lines: Annotated[int, Field(ge=2, le=200)] = 200
    margin_m: Annotated[float, Field(ge=0, le=200)] = 10.0
    height_m: Annotated[float, Field(ge=0, le=10)] | None = None
    heading_deg: Annotated[float, Field(ge=-360, le=360)] = 0.0


class FluxLineRequest(OnDrill):
    """The start of a walk along the direction, and its burial; without one, each in turn."""

    from_m: PointM
    burial: Name | None = None
    searcher: Name | None = None


class OverlapRequest(OnDrill):
    """The time in which overlaps are counted, and the time for which each pulse is listed."""

    duration_s: Annotated[float, Field(ge=1, le=3600)] = 600.0
    window_s: Annotated[float, Field(ge=1, le=60)] = 12.0


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadyAnswer:
    """Whether the map is ready: after an installation, its first start takes half a minute."""

    hearing_map: bool


class NeighbourRequest(OnDrill):
    """The recorded drill that takes place at the same time."""

    neighbour_id: RecordId


def router(database: Database, readiness: Readiness | None = None) -> APIRouter:
    """Return the routes; until `readiness` is ready, the map is coarser, so that nobody waits."""
    api = APIRouter(prefix="/api", tags=["hearing"])
    _computes(api, readiness)
    _neighbours(api, database)
    return api


def _computes(api: APIRouter, readiness: Readiness | None) -> None:
    @api.get("/ready")
    def ready() -> ReadyAnswer:
        """Return whether the loops of the hearing map are compiled; until then it is coarser."""
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
        """Return a receiver's readings over the whole ground, packed as described in docs/hearing.md.

        Until the loops are compiled, the map is coarser, and its header says `plain`.
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
        """Walk along the direction from a place to a burial, or to each one heard there."""
        from coldfield.app.hearing.flux_lines import flux_lines_from

        place = (asked.from_m[0], asked.from_m[1])
        return flux_lines_from(asked.read(), place, burial=asked.burial, searcher=asked.searcher)

    @api.post("/overlap", responses=documented(413, 422))
    def overlap(asked: OverlapRequest) -> OverlapInTimeAnswer:
        """Return when the sets hide each other's pulses, and how much in the long run."""
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
        """List the recorded drills whose origin is near a place, nearest first."""
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
        """Return the sets of a recorded drill that are heard on this one's ground, and what they hide."""
        from coldfield.app.hearing.neighbours import neighbour_on_record

        return neighbour_on_record(database, asked.read(), asked.neighbour_id)
