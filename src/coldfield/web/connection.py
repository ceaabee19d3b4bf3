"""A connection with time limits: for the head of a request, and for a body that is no longer read."""

from __future__ import annotations

import asyncio
from typing import Any

import h11
from uvicorn.protocols.http.h11_impl import H11Protocol

HEAD_S = 10.0
"""How long the head of a request may take, counted from the connection or from its first byte, s. Setting."""

REST_S = 20.0
"""How long the rest of a body may still arrive after its request was answered, s. Setting."""


class Connection(H11Protocol):
    """One connection of the service; `guard` limits the time for a body that is read."""

    head_s = HEAD_S
    rest_s = REST_S
    _timer: asyncio.TimerHandle | None = None
    _waits_for = ""

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Wait for the first request."""
        super().connection_made(transport)
        self._watch("head")

    def connection_lost(self, exc: Exception | None) -> None:
        """Stop waiting."""
        self._watch("")
        super().connection_lost(exc)

    def data_received(self, data: bytes) -> None:
        """Handle received data, and watch for what is still missing."""
        super().data_received(data)
        self._look()

    def on_response_complete(self) -> None:
        """Go on to the next request, or wait a little for the rest of this one."""
        super().on_response_complete()
        self._look()

    def _look(self) -> None:
        theirs = self.conn.their_state
        if theirs is h11.IDLE:
            # Between two requests uvicorn closes a connection that stays silent.
            begun = bool(self.conn.trailing_data[0])
            self._watch("head" if begun or self.cycle is None else "")
        elif theirs is h11.SEND_BODY and self.cycle.response_complete:
            self._watch("rest")
        else:
            self._watch("")

    def _watch(self, what: str) -> None:
        """Close the connection unless it all arrives in time; partial data do not extend the time."""
        if what == self._waits_for:
            return
        self._waits_for = what
        if self._timer is not None:
            self._timer.cancel()
            self._timer = None
        if what:
            seconds = self.head_s if what == "head" else self.rest_s
            self._timer = self.loop.call_later(seconds, self._give_up)

    def _give_up(self, *_: Any) -> None:
        if not self.transport.is_closing():
            self.transport.close()
