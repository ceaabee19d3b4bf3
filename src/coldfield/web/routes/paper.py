"""Routes for sheets and hand-outs as PDF."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query
from fastapi.responses import Response

from coldfield.app.ground.pictures import picture_under
from coldfield.app.sheets import hand_outs
from coldfield.app.sheets.setup import setup_sheet
from coldfield.errors import BadInput
from coldfield.files.drill_json import drill_from
from coldfield.files.one_page import policy_of
from coldfield.message import message
from coldfield.paper.press import Paper
from coldfield.records.database import Database
from coldfield.records.store import Store
from coldfield.web.routes.records import Id
from coldfield.words import language_of, speaking

Tag = Annotated[str, Query(max_length=20)]


def router(database: Database) -> APIRouter:
    """Return the routes."""
    api = APIRouter(include_in_schema=False)
    _sheets(api, database)
    _hand_outs(api, database)
    return api


def _sheets(api: APIRouter, database: Database) -> None:
    @api.get("/drills/{drill_id}/setup.pdf")
    def setup(drill_id: Id, language: Tag = "en", paper: Paper = "a4", pace_m: float = 0.75) -> Response:
        """Return the setup sheet and the lane card of a drill."""
        with speaking(_known(language)):
            made = setup_sheet(
                _drill(database, drill_id),
                paper=paper,
                pace_m=pace_m,
                drill_id=drill_id,
                under=picture_under(database, drill_id),
            )
        return _file(made, "application/pdf", "setup.pdf")

    @api.get("/drills/{drill_id}/setup.html")
    def setup_page(drill_id: Id, language: Tag = "en", pace_m: float = 0.75) -> Response:
        """Return the same as a page for the phone."""
        with speaking(_known(language)):
            made = setup_sheet(
                _drill(database, drill_id),
                kind="html",
                pace_m=pace_m,
                drill_id=drill_id,
                under=picture_under(database, drill_id),
            )
        page = _file(made, "text/html; charset=utf-8", "setup.html")
        # The page has inline styles, which the policy of the app would refuse.
        page.headers["content-security-policy"] = policy_of(made.decode())
        return page

    @api.get("/check-sheet.pdf")
    def check_sheet(
        drill: Id | None = None, course: Id | None = None, language: Tag = "en", paper: Paper = "a4"
    ) -> Response:
        """Return a sheet for the group check, to fill in by hand."""
        with speaking(_known(language)):
            made = hand_outs.check_sheet_pdf(database, drill_id=drill, course_id=course, paper=paper)
        return _file(made, "application/pdf", "check.pdf")


def _hand_outs(api: APIRouter, database: Database) -> None:
    @api.get("/debriefs/{debrief_id}/debrief.pdf")
    def debrief(
        debrief_id: Id,
        person: Annotated[str | None, Query(max_length=200)] = None,
        language: Tag = "en",
        paper: Paper = "a4",
    ) -> Response:
        """Return a debrief as a hand-out, of the group or of one person."""
        with speaking(_known(language)):
            made = hand_outs.kept_debrief_pdf(database, debrief_id, person=person, paper=paper)
        return _file(made, "application/pdf", "debrief.pdf")

    @api.get("/courses/{course_id}/record.pdf")
    def course(course_id: Id, language: Tag = "en", paper: Paper = "a4") -> Response:
        """Return the record of a course."""
        with speaking(_known(language)):
            made = hand_outs.course_record_pdf(database, course_id, paper=paper)
        return _file(made, "application/pdf", "course.pdf")

    @api.get("/kit.pdf")
    def kit(language: Tag = "en", paper: Paper = "a4") -> Response:
        """Return the kit list as a sheet."""
        with speaking(_known(language)):
            made = hand_outs.kit_sheet_pdf(database, paper=paper)
        return _file(made, "application/pdf", "kit.pdf")


def _drill(database: Database, drill_id: str):  # type: ignore[no-untyped-def]
    with database.read() as connection:
        return drill_from(Store(connection, database.stamp()).get("drills", drill_id)["document"], drill_id)


def _known(tag: str) -> str:
    found = language_of(tag)
    if found is None:
        raise BadInput(message("fault.no_language", language=tag[:20], known=()).at("language"))
    return found.tag


def _file(data: bytes, media_type: str, name: str) -> Response:
    return Response(
        data, media_type=media_type, headers={"content-disposition": f'inline; filename="{name}"'}
    )
