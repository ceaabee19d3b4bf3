"""The check before every route of the shared service: nothing can be read without the passphrase."""

from __future__ import annotations

import re
from dataclasses import dataclass
from http.cookies import CookieError, SimpleCookie
from typing import Any
from urllib.parse import quote

from starlette.datastructures import Headers
from starlette.responses import RedirectResponse, Response
from starlette.types import ASGIApp, Receive, Scope, Send

from coldfield.app.hut.entrance import Entrance
from coldfield.message import message
from coldfield.web.problems import problem

SCOPE = "coldfield.hut"
"""The key of the `Hut` in the scope of a shared request."""

SESSION, DEVICE = "coldfield_session", "coldfield_device"
"""The cookies: for a session, and for a browser that was in before."""

LOGIN = "/login"

OPEN = frozenset(
    {
        ("GET", LOGIN),
        ("POST", LOGIN),
        ("GET", "/plain.css"),
        ("GET", "/favicon.ico"),
        ("GET", "/clock"),
        ("GET", "/clock/codes"),
        ("GET", "/clock/codes.wasm"),
        ("POST", "/api/hut/day"),
        ("POST", "/api/hut/track"),
    }
)
"""Open without the passphrase: the login, the empty clock, and what phones send with a code."""

_PORT = re.compile(r"(?P<name>\[[0-9a-f:.]+\]|[a-z0-9.-]+)(?::(?P<port>[0-9]{1,5}))?", re.ASCII)


@dataclass(frozen=True, slots=True)
class Hut:
    """How the service is shared.

    Parameters
    ----------
    entrance : Entrance
        The passphrase and its sessions.
    address : str
        The address of the service, with its final slash.
    name : str
        The host name under which it is shared, '' if that is an address.
    """

    entrance: Entrance
    address: str
    name: str = ""

    @property
    def is_secret(self) -> bool:
        """Return whether the connection is encrypted, so that others on the network cannot read it."""
        return self.address.startswith("https:")


class Shared:
    """The service for the network: adds its `Hut` to each request."""

    def __init__(self, app: ASGIApp, hut: Hut) -> None:
        self.app, self.hut = app, hut

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        await self.app({**scope, SCOPE: self.hut}, receive, send)


def hut_of(scope: Scope) -> Hut | None:
    """Return how the service that received a request is shared; None if it is not shared."""
    hut: Hut | None = scope.get(SCOPE)
    return hut


def is_own_host(scope: Scope, host: str) -> bool:
    """Return whether the host of a request is the shared service: its address, or its given name."""
    hut, server = hut_of(scope), scope.get("server")
    found = _PORT.fullmatch(host)
    if hut is None or server is None or found is None:
        return False
    usual = 443 if hut.is_secret else 80
    own = {str(server[0]).partition("%")[0].lower(), hut.name.lower()} - {""}
    return found["name"].strip("[]") in own and int(found["port"] or usual) == (server[1] or usual)


def kept_out(scope: Scope) -> Response | None:
    """Return the answer to somebody who has not typed the passphrase, None if they may go on."""
    hut = hut_of(scope)
    if hut is None or (scope["method"], scope["path"]) in OPEN:
        return None
    if hut.entrance.is_in(cookie_of(scope, SESSION)):
        return None
    headers = Headers(scope=scope)
    wants_page = scope["method"] == "GET" and "text/html" in headers.get("accept", "")
    if wants_page and not scope["path"].startswith("/api/"):
        to = quote(scope["path"]) if scope["path"] != "/" else ""
        return RedirectResponse(f"{LOGIN}?to={to}" if to else LOGIN, status_code=303)
    return problem(401, message("fault.passphrase_first"))


def cookie_of(scope: Scope, name: str) -> str:
    """Return a cookie of a request, '' if it has none."""
    try:
        cookies: Any = SimpleCookie(Headers(scope=scope).get("cookie", ""))
    except CookieError:
        return ""
    return cookies[name].value if name in cookies else ""
