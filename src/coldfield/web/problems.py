"""Errors as application/problem+json (RFC 9457), mapped in this one place."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from http import HTTPStatus
from typing import Any

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse, Response
from pydantic import BaseModel
from pydantic_core import ErrorDetails
from starlette.exceptions import HTTPException
from starlette.routing import BaseRoute, Match

from coldfield.errors import (
    BadInput,
    ColdfieldError,
    Conflict,
    OutOfModel,
    Refused,
    StoreTrouble,
    UnknownRecord,
)
from coldfield.files.drill_json import drill_faults, is_drill_file
from coldfield.files.faults import path_of, pattern_words, placed_faults
from coldfield.files.places import inside
from coldfield.message import Message, message, verbatim
from coldfield.words import ENGLISH, say

MEDIA_TYPE = "application/problem+json"

_PLAIN = {
    "string_too_short": message("fault.empty_text"),
    "string_pattern_mismatch": message("fault.blank_text"),
}
"""The kinds of pydantic errors that have different words for a form on a page than for a file."""

_UNUSABLE = message("fault.unusable")
_HTTP = {404: message("fault.no_address"), 405: message("fault.no_method")}

_TROUBLE = {"full": 507, "busy": 503, "locked": 503, "read-only": 503, "unreachable": 503}


BUSY = "urn:coldfield:busy"
"""The problem type of a write that timed out waiting: nothing was kept, and it can be sent again."""

_AGAIN = {"Retry-After": "1"}
"""For temporary problems: the same request may succeed in a second."""


class Problem(BaseModel):
    """A problem: `faults` has one line per fault, each with its place.

    `detail` and `faults` are in English, for other programs; `messages` has the same content as data.
    """

    type: str = "about:blank"
    title: str
    status: int
    detail: str
    faults: list[str] = []
    messages: list[Message] = []
    stored_version: int | None = None


class CutOff(Exception):
    """A body was not read to the end."""


class TooLarge(CutOff):
    """The body exceeded its limit."""


class TooSlow(CutOff):
    """The body did not arrive, or too slowly."""


class ProblemResponse(JSONResponse):
    """A response with a problem."""

    media_type = MEDIA_TYPE


def problem(
    status: int,
    detail: Message,
    *,
    faults: Iterable[Message] = (),
    stored_version: int | None = None,
    headers: dict[str, str] | None = None,
    kind: str = "about:blank",
) -> ProblemResponse:
    """Return the response for one problem; `kind` separates problems that share a status."""
    told = list(faults)
    body = Problem(
        type=kind,
        title=HTTPStatus(status).phrase,
        status=status,
        detail=say(detail, ENGLISH),
        faults=[say(one, ENGLISH) for one in told],
        messages=told or [detail],
        stored_version=stored_version,
    )
    return ProblemResponse(body.model_dump(mode="json"), status_code=status, headers=headers)


def cut_off(error: CutOff) -> ProblemResponse:
    """Return the response for a body that was not read to the end; it closes the connection."""
    closing = {"connection": "close"}
    if isinstance(error, TooLarge):
        return problem(413, message("fault.too_much_sent"), headers=closing)
    return problem(408, message("fault.too_slow"), headers=closing)


def documented(*statuses: int) -> dict[int | str, dict[str, Any]]:
    """Return the problems of a route for its OpenAPI entry."""
    content = {MEDIA_TYPE: {"schema": {"$ref": "#/components/schemas/Problem"}}}
    return {status: {"description": HTTPStatus(status).phrase, "content": content} for status in statuses}


def problem_of(error: ColdfieldError) -> ProblemResponse:
    """Return the response for an error that Coldfield raises on purpose."""
    if isinstance(error, Conflict):
        return problem(409 if error.based_on is None else 412, error.message, stored_version=error.version)
    if isinstance(error, StoreTrouble):
        headers = _AGAIN if error.kind in ("busy", "locked") else None
        kind = BUSY if error.kind == "busy" else "about:blank"
        return problem(_TROUBLE.get(error.kind, 500), error.message, headers=headers, kind=kind)
    if isinstance(error, UnknownRecord):
        return problem(404, error.message)
    if isinstance(error, BadInput):
        return problem(422, _UNUSABLE, faults=error.placed())
    if isinstance(error, OutOfModel):
        return problem(422, error.message)
    return problem(409 if isinstance(error, Refused) else 500, error.message)


def install(app: FastAPI, *, lost: Callable[[Request], Response | None] = lambda _request: None) -> None:
    """Make an app answer every error as a problem; `lost` may return a page for an unknown address."""

    @app.exception_handler(ColdfieldError)
    def on_purpose(_request: Request, error: ColdfieldError) -> ProblemResponse:
        return problem_of(error)

    @app.exception_handler(RequestValidationError)
    def not_as_described(_request: Request, error: RequestValidationError) -> ProblemResponse:
        return problem(422, _UNUSABLE, faults=body_faults(error)[:50])

    @app.exception_handler(HTTPException)
    def http(request: Request, error: HTTPException) -> Response:
        page = lost(request) if error.status_code == 404 else None
        if page is not None:
            return page
        if isinstance(error.__cause__, CutOff):
            return cut_off(error.__cause__)
        if error.status_code == 400:
            return problem(422, _UNUSABLE, faults=[message("fault.no_json").at("body")])
        said = _HTTP.get(error.status_code) or verbatim(str(error.detail))
        headers = dict(error.headers or {})
        if error.status_code == 405:
            headers["Allow"] = ", ".join(methods_at(app, request))
        return problem(error.status_code, said, headers=headers)


def methods_at(app: FastAPI, request: Request) -> list[str]:
    """Return all methods that the address of a request supports, sorted."""
    found: set[str] = set()
    for route in _flat(app.routes):
        if route.matches(request.scope)[0] is not Match.NONE:
            found |= getattr(route, "methods", None) or set()
    return sorted(found)


def _flat(routes: Iterable[BaseRoute]) -> Iterator[BaseRoute]:
    for route in routes:
        inner = getattr(route, "original_router", None)
        if inner is None:
            yield route
        else:
            yield from _flat(inner.routes)


def body_faults(error: RequestValidationError) -> list[Message]:
    """Return one message for each fault of a request; the faults of a drill are those of its file."""
    body = error.body if isinstance(error.body, dict) else {}
    drills = [key for key, value in body.items() if is_drill_file(value)]
    own = [detail for detail in error.errors() if not set(drills) & set(detail["loc"][1:2])]
    return [
        *(fault for detail in own for fault in request_faults(detail)),
        *(inside(key, fault) for key in drills for fault in drill_faults(body[key])),
    ]


def request_faults(detail: ErrorDetails) -> list[Message]:
    """Return the messages of one pydantic error: the place, then what is wrong, never the value."""
    loc = detail["loc"][1:] if len(detail["loc"]) > 1 else detail["loc"]
    plain = None if pattern_words(detail) else _PLAIN.get(detail["type"])
    return [plain.at(path_of(loc))] if plain else placed_faults(detail, loc)
