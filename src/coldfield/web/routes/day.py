"""Routes of a day in the snow: a run for the phone, and what phones bring back."""

from __future__ import annotations

from functools import partial
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Query, Request, Response
from pydantic import BaseModel
from starlette.concurrency import run_in_threadpool

from coldfield.app.day.joining import read_same
from coldfield.app.day.look import day_of_run, drill_for_phone, run_for_phone
from coldfield.app.day.take import take_day_file
from coldfield.files.day_file import MOST_BYTES
from coldfield.records.database import Database
from coldfield.records.forms import MaybeLine, RecordId
from coldfield.records.kinds import KINDS
from coldfield.records.stored import stored_model
from coldfield.web.problems import documented
from coldfield.web.routes.ground import FileName
from coldfield.web.routes.records import Id

_TEXT = {"requestBody": {"required": True, "content": {"text/plain": {"schema": {"type": "string"}}}}}
_SAME = "JSON: `burials` and `searchers`, each of the phone's names with the drill's."
_FILE: dict[int | str, dict[str, Any]] = {200: {"content": {"text/plain": {"schema": {"type": "string"}}}}}

StoredCheck = stored_model(KINDS["group_checks"])


class DaySearcher(BaseModel):
    """A person added on a phone."""

    id: str
    name: str


class SameBurial(BaseModel):
    """A burial as the phone calls it, and as the drill does; null: the drill does not have it."""

    phone: str
    drill: str | None


class SamePerson(SameBurial):
    """A person added on the phone, and the searcher of the drill."""

    name: str


class DayJoined(BaseModel):
    """Which burials and searchers of a drill those of a phone are taken for, and which the drill has."""

    burials: list[SameBurial]
    searchers: list[SamePerson]
    drill_burials: list[str]
    drill_searchers: list[DaySearcher]


class DayTaken(BaseModel):
    """What became of one run or group check of a day file.

    `id` is its record, null where nothing was kept. `waits`: a drill or run has to be chosen, it was only
    looked at what is `joined`, or its record is deleted. `kept` items are new here, `there` are not.
    """

    of: str
    name: str
    id: str | None
    created: bool
    waits: Literal["drill", "same", "deleted"] | None
    joined: DayJoined | None
    begun_utc: str
    kept: int
    there: int


class DayFileTaken(BaseModel):
    """What became of a day file, and its faults, one line each."""

    runs: list[DayTaken]
    checks: list[DayTaken]
    faults: list[str]


class DayPhone(BaseModel):
    """A phone of a run: how many items are here and missing, and what was added to its clock."""

    id: str
    name: str
    keeper: str
    items: int
    missing: int
    shift_s: float | None
    by: Literal["this clock", "alarm", "mark"] | None


class DaySaid(BaseModel):
    """Words at a moment."""

    words: str
    burial: str | None
    since_alarm_s: float | None
    time_unix_s: float


class DayDigs(BaseModel):
    """Who digs at a burial, the leading digger first."""

    burial: str
    searchers: list[str]


class DayBurial(BaseModel):
    """A burial that was not as planned."""

    burial: str
    state: Literal["as planned", "moved", "dropped", "added"]
    words: str


class DaySet(BaseModel):
    """Where a hidden set was in the end."""

    burial: str
    set: str | None
    state: Literal["in", "missing", "switched off", "reported"]
    by: str


class DayClosed(BaseModel):
    """The run was closed; `missing` are burials whose set was not back."""

    missing: list[str]
    words: str


class RunDay(BaseModel):
    """What phones brought back of a run, beside its splits and observations."""

    phones: list[DayPhone]
    notes: list[DaySaid]
    left: list[DaySaid]
    digs: list[DayDigs]
    burials: list[DayBurial]
    searchers: list[DaySearcher]
    sets: list[DaySet]
    ticks: list[Literal["pits_filled", "transmit_again", "full_check"]]
    closed: DayClosed | None
    stopped: bool
    checks: list[StoredCheck]  # type: ignore[valid-type]


AgreedWord = Annotated[MaybeLine, Query()]


def router(database: Database) -> APIRouter:
    """Return the routes."""
    api = APIRouter(prefix="/api", tags=["runs"])
    _back(api, database)
    _out(api, database)
    return api


def _back(api: APIRouter, database: Database) -> None:
    @api.post(
        "/day-file",
        response_model=DayFileTaken,
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
    ) -> dict[str, Any]:
        """Keep what a phone brought back, each item once, in any order; again changes nothing."""
        content = await request.body()
        chosen = None if same is None else read_same(same)
        keep = partial(take_day_file, database, content, file_name, of=of, run_id=run, drill_id=drill)
        return await run_in_threadpool(keep, same=chosen, look=look)

    @api.get("/runs/{run_id}/day", response_model=RunDay, responses=documented(404, 422))
    def day(run_id: Id) -> dict[str, Any]:
        """Tell what phones brought back of a run, and how their clocks stood to each other."""
        return day_of_run(database, run_id)


def _out(api: APIRouter, database: Database) -> None:
    @api.get(
        "/drills/{drill_id}/for-phone",
        response_class=Response,
        responses={**_FILE, **documented(404, 422)},
    )
    def drill_out(drill_id: Id, agreed_word: AgreedWord = "", emergency_number: AgreedWord = "") -> Response:
        """Give a new run of a drill as a file that the clock on the phone opens."""
        return _file(
            drill_for_phone(database, drill_id, agreed_word=agreed_word, emergency_number=emergency_number)
        )

    @api.get(
        "/runs/{run_id}/for-phone",
        response_class=Response,
        responses={**_FILE, **documented(404, 422)},
    )
    def run_out(run_id: Id, agreed_word: AgreedWord = "", emergency_number: AgreedWord = "") -> Response:
        """Give a recorded run as a file that the clock on the phone opens."""
        return _file(
            run_for_phone(database, run_id, agreed_word=agreed_word, emergency_number=emergency_number)
        )


def _file(named: tuple[str, bytes]) -> Response:
    name, content = named
    return Response(
        content,
        media_type="text/plain; charset=utf-8",
        headers={"content-disposition": f'attachment; filename="{name}"'},
    )
