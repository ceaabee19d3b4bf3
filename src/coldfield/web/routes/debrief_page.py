"""A kept debrief, or the demo's, as files: one self-contained page with its own strict policy, GPX, CSV."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query
from fastapi.responses import HTMLResponse, Response

from coldfield.app.debriefs.kept import cleaned_gpx, kept_document
from coldfield.app.demo.made import demo_debrief
from coldfield.app.ground.pictures import picture_of_run
from coldfield.debrief.document import DebriefDocument
from coldfield.files.carried_picture import Under
from coldfield.files.debrief_html import debrief_html
from coldfield.files.one_page import policy_of
from coldfield.files.phases_csv import phases_csv
from coldfield.records.database import Database
from coldfield.web.routes.records import Id

Language = Annotated[str, Query(max_length=20)]


def router(database: Database) -> APIRouter:
    """Return the routes."""
    api = APIRouter(include_in_schema=False)
    _files(api, database)

    @api.get("/demo-debrief", response_class=HTMLResponse)
    def demo_page(language: Language = "en") -> HTMLResponse:
        """Return the demo's debrief, independent of the records."""
        return _page(demo_debrief(), language)

    @api.get("/debriefs/{debrief_id}", response_class=HTMLResponse)
    def debrief_page(debrief_id: Id, language: Language = "en") -> HTMLResponse:
        kept = kept_document(database, debrief_id)
        return _page(kept.document, language, picture_of_run(database, kept.run_id))

    return api


def _page(document: DebriefDocument, language: str, under: Under | None = None) -> HTMLResponse:
    page = debrief_html(document, language=language, under=under)
    return HTMLResponse(page, headers={"content-security-policy": policy_of(page)})


def _files(api: APIRouter, database: Database) -> None:
    @api.get("/debriefs/{debrief_id}/phases.csv")
    def phases(debrief_id: Id) -> Response:
        """Return the phases of a debrief as CSV."""
        text = phases_csv(kept_document(database, debrief_id).document)
        return _file(text, "text/csv; charset=utf-8")

    @api.get("/debriefs/{debrief_id}/tracks.gpx")
    def tracks(debrief_id: Id) -> Response:
        """Return the cleaned tracks of a debrief as one GPX."""
        return _file(cleaned_gpx(database, debrief_id), "application/gpx+xml")


def _file(text: str, media_type: str) -> Response:
    """Return a file. The link on the page names it after the run."""
    return Response(text.encode(), media_type=media_type, headers={"content-disposition": "attachment"})
