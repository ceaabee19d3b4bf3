"""Build the service over one set of records; nothing runs at import."""

from __future__ import annotations

import time
from collections.abc import Mapping
from typing import Any

from fastapi import FastAPI
from fastapi.openapi.utils import get_openapi

import coldfield
from coldfield.app.records import MOST_TRACK_BYTES
from coldfield.records.database import Database
from coldfield.web import page, problems
from coldfield.web.guard import MOST_BODY_BYTES, Guard
from coldfield.web.routes import records, runs


def create_app(database: Database, *, links: Mapping[str, str] | None = None) -> FastAPI:
    """Return the service.

    Parameters
    ----------
    database : Database
        The records it keeps.
    links : mapping of str to str, optional
        Addresses that the page at / offers, each with its words.
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
    problems.install(app)
    app.include_router(page.router(database, links or {}))
    app.include_router(runs.router(database))
    app.include_router(records.router(database))
    app.add_middleware(Guard, clock=time.perf_counter, most_bytes=most_bytes)
    _describe(app)
    return app


def most_bytes(path: str) -> int:
    """Return how many bytes a request to a path may carry."""
    return MOST_TRACK_BYTES + 1 if "/tracks/" in path else MOST_BODY_BYTES


def _describe(app: FastAPI) -> None:
    def openapi() -> dict[str, Any]:
        if app.openapi_schema is None:
            schema = get_openapi(
                title=app.title, version=app.version, description=app.description, routes=app.routes
            )
            schemas = schema["components"]["schemas"]
            schemas["Problem"] = problems.Problem.model_json_schema()
            for operations in schema["paths"].values():
                for operation in operations.values():
                    if isinstance(operation, dict):
                        _as_problems(operation)
            app.openapi_schema = schema
        return app.openapi_schema

    app.openapi = openapi  # type: ignore[method-assign]


def _as_problems(operation: dict[str, Any]) -> None:
    responses = operation.setdefault("responses", {})
    for status, response in responses.items():
        if status[0] in "45":
            response["content"] = {problems.MEDIA_TYPE: {"schema": {"$ref": "#/components/schemas/Problem"}}}
