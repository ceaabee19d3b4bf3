"""Routes for the ground: a boundary from a file, elevation grids and pictures."""

from __future__ import annotations

from dataclasses import dataclass
from math import radians
from typing import Annotated, Any

from fastapi import APIRouter, Query, Request, Response

from coldfield.app.ground import on_record as site_ground
from coldfield.app.ground import pictures as site_pictures
from coldfield.app.ground.answers import GroundUnderAnswer
from coldfield.app.jobs.jobs import Jobs
from coldfield.app.jobs.stages import Progress
from coldfield.drill.site import Origin
from coldfield.errors import Conflict
from coldfield.files.drill_model import SitePart
from coldfield.message import message
from coldfield.records.database import Database
from coldfield.records.forms import RecordId
from coldfield.records.kinds.pictures import PictureTold
from coldfield.records.store import Put
from coldfield.records.stored import StoredGrid, StoredPicture
from coldfield.web.problems import documented
from coldfield.web.routes.computing import OnDrill
from coldfield.web.routes.jobs import BECAME_A_JOB
from coldfield.web.routes.records import ETAG, Id, IfMatch
from coldfield.web.soon import kept_soon
from coldfield.web.turns import writes

FileName = Annotated[str, Query(min_length=1, max_length=120)]
A_FILE: dict[str, Any] = {
    "requestBody": {
        "required": True,
        "content": {"application/octet-stream": {"schema": {"type": "string", "format": "binary"}}},
    }
}


@dataclass(frozen=True, slots=True, kw_only=True)
class BoundaryAnswer:
    """A site with the ground of a file: level, with the file's named points as anchors."""

    site: SitePart


def router(database: Database, jobs: Jobs) -> APIRouter:
    """Return the routes."""
    api = APIRouter(prefix="/api", tags=["ground"])
    _boundary(api)
    _grids(api, database, jobs)
    _pictures(api, database, jobs)
    return api


def _boundary(api: APIRouter) -> None:
    @api.post(
        "/boundary",
        responses=documented(413, 422),
        openapi_extra=A_FILE,
    )
    async def boundary(
        request: Request,
        file_name: FileName,
        latitude_deg: Annotated[float | None, Query(ge=-89, le=89)] = None,
        longitude_deg: Annotated[float | None, Query(ge=-180, le=180)] = None,
        elevation_m: Annotated[float, Query(ge=-500, le=9000)] = 0.0,
    ) -> BoundaryAnswer:
        """Read the ground from a GeoJSON or GPX file; the body is the file.

        The origin `latitude_deg`, `longitude_deg` is kept if the ground is near it.
        """
        from starlette.concurrency import run_in_threadpool

        from coldfield.app.drills.new import site_from
        from coldfield.files.drill_parts import site_value

        near = None
        if latitude_deg is not None and longitude_deg is not None:
            near = Origin(
                latitude_rad=radians(latitude_deg),
                longitude_rad=radians(longitude_deg),
                elevation_m=elevation_m,
            )
        site = await run_in_threadpool(site_from, await request.body(), file_name, near=near)
        return BoundaryAnswer(site=SitePart.model_validate(site_value(site)))


def _grids(api: APIRouter, database: Database, jobs: Jobs) -> None:
    model = StoredGrid

    @api.put(
        "/drills/{drill_id}/grids/{grid_id}",
        response_model=model,
        responses={
            200: {"headers": ETAG},
            201: {"model": model, "description": "Created", "headers": ETAG},
            **BECAME_A_JOB,
            **documented(404, 409, 413, 422, 503, 507),
        },
        openapi_extra=A_FILE,
    )
    async def keep_grid(
        drill_id: Id,
        grid_id: Id,
        request: Request,
        response: Response,
        file_name: FileName,
        crs: Annotated[str | None, Query(min_length=1, max_length=5000)] = None,
    ) -> Any:
        """Keep an elevation grid with a drill; the body is the file (ESRI ASCII or GeoTIFF)."""
        told = {"drill_id": drill_id, "file_name": file_name, "crs": crs}
        content = await request.body()

        def keep(progress: Progress) -> Put:
            return site_ground.keep_grid(database, grid_id, content, told, progress=progress)

        order = {"work": "grid", "of": drill_id, "file_name": file_name}
        return await kept_soon(jobs, keep, order=order, response=response)

    @api.post("/grids/{grid_id}/ground", responses=documented(404, 413, 422, 503))
    def ground(grid_id: Id, asked: OnDrill) -> GroundUnderAnswer:
        """Screen the site of the given drill on an elevation grid; with contours and slope."""
        return site_ground.ground_under(database, grid_id, asked.read())


def _pictures(api: APIRouter, database: Database, jobs: Jobs) -> None:
    model = StoredPicture

    @api.put(
        "/drills/{drill_id}/pictures/{picture_id}",
        response_model=model,
        responses={
            200: {"headers": ETAG},
            201: {"model": model, "description": "Created", "headers": ETAG},
            **BECAME_A_JOB,
            **documented(404, 409, 413, 422, 503, 507),
        },
        openapi_extra=A_FILE,
    )
    async def keep_picture(
        drill_id: Id,
        picture_id: Id,
        request: Request,
        response: Response,
        file_name: FileName,
        like: Annotated[RecordId | None, Query()] = None,
    ) -> Any:
        """Keep a picture with a drill, re-encoded; the body is the file (PNG, JPEG or GeoTIFF).

        With `like` it takes over position and opacity from another picture of the same size.
        """
        told = {"drill_id": drill_id, "file_name": file_name, "like": like}
        content = await request.body()

        def keep(progress: Progress) -> Put:
            return site_pictures.keep_picture(database, picture_id, content, told, progress=progress)

        order = {"work": "picture", "of": drill_id, "file_name": file_name}
        return await kept_soon(jobs, keep, order=order, response=response)

    @api.put(
        "/pictures/{record_id}",
        response_model=model,
        responses={200: {"headers": ETAG}, **documented(404, 412, 422, 503, 507)},
        operation_id="tell_pictures",
        tags=["pictures"],
    )
    @writes
    def tell_picture(
        record_id: Id, told: PictureTold, response: Response, if_match: IfMatch = None
    ) -> dict[str, Any]:
        """Place a picture by two to four known points, and set its opacity; its file does not change."""
        if if_match is None:
            raise Conflict(message("fault.name_the_version"), version=None, based_on=0)
        record = site_pictures.tell_picture(
            database, record_id, told.fields(), based_on=int(if_match.strip('"'))
        )
        response.headers["ETag"] = f'"{record["version"]}"'
        return record
