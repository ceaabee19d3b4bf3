"""Build the service over one set of records; nothing runs at import."""

from __future__ import annotations

import time
from typing import Any

from fastapi import FastAPI
from fastapi.openapi.utils import get_openapi

import coldfield
from coldfield.app.debriefs.from_records import keep_debrief
from coldfield.app.debriefs.gather import MOST_DROPPED_BYTES
from coldfield.app.demo.fill import keep_demo
from coldfield.app.hearing.readiness import Readiness
from coldfield.app.hut.codes import Codes
from coldfield.app.hut.tracks import MOST_BYTES as MOST_PHONE_TRACK_BYTES
from coldfield.app.jobs.job import WORK
from coldfield.app.jobs.jobs import Jobs
from coldfield.app.records.data import Data
from coldfield.files.wav import MOST_BYTES as MOST_WAV_BYTES
from coldfield.records.database import Database
from coldfield.records.kinds import KINDS
from coldfield.web import front, page, problems
from coldfield.web.guard import MOST_BODY_BYTES, Guard
from coldfield.web.hut import login
from coldfield.web.hut.sharing import Sharing
from coldfield.web.routes import (
    beginning,
    coaching,
    computing,
    day,
    debrief_page,
    gathering,
    ground,
    hearing,
    hut,
    keeping,
    kit,
    overview,
    paper,
    records,
    rehearsals,
    runs,
    strips,
)
from coldfield.web.routes import jobs as routes_jobs
from coldfield.web.routes.keeping import MOST_ARCHIVE_BYTES


def create_app(
    database: Database,
    *,
    data: Data | None = None,
    jobs: Jobs | None = None,
    readiness: Readiness | None = None,
    sharing: Sharing | None = None,
) -> FastAPI:
    """Return the service.

    Parameters
    ----------
    database : Database
        The records it keeps.
    data : Data, optional
        Where they are, for backups.
    jobs : Jobs, optional
        The workers for long work; see `make_jobs`.
    readiness : Readiness, optional
        Until it is ready, the hearing map is coarser; without this object the first map waits.
    sharing : Sharing, optional
        How the service is shared on a network, and how sharing is started from the app.
    """
    app = FastAPI(
        title="Coldfield",
        version=coldfield.__version__,
        description="Drills of companion rescue: records, computing, jobs. Errors are problem+json.",
        openapi_url="/api/openapi.json",
        docs_url=None,
        redoc_url=None,
        separate_input_output_schemas=False,
    )
    jobs, sharing = jobs or make_jobs(database), sharing or Sharing()
    problems.install(app, lost=front.lost)
    app.include_router(page.router(database, sharing))
    app.include_router(login.router())
    app.include_router(front.router())
    app.include_router(debrief_page.router(database))
    app.include_router(beginning.router())
    app.include_router(computing.router())
    app.include_router(hearing.router(database, readiness))
    app.include_router(strips.router())
    app.include_router(rehearsals.router(database, jobs))
    app.include_router(routes_jobs.router(database, jobs))
    app.include_router(coaching.router(jobs))
    app.include_router(keeping.router(database, data, jobs))
    app.include_router(overview.router(database))
    app.include_router(runs.router(database, jobs))
    app.include_router(gathering.router(database, jobs))
    app.include_router(day.router(database))
    app.include_router(ground.router(database, jobs))
    app.include_router(hut.router(database, Codes(database, clock=time.monotonic), sharing))
    app.include_router(kit.router(database))
    app.include_router(paper.router(database))
    app.include_router(records.router(database))
    app.add_middleware(Guard, clock=time.perf_counter, most_bytes=most_bytes)
    _describe(app)
    return app


def make_jobs(database: Database) -> Jobs:
    """Return the workers for long work; processes start with the first job."""
    return Jobs(WORK, finish={"debrief": keep_debrief(database), "demo": keep_demo(database)})


def most_bytes(path: str) -> int:
    """Return the largest body of a request to a path, bytes."""
    if path == "/api/hut/day":
        return hut.MOST_DAY_BYTES
    if path == "/api/hut/track":
        return MOST_PHONE_TRACK_BYTES
    if path == "/api/import":
        return MOST_ARCHIVE_BYTES
    if path == "/api/pulse":
        return MOST_WAV_BYTES + 1
    if path.endswith("/tracks"):
        return MOST_DROPPED_BYTES + 1
    for kind in KINDS.values():
        if kind.file is not None and f"/{kind.name}/" in path and not path.endswith("/ground"):
            return kind.file.most_bytes + 1
    return MOST_BODY_BYTES


def _describe(app: FastAPI) -> None:
    def openapi() -> dict[str, Any]:
        if app.openapi_schema is None:
            schema = get_openapi(
                title=app.title, version=app.version, description=app.description, routes=app.routes
            )
            schemas = schema["components"]["schemas"]
            described = problems.Problem.model_json_schema(ref_template="#/components/schemas/{model}")
            schema["components"]["schemas"] = {**described.pop("$defs"), **schemas, "Problem": described}
            for operations in schema["paths"].values():
                for operation in operations.values():
                    if isinstance(operation, dict):
                        _as_problems(operation)
            app.openapi_schema = _with_even_arrays(schema)
        return app.openapi_schema

    app.openapi = openapi  # type: ignore[method-assign]


def _with_even_arrays(part: Any) -> Any:
    """Describe a tuple of equal parts, such as a place, as an array of fixed length.

    Some readers of OpenAPI do not support tuples well.
    """
    if isinstance(part, list):
        return [_with_even_arrays(one) for one in part]
    if not isinstance(part, dict):
        return part
    told = {key: _with_even_arrays(value) for key, value in part.items()}
    parts = told.get("prefixItems")
    if isinstance(parts, list) and parts and all(one == parts[0] for one in parts):
        told["items"] = told.pop("prefixItems")[0]
    return told


def _as_problems(operation: dict[str, Any]) -> None:
    responses = operation.setdefault("responses", {})
    for status, response in responses.items():
        if status[0] in "45":
            response["content"] = {problems.MEDIA_TYPE: {"schema": {"$ref": "#/components/schemas/Problem"}}}
