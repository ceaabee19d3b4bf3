"""Checks before every route: host and origin, body size and time, and the headers of each answer."""

from __future__ import annotations

import asyncio
import logging
import re
import traceback
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from starlette.datastructures import Headers, MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from coldfield.message import message
from coldfield.web.hut.gate import hut_of, is_own_host, kept_out
from coldfield.web.problems import CutOff, ProblemResponse, TooLarge, TooSlow, cut_off, problem

log = logging.getLogger("coldfield.web")

_LOOPBACK = re.compile(r"(?:127\.0\.0\.1|localhost|\[::1\])(?::([0-9]{1,5}))?")
"""The loopback names of this machine, with or without a port, and nothing else."""

SILENT_S = 20.0
"""The longest pause within a body before its request is ended, s. Setting."""

SLOW_S = 60.0
"""How long any body may take, however slow it is, s. Setting."""

SLOW_BYTES_PER_S = 1000.0
"""The average rate required of a body that takes longer, bytes/s: slower than any real link. Setting."""

MOST_BODY_BYTES = 6_000_000
"""The largest body of a request, bytes, unless a route allows more. Setting."""

POLICY = (
    "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self' data:; font-src 'self'; "
    "connect-src 'self'; frame-src 'self'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'"
)
HEADERS = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    "referrer-policy": "no-referrer",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(self), microphone=(self), geolocation=()",
    "cache-control": "no-store",
}


@dataclass(slots=True)
class Guard:
    """Refuse foreign hosts and origins and large bodies; add headers; log without names or places.

    Parameters
    ----------
    app : ASGIApp
        The app to protect.
    clock : callable
        A monotonic clock for the log, s.
    most_bytes : callable
        Returns the largest body of a request to a path, bytes.
    silent_s, slow_s : float
        The longest pause within a body, and the time allowed for a slow one, s.
    """

    app: ASGIApp
    clock: Callable[[], float]
    most_bytes: Callable[[str], int]
    silent_s: float = SILENT_S
    slow_s: float = SLOW_S

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        start = self.clock()
        status = 0

        async def sent(message: Message) -> None:
            nonlocal status
            if message["type"] == "http.response.start":
                status = message["status"]
                headers = MutableHeaders(scope=message)
                for name, value in headers_of(scope).items():
                    headers.setdefault(name, value)
            await send(message)

        refusal = refused(scope) or kept_out(scope) or too_large(scope, self.most_bytes(scope["path"]))
        if refusal is not None:
            await refusal(scope, receive, sent)
        else:
            bounded = bound(in_time(receive, self), self.most_bytes(scope["path"]))
            try:
                await self.app(scope, bounded, sent)
            except Exception as error:
                answer = self._after(error)
                if status:
                    raise ConnectionAbortedError("an answer broke off; see the log line before") from None
                await answer(scope, receive, sent)
        log.info("%s %s %s %.1f ms", scope["method"], route_of(scope), status, (self.clock() - start) * 1e3)

    def _after(self, error: Exception) -> ProblemResponse:
        if isinstance(error, CutOff):
            return cut_off(error)
        log.error("%s", without_words(error))
        return problem(500, message("fault.inside_request"))


def headers_of(scope: Scope) -> dict[str, str]:
    """Return the headers of every answer to a request.

    One of them is sent only with this machine's own names or over https, since browsers otherwise ignore it
    with a warning.
    """
    if hut_of(scope) is None or scope.get("scheme") == "https":
        return HEADERS
    return {name: value for name, value in HEADERS.items() if name != "cross-origin-opener-policy"}


def refused(scope: Scope) -> ProblemResponse | None:
    """Return the refusal of a request from another site's page or to another host name, else None."""
    headers = Headers(scope=scope)
    hosts = headers.getlist("host")
    name = hosts[0].lower() if len(hosts) == 1 else ""
    if hut_of(scope) is not None:
        if not is_own_host(scope, name):
            return problem(421, message("fault.not_this_address"))
    else:
        known = _LOOPBACK.fullmatch(name)
        if known is None or int(known[1] or 0) > 65535:
            return problem(421, message("fault.this_machine_only"))
    origin = headers.get("origin")
    if origin is not None and origin.lower() != f"{scope.get('scheme', 'http')}://{name}":
        return problem(403, message("fault.foreign_page"))
    if headers.get("sec-fetch-site", "none") in ("cross-site", "same-site"):
        opened = headers.get("sec-fetch-mode") == "navigate" and scope["method"] == "GET"
        if not opened or scope["path"].startswith("/api"):
            return problem(403, message("fault.foreign_page"))
    return None


def too_large(scope: Scope, most_bytes: int) -> ProblemResponse | None:
    """Return the refusal of a body announced as larger than allowed, or without a true length."""
    length = Headers(scope=scope).get("content-length", "0")
    if not length.isascii() or not length.isdigit() or len(length) > 20:
        return problem(400, message("fault.no_content_length"))
    return problem(413, message("fault.too_many_bytes", n=most_bytes)) if int(length) > most_bytes else None


def in_time(receive: Receive, guard: Guard) -> Receive:
    """Return a `receive` that raises `TooSlow` if a body pauses too long or is too slow for long.

    A slow upload that keeps going is not cut off. Once the body is complete, there is no limit.
    """
    began = guard.clock()
    seen = 0
    whole = False

    async def timely() -> Message:
        nonlocal seen, whole
        if whole:
            return await receive()
        left = began + guard.slow_s + seen / SLOW_BYTES_PER_S - guard.clock()
        try:
            async with asyncio.timeout(max(min(left, guard.silent_s), 0.001)):
                message = await receive()
        except TimeoutError:
            raise TooSlow from None
        seen += len(message.get("body", b""))
        whole = not message.get("more_body", False)
        return message

    return timely


def bound(receive: Receive, most_bytes: int) -> Receive:
    """Return a `receive` that raises `TooLarge` once more than allowed has arrived."""
    seen = 0

    async def bounded() -> Message:
        nonlocal seen
        message = await receive()
        seen += len(message.get("body", b""))
        if seen > most_bytes:
            raise TooLarge
        return message

    return bounded


def route_of(scope: Scope) -> str:
    """Return a request's route with its placeholders, without the ids and words in its address."""
    route: Any = scope.get("route")
    return str(getattr(route, "path", "(no route)"))


def without_words(error: BaseException) -> str:
    """Return what an error is and where it came from, without its message, which may contain a name."""
    frames = traceback.extract_tb(error.__traceback__)[-6:]
    where = " < ".join(f"{Path(frame.filename).name}:{frame.lineno}" for frame in reversed(frames))
    return f"{type(error).__name__} at {where}"
