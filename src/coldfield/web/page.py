"""The plain page: what runs here and where the data is."""

from __future__ import annotations

from collections.abc import Mapping
from html import escape
from importlib.resources import files
from pathlib import Path

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response

import coldfield
from coldfield.app.records import reading as records
from coldfield.records.database import Database
from coldfield.web import front

MOST_DEBRIEFS = 20
TO_APP = 'Drop the file <a href="/">in the app</a>: it says where it goes.'
TO_COMMAND = "Give the file to the command that takes it: <code>coldfield --help</code>."


def router(database: Database) -> APIRouter:
    """Return the routes of the page; at the root the app, where it was built."""
    api = APIRouter(include_in_schema=False)

    @api.get("/", response_class=HTMLResponse)
    def root(request: Request) -> Response:
        return front.app_page(request) if front.built() else HTMLResponse(page())

    @api.get("/service", response_class=HTMLResponse)
    def page() -> str:
        return plain_page(place=database.place, links=debrief_links(database))

    @api.get("/favicon.ico")
    def no_icon() -> Response:
        return Response(status_code=204)

    @api.get("/plain.css")
    def style() -> Response:
        text = files("coldfield.web").joinpath("plain.css").read_text(encoding="utf-8")
        return Response(text, media_type="text/css")

    @api.get("/plain.js")
    def script() -> Response:
        text = files("coldfield.web").joinpath("plain.js").read_text(encoding="utf-8")
        return Response(text, media_type="text/javascript")

    return api


def debrief_links(database: Database) -> dict[str, str]:
    """Return the addresses of the latest debriefs, each with its run, drill and day in words."""
    links = {}
    for debrief in records.page(database, "debriefs", limit=MOST_DEBRIEFS):
        run = records.find(database, "runs", debrief["run_id"])
        drill = records.drill_version(database, run["drill_id"], run["drill_version"])
        name = f"{run['name']}, " if run["name"] else ""
        links[f"/debriefs/{debrief['id']}"] = f"{drill['name']}: {name}{run['held_utc'][:10]}"
    return links


def plain_page(*, place: str, links: Mapping[str, str]) -> str:
    """Return the page's HTML."""
    goes = TO_APP if front.built() else TO_COMMAND
    items = [f'<li><a href="{escape(to)}">{escape(words)}</a></li>' for to, words in links.items()]
    option = f" --data '{Path(place).parent}'" if place.endswith(".db") else " --database URL"
    offered = f"<h2>Debriefs</h2>\n<ul>{''.join(items)}</ul>" if items else ""
    return f"""<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>Coldfield</title>
<link rel="stylesheet" href="/plain.css">
<script src="/plain.js" defer></script>
</head>
<body>
<main>
<h1>What runs here?</h1>
<p id="dropped" role="status" hidden>This page takes no files. {goes}</p>
{'<p><a href="/">Back to the app</a></p>' if front.built() else ""}
<p>Coldfield {escape(coldfield.__version__)}, on this machine only. It keeps the records of your drills and
does the computing behind them.</p>
{offered}
<h2>Where the data is</h2>
<p><code>{escape(place)}</code></p>
<p class="quiet">To copy it while this runs: <code>coldfield backup{escape(option)}</code></p>
<p>To take everything along in one open file: <a href="/api/export">coldfield.zip</a></p>
<p class="quiet">The same as a command, and how such a file is read in again:
<code>coldfield export{escape(option)} all.zip</code>,
<code>coldfield import{escape(option)} all.zip</code></p>
<h2>For other programs</h2>
<p>The description of the service is at <a href="/api/openapi.json">/api/openapi.json</a>.</p>
<p class="quiet">For training and planning only. In a real accident call the rescue service and use your
training.</p>
</main>
</body>
</html>
"""
