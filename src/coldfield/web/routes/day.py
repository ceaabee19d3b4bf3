"""Routes for a day in the snow: a run for the phone, and what phones recorded."""

from __future__ import annotations

from functools import partial
from typing import Annotated, Any, get_type_hints

from fastapi import APIRouter, Query, Request, Response
from pydantic import create_model
from starlette.concurrency import run_in_threadpool

from coldfield.app.day.answers import DayFileTaken, RunCodes, RunDay
from coldfield.app.day.joining import read_same
from coldfield.app.day.look import (
    day_of_run,
    drill_as_codes,
    drill_for_phone,
    run_as_codes,
    run_for_phone,
)
from coldfield.app.day.take import take_day_file
from coldfield.files.day_file import MOST_BYTES
from coldfield.records.database import Database
from coldfield.records.forms import MaybeLine, RecordId
from coldfield.records.kinds import KINDS
from coldfield.records.stored import stored_model
from coldfield.web.problems import documented
from coldfield.web.routes.ground import FileName
from coldfield.web.routes.records import Id
from coldfield.words import ENGLISH, language_of

_TEXT = {"requestBody": {"required": True, "content": {"text/plain": {"schema": {"type": "string"}}}}}
_SAME = "JSON: `burials` and `searchers`, each of the phone's names with the drill's."
_FILE: dict[int | str, dict[str, Any]] = {200: {"content": {"text/plain": {"schema": {"type": "string"}}}}}

_CHECK: Any = stored_model(KINDS["group_checks"])

_CHECKED: dict[str, Any] = {
    **{name: (kind, ...) for name, kind in get_type_hints(RunDay).items()},
    "checks": (tuple[_CHECK, ...], ...),
}

DescribedDay = create_model("RunDay", __doc__=RunDay.__doc__, **_CHECKED)

AgreedWord = Annotated[MaybeLine, Query()]


def router(database: Database) -> APIRouter:
    """Return the routes."""
    api = APIRouter(prefix="/api", tags=["runs"])
    _back(api, database)
    _out(api, database)
    _codes(api, database)
    return api


def _back(api: APIRouter, database: Database) -> None:
    @api.post(
        "/day-file",
        responses=documented(404, 413, 422, 503, 507),
        openapi_extra=_TEXT,
        description=f"The body is the file, at most {MOST_BYTES // 1_000_000} MB.",
    )
    async def take(
        request: Request,
        file_name: FileName,
        of: Annotated[RecordId | None, Query(description="The run of the file that is meant.")] = None,
        run: Annotated[RecordId | None, Query(description="Join it to this run.")] = None,
        drill: Annotated[RecordId | None, Query(description="Make a new run of this drill.")] = None,
        same: Annotated[
            str | None,
            Query(max_length=10_000, description=_SAME),
        ] = None,
        look: Annotated[
            bool, Query(description="Keep nothing; tell what would be which in joining.")
        ] = False,
        language: Annotated[
            str, Query(max_length=20, description="The language of what is written into the kit list.")
        ] = ENGLISH,
    ) -> DayFileTaken:
        """Keep what a phone recorded, each item once, in any order; a repeat changes nothing."""
        content = await request.body()
        chosen = None if same is None else read_same(same)
        keep = partial(take_day_file, database, content, file_name, of=of, run_id=run, drill_id=drill)
        spoken = language_of(language)
        tag = ENGLISH if spoken is None else spoken.tag
        return await run_in_threadpool(keep, same=chosen, look=look, language=tag)

    @api.get("/runs/{run_id}/day", response_model=DescribedDay, responses=documented(404, 422))
    def day(run_id: Id) -> RunDay:
        """Return what phones recorded of a run, and how their clocks differed."""
        return day_of_run(database, run_id)


def _out(api: APIRouter, database: Database) -> None:
    @api.get(
        "/drills/{drill_id}/for-phone",
        response_class=Response,
        responses={**_FILE, **documented(404, 422)},
    )
    def drill_out(drill_id: Id, agreed_word: AgreedWord = "", emergency_number: AgreedWord = "") -> Response:
        """Return a new run of a drill as a file for the clock on the phone."""
        return _file(
            drill_for_phone(database, drill_id, agreed_word=agreed_word, emergency_number=emergency_number)
        )

    @api.get(
        "/runs/{run_id}/for-phone",
        response_class=Response,
        responses={**_FILE, **documented(404, 422)},
    )
    def run_out(run_id: Id, agreed_word: AgreedWord = "", emergency_number: AgreedWord = "") -> Response:
        """Return a recorded run as a file for the clock on the phone."""
        return _file(
            run_for_phone(database, run_id, agreed_word=agreed_word, emergency_number=emergency_number)
        )


def _codes(api: APIRouter, database: Database) -> None:
    @api.get("/drills/{drill_id}/codes", responses=documented(404, 422))
    def drill_codes(
        drill_id: Id, agreed_word: AgreedWord = "", emergency_number: AgreedWord = ""
    ) -> RunCodes:
        """Return a new run of a drill as codes for the camera of the clock."""
        return drill_as_codes(database, drill_id, agreed_word=agreed_word, emergency_number=emergency_number)

    @api.get("/runs/{run_id}/codes", responses=documented(404, 422))
    def run_codes(run_id: Id, agreed_word: AgreedWord = "", emergency_number: AgreedWord = "") -> RunCodes:
        """Return a recorded run as codes for the camera of the clock."""
        return run_as_codes(database, run_id, agreed_word=agreed_word, emergency_number=emergency_number)


def _file(named: tuple[str, bytes]) -> Response:
    name, content = named
    return Response(
        content,
        media_type="text/plain; charset=utf-8",
        headers={"content-disposition": f'attachment; filename="{name}"'},
    )
