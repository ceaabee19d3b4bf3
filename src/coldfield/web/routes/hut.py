"""Routes for phones in the hut: what they send with a code, and the codes of a run."""

from __future__ import annotations

from math import ceil
from typing import Annotated, Any
from urllib.parse import quote

from fastapi import APIRouter, Body, Header, Query, Request
from fastapi.responses import Response
from pydantic import BaseModel
from starlette.concurrency import run_in_threadpool

from coldfield.app.day.look import run_for_code
from coldfield.app.hut import tracks
from coldfield.app.hut.codes import Codes, May, RunCode, Turned
from coldfield.app.hut.day import Acknowledged, keep_from_phone
from coldfield.app.hut.take_back import leave_out_phone
from coldfield.files.code_picture import CodePicture, code_picture
from coldfield.message import message
from coldfield.records.database import Database
from coldfield.records.forms import FileName, MaybeLine, RecordId
from coldfield.web.hut.gate import hut_of
from coldfield.web.hut.sharing import Sharing
from coldfield.web.problems import documented, problem
from coldfield.web.routes.day import _TEXT
from coldfield.web.routes.gathering import BYTES
from coldfield.web.routes.records import Id
from coldfield.web.turns import in_turn, writes

MOST_DAY_BYTES = 1_000_000
"""The largest piece of a day file that a phone sends at a time, bytes. Setting."""

MOST_QR_BYTES = 666
"""The bytes in a QR code of version 20, level M (ISO/IEC 18004, table 7; from memory)."""

Code = Annotated[str, Header(alias="x-coldfield-code", max_length=64, description="A code of a run.")]
Phone = Annotated[RecordId, Header(alias="x-coldfield-phone", description="What the phone calls itself.")]


class CodeWanted(BaseModel):
    """The kind of code to make."""

    may: May


class ShownCode(BaseModel):
    """A code of a run for display: `address` opens the clock, `picture` is the same for a camera.

    Both are null if the program was restarted since the code was made; `address` is also null if the service
    is not shared.
    """

    id: str
    may: May
    created_utc: str
    until_utc: str
    typed: str | None
    address: str | None
    picture: CodePicture | None


def router(database: Database, codes: Codes, sharing: Sharing) -> APIRouter:
    """Return the routes."""
    api = APIRouter(prefix="/api", tags=["hut"])
    _from_phones(api, database, codes)
    _codes(api, database, codes, sharing)

    @api.put("/runs/{run_id}/phones/{phone_id}", responses=documented(404, 422, 503, 507))
    @writes
    def take_back(run_id: Id, phone_id: Id, left_out: Annotated[bool, Query()]) -> None:
        """Remove everything that a phone sent of a run, or restore it."""
        leave_out_phone(database, run_id, phone_id, out=left_out)

    return api


def _from_phones(api: APIRouter, database: Database, codes: Codes) -> None:
    turned = documented(401, 413, 422, 429, 503, 507)

    @api.post("/hut/day", response_model=Acknowledged, responses=turned, openapi_extra=_TEXT)
    async def bring_day(request: Request, code: Code, phone: Phone) -> Any:
        """Keep what a phone sends of a run, as a day file; the answer only says what is kept."""
        admitted = await _admitted(codes, request, code, "keeper", phone)
        if isinstance(admitted, Response):
            return admitted
        content = await request.body()
        return await in_turn(keep_from_phone, database, admitted, content)

    @api.post("/hut/track", response_model=tracks.TrackAcknowledged, responses=turned, openapi_extra=BYTES)
    async def bring_track(
        request: Request,
        code: Code,
        phone: Phone,
        file_name: Annotated[FileName, Query()],
        searcher: Annotated[MaybeLine, Query(description="Whose it is, as the run calls them.")] = "",
        name: Annotated[MaybeLine, Query(description="What the phone is called.")] = "",
        keeper: Annotated[MaybeLine, Query(description="Who has it.")] = "",
    ) -> Any:
        """Keep a track that a phone sends; the answer only says that it is kept."""
        admitted = await _admitted(codes, request, code, "track", phone)
        if isinstance(admitted, Response):
            return admitted
        content = await request.body()
        brought = tracks.FromPhone(id=phone, name=name, keeper=keeper)
        return await run_in_threadpool(
            tracks.keep_track_from_phone,
            database,
            admitted,
            content,
            file_name,
            searcher=searcher or None,
            phone=brought,
        )


async def _admitted(codes: Codes, request: Request, code: str, may: May, phone: str) -> str | Response:
    """Return the run of a code, or the answer to a wrong code, before the body is read."""
    address = request.client.host if request.client else ""
    found = await run_in_threadpool(codes.admit, code, may, address=address, phone=phone)
    if not isinstance(found, Turned):
        return found.run_id
    if not found.wait_s:
        return problem(401, message("fault.code_unknown"))
    return problem(429, message("fault.code_wait"), headers={"Retry-After": str(ceil(found.wait_s))})


def _codes(api: APIRouter, database: Database, codes: Codes, sharing: Sharing) -> None:
    def shown(code: RunCode, run_id: str, request: Request) -> ShownCode:
        hut = hut_of(request.scope) or sharing.hut
        address = None if code.long is None or hut is None else _address(database, code, run_id, hut.address)
        return ShownCode(
            **{key: getattr(code, key) for key in ("id", "may", "created_utc", "until_utc", "typed")},
            address=address,
            picture=None if address is None else code_picture(address),
        )

    @api.get("/runs/{run_id}/phone-codes", responses=documented(404, 422))
    def list_codes(run_id: Id, request: Request) -> list[ShownCode]:
        """List the codes of a run that are valid today."""
        return [shown(one, run_id, request) for one in codes.of_run(run_id)]

    @api.post("/runs/{run_id}/phone-codes", status_code=201, responses=documented(404, 422, 503, 507))
    @writes
    def make_code(run_id: Id, wanted: Annotated[CodeWanted, Body()], request: Request) -> ShownCode:
        """Make a code of a run for phones, valid until the end of the day."""
        return shown(codes.make(run_id, wanted.may), run_id, request)

    @api.delete("/runs/{run_id}/phone-codes/{code_id}", responses=documented(404, 422, 503, 507))
    @writes
    def withdraw_code(run_id: Id, code_id: Id) -> None:
        """Withdraw a code."""
        codes.withdraw(run_id, code_id)


def _address(database: Database, code: RunCode, run_id: str, hut: str) -> str:
    """Return the address for a phone; everything it needs is after the '#', which is never sent."""
    begin = f"{hut}clock#hut/{code.may}/{code.long}/{quote(run_id, safe='')}"
    for text in run_for_code(database, run_id, people_only=code.may == "track"):
        if len(begin) + 1 + len(text) <= MOST_QR_BYTES:
            return f"{begin}/{text}"
    return begin
