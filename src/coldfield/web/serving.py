"""Run the service, on this machine only or for a network behind a passphrase."""

from __future__ import annotations

import asyncio
import logging
import signal
import socket
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager, nullcontext, suppress
from functools import partial

import uvicorn
from starlette.types import ASGIApp

from coldfield.app.hearing.readiness import Readiness, hearing_compiled, prepare_hearing
from coldfield.app.hut.entrance import Entrance
from coldfield.app.jobs.ending import ENDINGS
from coldfield.app.jobs.jobs import Jobs
from coldfield.app.records.data import Data, writing
from coldfield.records.database import Database
from coldfield.web.app import create_app, make_jobs
from coldfield.web.connection import Connection
from coldfield.web.hut.gate import Hut, Shared
from coldfield.web.hut.sharing import Sharing
from coldfield.web.listening import PORT, Tls, address, is_loopback, listen, name_of
from coldfield.words import word


def serve(
    data: Data,
    *,
    host: str = "127.0.0.1",
    port: int = PORT,
    or_any_port: bool = False,
    passphrase: str | None = None,
    tls: Tls | None = None,
    ready: Callable[[str], None],
    begin: Callable[[Database, Jobs], object] = lambda database, jobs: None,
) -> None:
    """Serve one set of records until the process is told to stop.

    Parameters
    ----------
    data : Data
        The records.
    host, port : str, int
        Where to listen.
    or_any_port : bool
        Choose a free port if that one is taken.
    passphrase : str, optional
        The passphrase for everybody on the network; without one only this machine is served.
    tls : Tls, optional
        A certificate.
    ready : callable
        Called with each line to print; the first is the address, once requests are accepted.
    begin : callable, optional
        Called with the records and the jobs, before the address is printed.

    Raises
    ------
    Refused
        If others can reach the host and there is no passphrase, or the port is taken.
    BadInput
        If host, passphrase or certificate cannot be used.
    """
    if tls is not None:
        tls.check()
    entrance = None if passphrase is None else Entrance(passphrase, clock=time.monotonic)
    with ExitStack() as stack:
        listener = stack.enter_context(listen(host, port, or_any=or_any_port, shared=entrance is not None))
        name = "" if entrance is None else name_of(host)
        where = address(listener, name=name, secret=tls is not None)
        database = stack.enter_context(writing(data, who=f"the Coldfield at {where}"))
        jobs = make_jobs(database)
        stack.callback(jobs.close)
        told = partial(ready, word("command.serve.preparing"))
        readiness = Readiness(prepare_hearing, hearing_compiled, told)
        stack.callback(readiness.close)
        sharing = Sharing(partial(make_server, ready=lambda: None, tls=tls, alone=False), tls=tls)
        app = create_app(database, data=data, jobs=jobs, readiness=readiness, sharing=sharing)
        asked: ASGIApp = app
        if entrance is not None:
            sharing.hut = Hut(entrance, where, name)
            asked = Shared(app, sharing.hut)

        def served() -> None:
            begin(database, jobs)
            ready(where)
            if tls is None and not is_loopback(host):
                ready(word("command.serve.plain_http"))
            readiness.start()
            jobs.get_ready()

        stack.callback(_end_undisturbed)
        run(asked, listener, ready=served, ending=jobs.close, tls=tls, sharing=sharing)


def run(
    app: ASGIApp,
    listener: socket.socket,
    *,
    ready: Callable[[], None],
    ending: Callable[[], None] = lambda: None,
    tls: Tls | None = None,
    sharing: Sharing | None = None,
) -> None:
    """Answer requests on a socket until the process is told to stop, with only Coldfield's own log lines.

    Ctrl-C (SIGINT) and SIGTERM have the same effect. `ending` is called while requests are still answered, so
    that clients that follow a job are notified; open requests then get a moment to finish.
    """
    # The server has already stopped in order when the interrupt arrives here.
    with suppress(KeyboardInterrupt):
        make_server(app, ready=ready, ending=ending, tls=tls, sharing=sharing).run(sockets=[listener])


def _end_undisturbed() -> None:
    """Ignore further signals while stopping, which takes a few seconds at most."""
    if threading.current_thread() is threading.main_thread():
        for number in (signal.SIGINT, *ENDINGS):
            signal.signal(number, signal.SIG_IGN)


def make_server(
    app: ASGIApp,
    *,
    ready: Callable[[], None],
    ending: Callable[[], None] = lambda: None,
    tls: Tls | None = None,
    sharing: Sharing | None = None,
    alone: bool = True,
) -> uvicorn.Server:
    """Return a server, not started yet; it calls `ready` when it accepts requests, `ending` before it stops.

    Its `sharing` ends with it. If it is not `alone`, the other server of the process handles the signals.
    """

    class Server(uvicorn.Server):
        async def startup(self, sockets: list[socket.socket] | None = None) -> None:
            await super().startup(sockets=sockets)
            if alone and threading.current_thread() is threading.main_thread():
                # The server itself handles only Ctrl-C and SIGTERM.
                for number in set(ENDINGS) - {signal.SIGTERM}:
                    if signal.getsignal(number) is not signal.SIG_IGN:
                        signal.signal(number, self.handle_exit)
            ready()

        @contextmanager
        def capture_signals(self) -> Iterator[None]:
            with super().capture_signals() if alone else nullcontext():
                yield

        async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
            for server in self.servers:
                server.close()
            if sharing is not None:
                await sharing.end()
            await asyncio.to_thread(ending)
            await super().shutdown(sockets=sockets)

    # The server's messages on broken connections do not help people.
    logging.getLogger("uvicorn").setLevel(logging.CRITICAL)
    log = logging.getLogger("coldfield.web")
    if not log.handlers:
        handler = logging.StreamHandler()
        handler.setFormatter(logging.Formatter("%(asctime)s %(message)s"))
        log.addHandler(handler)
        log.setLevel(logging.WARNING)
        log.propagate = False
    config = uvicorn.Config(
        app,
        http=Connection,
        log_config=None,
        access_log=False,
        server_header=False,
        proxy_headers=False,
        lifespan="off",
        ws="none",
        timeout_graceful_shutdown=3,
        ssl_certfile=None if tls is None else tls.cert,
        ssl_keyfile=None if tls is None else tls.key,
    )
    return Server(config)
