"""Start and stop sharing from the app: the same service, also on an address of the network."""

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
"""Returns a server for an app, not started yet."""


class Sharing:
    """Whether the service is shared on a network, and with whom.

    Parameters
    ----------
    serve : callable, optional
        Makes the server for the shared address; without it sharing cannot be started from the app.
    tls : Tls, optional
        The certificate of the shared service.
    """

    def __init__(self, serve: Serve | None = None, *, tls: Tls | None = None) -> None:
        self.hut: Hut | None = None
        self._serve, self._tls = serve, tls
        self._server: uvicorn.Server | None = None
        self._running: asyncio.Task[None] | None = None
        self._listener: socket.socket | None = None

    @property
    def can_begin(self) -> bool:
        """Return whether sharing can be started from the app now."""
        return self._serve is not None and self.hut is None

    @property
    def began_here(self) -> bool:
        """Return whether sharing was started from the app, so that it can be stopped there."""
        return self._server is not None

    async def begin(self, app: ASGIApp, host: str, passphrase: str, *, port: int = PORT) -> None:
        """Also answer on an address of the network.

        Raises
        ------
        BadInput
            If the address or the passphrase cannot be used.
        Refused
            If the address and port cannot be used for listening.
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
        """Answer only on this machine again; everybody else is logged out."""
        server, running, listener = self._server, self._running, self._listener
        self.hut = self._server = self._running = self._listener = None
        if server is not None and running is not None and listener is not None:
            server.should_exit = True
            with suppress(asyncio.CancelledError):
                await running
            listener.close()
