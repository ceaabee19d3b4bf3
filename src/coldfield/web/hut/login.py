"""The login: a plain page that asks for the passphrase."""

from __future__ import annotations

import re
from html import escape
from math import ceil
from urllib.parse import parse_qs

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from starlette.concurrency import run_in_threadpool

from coldfield.app.hut.entrance import SESSION_S, Entered, KeptOut
from coldfield.errors import UnknownRecord
from coldfield.message import Value, duration, message
from coldfield.web.hut.gate import DEVICE, LOGIN, SESSION, Hut, cookie_of, hut_of
from coldfield.web.page import wanted_language
from coldfield.words import speaking, word

MOST_BYTES = 4000
DEVICE_S = 180 * 86400

_WITHIN = re.compile(r"/(?![/\\])[!-~]{0,500}")
"""An address on this service, never on another one."""


def router() -> APIRouter:
    """Return the routes; a service that is not shared has no such page."""
    api = APIRouter(include_in_schema=False)

    @api.get(LOGIN, response_class=HTMLResponse)
    def ask(request: Request, to: str = "") -> Response:
        return login_page(request, _hut(request), to=to)

    @api.post(LOGIN, response_class=HTMLResponse)
    async def answer(request: Request) -> Response:
        hut = _hut(request)
        body = await request.body()
        if len(body) > MOST_BYTES:
            return login_page(request, hut, status=413)
        told = parse_qs(body.decode("utf-8", "replace"), keep_blank_values=True)
        to = told.get("to", [""])[0]
        entered = await run_in_threadpool(
            hut.entrance.enter,
            told.get("passphrase", [""])[0],
            address=request.client.host if request.client else "",
            device=cookie_of(request.scope, DEVICE),
        )
        if isinstance(entered, KeptOut):
            return login_page(request, hut, to=to, kept_out=entered)
        return _let_in(entered, hut, to)

    @api.post("/logout")
    async def leave(request: Request) -> Response:
        hut = _hut(request)
        hut.entrance.leave(cookie_of(request.scope, SESSION))
        response = RedirectResponse(LOGIN, status_code=303)
        response.delete_cookie(SESSION, path="/", httponly=True, samesite="strict", secure=hut.is_secret)
        return response

    return api


def _hut(request: Request) -> Hut:
    hut = hut_of(request.scope)
    if hut is None:
        raise UnknownRecord(message("fault.no_address"))
    return hut


def _let_in(entered: Entered, hut: Hut, to: str) -> Response:
    response = RedirectResponse(to if _WITHIN.fullmatch(to) else "/", status_code=303)
    for name, value, seconds in ((SESSION, entered.session, SESSION_S), (DEVICE, entered.device, DEVICE_S)):
        response.set_cookie(
            name, value, max_age=int(seconds), httponly=True, samesite="strict", secure=hut.is_secret
        )
    return response


def login_page(
    request: Request, hut: Hut, *, to: str = "", kept_out: KeptOut | None = None, status: int = 200
) -> Response:
    """Return the page that asks for the passphrase, with the reason for an earlier refusal."""
    tag = wanted_language(request)
    headers = {"content-language": tag, "vary": "accept-language", "referrer-policy": "same-origin"}
    with speaking(tag):
        fault = ""
        if kept_out is not None and kept_out.wait_s:
            status = 429
            headers["retry-after"] = str(ceil(kept_out.wait_s))
            fault = _said("hut_page.wait", wait=duration(ceil(kept_out.wait_s)))
        elif kept_out is not None:
            status = 403
            fault = _said("hut_page.wrong")
        page = _page(tag, to=to if _WITHIN.fullmatch(to) else "", fault=fault, is_secret=hut.is_secret)
    return HTMLResponse(page, status_code=status, headers=headers)


def _page(tag: str, *, to: str, fault: str, is_secret: bool) -> str:
    told = f'<p role="alert" class="bad">{fault}</p>' if fault else ""
    plain = "" if is_secret else f'<p class="caution">{_said("hut_page.plain_http")}</p>'
    return f"""<!doctype html>
<html lang="{escape(tag)}">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>{_said("hut_page.title")}</title>
<link rel="stylesheet" href="/plain.css">
</head>
<body>
<main>
<h1>{_said("hut_page.title")}</h1>
{told}
<form method="post" action="{LOGIN}">
<label for="passphrase">{_said("hut_page.passphrase")}</label>
<input id="passphrase" name="passphrase" type="password" autocomplete="current-password" required autofocus>
<input type="hidden" name="to" value="{escape(to)}">
<button>{_said("hut_page.open")}</button>
</form>
{plain}
<p class="quiet">{_said("hut_page.phones")}</p>
</main>
</body>
</html>
"""


def _said(code: str, **values: Value) -> str:
    return escape(word(code, **values))
