"""Routes that keep records safe: backups, export, import, forgetting a person."""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from fastapi import APIRouter, Request
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import Response, StreamingResponse

from coldfield.app.jobs.jobs import Jobs
from coldfield.app.jobs.stages import Progress
from coldfield.app.records import keeping
from coldfield.app.records.data import Data
from coldfield.errors import Refused
from coldfield.message import message
from coldfield.records.archive_in import BroughtIn
from coldfield.records.database import Database
from coldfield.records.forget.late import MEANWHILE
from coldfield.web.problems import documented
from coldfield.web.routes.gathering import BYTES, FileName
from coldfield.web.routes.jobs import BECAME_A_JOB
from coldfield.web.routes.records import Id
from coldfield.web.soon import soon
from coldfield.web.turns import writes

_PIECE_BYTES = 256 * 1024
_IN_MEMORY_BYTES = 1_000_000

MOST_ARCHIVE_BYTES = 1_000_000_000
"""The largest zip that can be imported through a page; the command reads larger ones."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Backup:
    """A backup in the folder of the records."""

    file: str


def router(database: Database, data: Data | None, jobs: Jobs) -> APIRouter:
    """Return the routes; without `data` there is no folder to make backups in."""
    api = APIRouter(prefix="/api", tags=["keeping"])
    _out(api, database, data)
    _in(api, database, jobs)
    _forgetting(api, database, data, jobs)
    return api


def _out(api: APIRouter, database: Database, data: Data | None) -> None:
    @api.post("/backups", status_code=201, responses=documented(404, 409, 503, 507))
    def make_backup() -> Backup:
        """Copy the records, while in use, into one checked file beside them."""
        if data is None:
            raise Refused(message("fault.no_folder_for_backups"))
        return Backup(file=keeping.backup(data).name)

    @api.get(
        "/export",
        response_class=Response,
        responses={
            200: {"content": {"application/zip": {"schema": {"type": "string", "format": "binary"}}}},
            **documented(404, 422, 503, 507),
        },
    )
    def export(drill: Id | None = None) -> StreamingResponse:
        """Return everything as one open zip, or one drill with its runs and without data on people."""
        forgotten = len(database.forgotten)
        place = tempfile.TemporaryDirectory(prefix="coldfield-export-")
        path = Path(place.name) / "coldfield.zip"
        try:
            keeping.export_records(database, path, drill_id=drill)
        except BaseException:
            place.cleanup()
            raise
        return StreamingResponse(
            _pieces(path, place, lambda: len(database.forgotten) == forgotten),
            media_type="application/zip",
            # The link names the file of one drill after it.
            headers={
                "content-disposition": "attachment" if drill else 'attachment; filename="coldfield.zip"'
            },
        )


def _in(api: APIRouter, database: Database, jobs: Jobs) -> None:
    @api.post(
        "/import",
        response_model=BroughtIn,
        responses={**BECAME_A_JOB, **documented(409, 413, 422, 503, 507)},
        openapi_extra=BYTES,
    )
    async def bring_in(request: Request, file_name: FileName, dry_run: bool = False) -> Any:
        """Add an exported zip to the records here, all or nothing; existing records do not change."""
        forgotten = len(database.forgotten)
        with ExitStack() as stack:
            file = stack.enter_context(tempfile.SpooledTemporaryFile(max_size=_IN_MEMORY_BYTES))
            async for piece in request.stream():
                await run_in_threadpool(file.write, piece)
            let_go = stack.pop_all().close

        def bring(progress: Progress) -> BroughtIn:
            return keeping.bring_records(
                database, file, file_name, rehearse=dry_run, forgotten=forgotten, progress=progress
            )

        order = {"work": "import", "file_name": file_name, "dry_run": dry_run}
        return await soon(jobs, "import", bring, order=order, let_go=let_go)


def _forgetting(api: APIRouter, database: Database, data: Data | None, jobs: Jobs) -> None:
    folder = data.folder if data is not None and data.url is None else None

    @api.post("/people/{person_id}/forget", responses=documented(404, 422, 503, 507))
    @writes
    def forget_person(person_id: Id, dry_run: bool = False) -> keeping.FarewellTold:
        """Remove a person everywhere, including tracks, and return what was done. This cannot be undone."""
        return keeping.forget(database, person_id, folder=folder, rehearse=dry_run, also=jobs.forget)


def _pieces(
    path: Path, place: tempfile.TemporaryDirectory[str], still: Callable[[], bool]
) -> Iterator[bytes]:
    """Yield a file in pieces; if somebody is forgotten meanwhile, break off so that the download fails."""
    with place, path.open("rb") as file:
        while piece := file.read(_PIECE_BYTES):
            if not still():
                raise Refused(MEANWHILE)
            yield piece
