"""Run the service on this machine: the address, the log, a taken port."""

from __future__ import annotations

import asyncio
import errno
import logging
import signal
import socket
import threading
from collections.abc import Callable
from contextlib import ExitStack, suppress
from functools import partial
from ipaddress import ip_address

import uvicorn
from fastapi import FastAPI

from coldfield.app.hearing.readiness import Readiness, hearing_compiled, prepare_hearing
from coldfield.app.jobs.ending import ENDINGS
from coldfield.app.jobs.jobs import Jobs
from coldfield.app.records.data import Data, writing
from coldfield.errors import BadInput, Refused
from coldfield.message import message
from coldfield.records.database import Database
from coldfield.records.faults import of_system
from coldfield.web.app import create_app, make_jobs
from coldfield.web.connection import Connection
from coldfield.words import word

PORT = 8457
"""Where the service listens if nothing else is said. Setting."""


def listen(host: str, port: int, *, or_any: bool = False) -> socket.socket:
    """Return a socket that listens on an address of this machine.

    Parameters
    ----------
    host : str
        A loopback address or 'localhost'.
    port : int
        The port; 0 takes a free one.
    or_any : bool
        Take a free port where that one is taken.

    Raises
    ------
    Refused
        If the host is not of this machine alone, or the port is taken.
    BadInput
        If the host is no address.
    """
    name = "127.0.0.1" if host == "localhost" else host.strip("[]")
    try:
        loopback = ip_address(name).is_loopback
    except ValueError:
        raise BadInput(message("fault.no_host_address", host=host).at("--host")) from None
    if not loopback:
        raise Refused(message("fault.on_a_network", host=host).at("--host"))
    family = socket.AF_INET6 if ":" in name else socket.AF_INET
    # Named as TCP, so that asyncio sends small answers at once instead of after 40 ms.
    listener = socket.socket(family, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind((name, port))
    except OSError as error:
        listener.close()
        if or_any and port and error.errno in (errno.EADDRINUSE, errno.EACCES):
            return listen(host, 0)
        said = message("fault.port_taken", port=str(port), host=host, why=of_system(error))
        raise Refused(said) from None
    listener.listen(128)
    return listener


def address(listener: socket.socket) -> str:
    """Return the address a person opens, such as ``http://127.0.0.1:8457/``."""
    host, port = listener.getsockname()[:2]
    return f"http://[{host}]:{port}/" if ":" in host else f"http://{host}:{port}/"


def serve(
    data: Data,
    *,
    host: str = "127.0.0.1",
    port: int = PORT,
    or_any_port: bool = False,
    ready: Callable[[str], None],
    begin: Callable[[Database, Jobs], object] = lambda database, jobs: None,
) -> None:
    """Serve one set of records until the process is told to stop.

    Parameters
    ----------
    data : Data
        Which records.
    host, port : str, int
        Where to listen.
    or_any_port : bool
        Take a free port where that one is taken.
    ready : callable
        Called with each line to print; the first is the address, once requests are taken.
    begin : callable, optional
        Called with the records and those who do long work, before the address is told.
    """
    with ExitStack() as stack:
        listener = stack.enter_context(listen(host, port, or_any=or_any_port))
        where = address(listener)
        database = stack.enter_context(writing(data, who=f"the Coldfield at {where}"))
        jobs = make_jobs(database)
        stack.callback(jobs.close)
        told = partial(ready, word("command.serve.preparing"))
        readiness = Readiness(prepare_hearing, hearing_compiled, told)
        stack.callback(readiness.close)
        app = create_app(database, data=data, jobs=jobs, readiness=readiness)

        def served() -> None:
            begin(database, jobs)
            ready(where)
            readiness.start()
            jobs.get_ready()

        stack.callback(_end_undisturbed)
        run(app, listener, ready=served, ending=jobs.close)


def run(
    app: FastAPI,
    listener: socket.socket,
    *,
    ready: Callable[[], None],
    ending: Callable[[], None] = lambda: None,
) -> None:
    """Answer requests on a socket until the process is told to stop; our own log lines only.

    Ctrl-C (SIGINT) and SIGTERM end it in the same way: `ending` is called while requests are still
    answered, so that those who follow a job are told, then what is open gets a moment to end.
    """
    # By the time the interrupt gets here the server has ended in order.
    with suppress(KeyboardInterrupt):
        make_server(app, ready=ready, ending=ending).run(sockets=[listener])


def _end_undisturbed() -> None:
    """Let no second signal cut off the end itself, which takes some seconds at most."""
    if threading.current_thread() is threading.main_thread():
        for number in (signal.SIGINT, *ENDINGS):
            signal.signal(number, signal.SIG_IGN)


def make_server(
    app: FastAPI, *, ready: Callable[[], None], ending: Callable[[], None] = lambda: None
) -> uvicorn.Server:
    """Return a server not started yet; it calls `ready` once it takes requests, `ending` before its end."""

    class Server(uvicorn.Server):
        async def startup(self, sockets: list[socket.socket] | None = None) -> None:
            await super().startup(sockets=sockets)
            if threading.current_thread() is threading.main_thread():
                # The server itself knows of Ctrl-C and SIGTERM only.
                for number in set(ENDINGS) - {signal.SIGTERM}:
                    if signal.getsignal(number) is not signal.SIG_IGN:
                        signal.signal(number, self.handle_exit)
            ready()

        async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
            for server in self.servers:
                server.close()
            await asyncio.to_thread(ending)
            await super().shutdown(sockets=sockets)

    # What the server says of connections that break off says nothing to a person.
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
    )
    return Server(config)
