"""The page of a kept debrief: one self-contained HTML file, under its own strict policy."""

from __future__ import annotations

import re
from html import unescape

from fastapi import APIRouter
from fastapi.responses import HTMLResponse

from coldfield.app import records
from coldfield.files.debrief_html import debrief_html
from coldfield.records.database import Database
from coldfield.web.routes.records import Id

_POLICY = re.compile(r'<meta http-equiv="Content-Security-Policy" content="([^"]*)"')


def router(database: Database) -> APIRouter:
    """Return the route."""
    api = APIRouter(include_in_schema=False)

    @api.get("/debriefs/{debrief_id}", response_class=HTMLResponse)
    def debrief_page(debrief_id: Id) -> HTMLResponse:
        page = debrief_html(records.find(database, "debriefs", debrief_id)["document"])
        return HTMLResponse(page, headers={"content-security-policy": policy_of(page)})

    return api


def policy_of(page: str) -> str:
    """Return the policy that a page states for itself, with nobody allowed to frame it."""
    found = _POLICY.search(page)
    stated = unescape(found.group(1)) if found else "default-src 'none'"
    return f"{stated}; frame-ancestors 'none'"
