"""Sharing begun and ended from the app: the same service, on an address of the network besides."""

from __future__ import annotations

import asyncio
import socket
import time
from collections.abc import Callable
from contextlib import suppress

import uvicorn
from starlette.types import ASGIApp

from coldfield.app.hut.entrance import Entrance
from coldfield.web.hut.gate import Hut, Shared
from coldfield.web.listening import PORT, Tls, address, listen, name_of

Serve = Callable[[ASGIApp], uvicorn.Server]
"""Makes a server for an app that is not started yet."""


class Sharing:
    """Whether the service is shared on a network, and with whom.

    Parameters
    ----------
    serve : callable, optional
        Makes the server of the shared address; without it sharing cannot be begun from the app.
    tls : Tls, optional
        The certificate it is served with.
    """

    def __init__(self, serve: Serve | None = None, *, tls: Tls | None = None) -> None:
        self.hut: Hut | None = None
        self._serve, self._tls = serve, tls
        self._server: uvicorn.Server | None = None
        self._running: asyncio.Task[None] | None = None
        self._listener: socket.socket | None = None

    @property
    def can_begin(self) -> bool:
        """Return whether sharing can be begun from the app now."""
        return self._serve is not None and self.hut is None

    @property
    def began_here(self) -> bool:
        """Return whether it was begun from the app, so that it can be ended there."""
        return self._server is not None

    async def begin(self, app: ASGIApp, host: str, passphrase: str, *, port: int = PORT) -> None:
        """Answer on an address of the network, too.

        Raises
        ------
        BadInput
            If the address or the passphrase cannot be used.
        Refused
            If nobody can listen there.
        """
        if self._serve is None or self.hut is not None:
            return
        entrance = Entrance(passphrase, clock=time.monotonic)
        listener = listen(host, port, or_any=True, shared=True)
        name = name_of(host)
        hut = Hut(entrance, address(listener, name=name, secret=self._tls is not None), name)
        self._server = self._serve(Shared(app, hut))
        self._running = asyncio.create_task(self._server.serve(sockets=[listener]))
        self._listener, self.hut = listener, hut

    async def end(self) -> None:
        """Answer on this machine alone again; everybody else is logged out."""
        server, running, listener = self._server, self._running, self._listener
        self.hut = self._server = self._running = self._listener = None
        if server is not None and running is not None and listener is not None:
            server.should_exit = True
            with suppress(asyncio.CancelledError):
                await running
            listener.close()
