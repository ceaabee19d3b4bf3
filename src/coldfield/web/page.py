"""The plain page about the service: what runs here and where the data is."""

from __future__ import annotations

import re
from collections.abc import Mapping
from html import escape
from importlib.resources import files
from pathlib import Path
from urllib.parse import quote

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from starlette.concurrency import run_in_threadpool

import coldfield
from coldfield.app.records import reading as records
from coldfield.errors import ColdfieldError
from coldfield.message import Value, day
from coldfield.records.database import Database
from coldfield.web import front
from coldfield.web.hut import share_page
from coldfield.web.hut.gate import hut_of
from coldfield.web.hut.sharing import Sharing
from coldfield.words import ENGLISH, language_of, speaking, word

MOST_DEBRIEFS = 20

_WEIGHT = re.compile(r"0(?:\.\d{0,3})?|1(?:\.0{0,3})?", re.ASCII)
"""A quality value of a language (RFC 9110, 12.4.2)."""


def router(database: Database, sharing: Sharing) -> APIRouter:
    """Return the routes of the page; if the app was built, it has the root."""
    api = APIRouter(include_in_schema=False)

    @api.get("/", response_class=HTMLResponse)
    def root(request: Request) -> Response:
        return front.app_page(request) if front.built() else page(request)

    @api.get("/service", response_class=HTMLResponse)
    def page(request: Request) -> Response:
        return shown(request, None)

    def shown(request: Request, fault: ColdfieldError | None) -> Response:
        tag = wanted_language(request)
        with speaking(tag):
            html = plain_page(
                place=database.place,
                links=debrief_links(database),
                language=tag,
                sharing=share_page.section(request, sharing, fault),
                shared=hut_of(request.scope) is not None or sharing.hut is not None,
            )
        # Without a referrer, a browser would send the forms of this page with the origin null.
        headers = {"content-language": tag, "vary": "accept-language", "referrer-policy": "same-origin"}
        return HTMLResponse(html, headers=headers, status_code=200 if fault is None else 422)

    @api.post("/service/share", response_class=HTMLResponse)
    async def share(request: Request) -> Response:
        share_page.refuse_from_network(request)
        fault = await share_page.begun(request, sharing)
        if fault is not None:
            return await run_in_threadpool(shown, request, fault)
        return RedirectResponse("/service", status_code=303)

    @api.post("/service/unshare")
    async def unshare(request: Request) -> Response:
        share_page.refuse_from_network(request)
        await sharing.end()
        return RedirectResponse("/service", status_code=303)

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


def wanted_language(request: Request) -> str:
    """Return the language of a page: that of its address, else the browser's first choice, else English.

    Languages without a catalogue are skipped.
    """
    asked = request.query_params.get("language", "")
    liked = accepted(request.headers.get("accept-language", ""))
    found = (language_of(tag) for tag in (asked, *liked))
    return next((language.tag for language in found if language is not None), ENGLISH)


def accepted(header: str) -> list[str]:
    """Return the tags of an Accept-Language header (RFC 9110, 12.5.4), most wanted first.

    Examples
    --------
    >>> accepted("en;q=0.5, de-CH, it;q=0, x;q=high")
    ['de-CH', 'en']
    """
    weighed = []
    for part in header.split(","):
        tag, _, parameter = part.partition(";")
        name, _, weight = parameter.partition("=")
        found = _WEIGHT.fullmatch(weight.strip()) if name.strip().lower() == "q" else None
        quality = float(found[0]) if found else 0.0 if parameter.strip() else 1.0
        if quality > 0.0:
            weighed.append((-quality, tag.strip()))
    return [tag for _, tag in sorted(weighed, key=lambda one: one[0])]


def debrief_links(database: Database) -> dict[str, str]:
    """Return the addresses of the latest debriefs, each with a text of its run, drill and day."""
    links = {}
    for debrief in records.page(database, "debriefs", limit=MOST_DEBRIEFS):
        run = records.find(database, "runs", debrief["run_id"])
        drill = records.drill_version(database, run["drill_id"], run["drill_version"])["name"]
        name, held = run["name"], day(run["held_utc"][:10])
        links[f"/debriefs/{debrief['id']}"] = (
            word("service_page.debrief_named", drill=drill, name=name, day=held)
            if name
            else word("service_page.debrief", drill=drill, day=held)
        )
    return links


def plain_page(
    *, place: str, links: Mapping[str, str], language: str, sharing: str = "", shared: bool = False
) -> str:
    """Return the page's HTML in the current language, `language`; `sharing` is its part about sharing."""
    runs = "service_page.runs_shared" if shared else "service_page.runs"
    option = escape(f" --data '{Path(place).parent}'" if place.endswith(".db") else " --database URL")
    return f"""<!doctype html>
<html lang="{escape(language)}">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>Coldfield</title>
<link rel="stylesheet" href="/plain.css">
<script src="/plain.js" defer></script>
</head>
<body>
<main>
<h1>{_said("service_page.title")}</h1>
{_way_to_the_app()}
<p>{_said(runs, version=coldfield.__version__)}</p>
{sharing}
{_debriefs(links, language)}
<h2>{_said("service_page.data")}</h2>
<p><code>{escape(place)}</code></p>
<p class="quiet">{_said("service_page.copy")} <code>coldfield backup{option}</code></p>
<p>{_said("service_page.along")} <a href="/api/export">coldfield.zip</a></p>
<p class="quiet">{_said("service_page.commands")}
<code>coldfield export{option} all.zip</code>,
<code>coldfield import{option} all.zip</code></p>
<h2>{_said("service_page.programs")}</h2>
<p>{_said("service_page.description")} <a href="/api/openapi.json">/api/openapi.json</a></p>
<p>{_said("service_page.licences")} <a href="/app/licences.txt">/app/licences.txt</a></p>
<p class="quiet">{_said("service_page.caution")}</p>
</main>
</body>
</html>
"""


def _said(code: str, **values: Value) -> str:
    return escape(word(code, **values))


def _way_to_the_app() -> str:
    """Return what the page says to a dropped file, and the link to the app if there is one."""
    if not front.built():
        words = _said("service_page.takes_none_command")
        return f'<p id="dropped" role="status" hidden>{words} <code>coldfield --help</code></p>'
    words, back = _said("service_page.takes_none_app"), _said("service_page.back")
    return f'<p id="dropped" role="status" hidden>{words}</p>\n<p><a href="/">{back}</a></p>'


def _debriefs(links: Mapping[str, str], language: str) -> str:
    if not links:
        return ""
    ending = f"?language={quote(language)}"
    items = [f'<li><a href="{escape(to + ending)}">{escape(words)}</a></li>' for to, words in links.items()]
    return f"<h2>{_said('service_page.debriefs')}</h2>\n<ul>{''.join(items)}</ul>"
