"""What a group's runs show, as a file."""

from __future__ import annotations

from fastapi import APIRouter, Response

from coldfield.app.coaching.answers import CoachAnswer
from coldfield.app.coaching.progress_csv import progress_csv
from coldfield.app.jobs.jobs import Jobs
from coldfield.errors import UnknownRecord
from coldfield.message import message
from coldfield.web.problems import documented
from coldfield.web.routes.records import Id

_CSV = {"text/csv": {"schema": {"type": "string"}}}


def router(jobs: Jobs) -> APIRouter:
    """Return the routes."""
    api = APIRouter(prefix="/api/coach", tags=["coach"])

    @api.get(
        "/{job_id}/progress.csv",
        response_class=Response,
        responses={200: {"content": _CSV}, **documented(404, 422)},
    )
    def progress_table(job_id: Id) -> Response:
        """Return progress and standards of a finished job 'coach' as CSV, by name, never ranked."""
        result = jobs.get(job_id).result
        if not isinstance(result, CoachAnswer):
            raise UnknownRecord(message("fault.no_coach_result"))
        name = {"content-disposition": 'attachment; filename="progress.csv"'}
        return Response(progress_csv(result), media_type="text/csv; charset=utf-8", headers=name)

    return api
