"""A process that forks servers to be killed: everything is imported once, so each server starts quickly.

Started as ``python killed_server.py FOLDER [PORT HOSTS]``: with a port every server uses that one, shared
under any name that ends in HOSTS. A line on its input starts a server; the answer is that server's process id
and port. Each server stops automatically after 30 s, and this process when its input closes.
"""

from __future__ import annotations

import gc
import os
import signal
import socket
import sys
import time
from functools import partial
from pathlib import Path

import uvicorn
from starlette.datastructures import Headers
from starlette.testclient import TestClient
from starlette.types import ASGIApp, Receive, Scope, Send

from coldfield.app.hut.entrance import Entrance
from coldfield.app.records.data import Data, writing
from coldfield.records.database import open_sqlite
from coldfield.records.folder import Folder
from coldfield.web.app import create_app
from coldfield.web.hut.gate import Hut, Shared
from coldfield.web.listening import listen
from coldfield.web.serving import run
from huts import CHEAP, PASSPHRASE


def main(folder: Path, port: int = 0, hosts: str = "") -> None:
    database = open_sqlite(Folder(folder))
    app = create_app(database)
    warm = TestClient(app, base_url="http://127.0.0.1")
    for key in ("x", "x"):
        warm.put(f"/api/people/{key}", json={"name": "Pia", "notes": "before the first kill"})
    warm.post("/api/runs/x/splits", json=[])
    uvicorn.Config(app, lifespan="off", ws="none").load()
    # Connections must not cross a fork; compiled SQL and imports may.
    database.engine.dispose()
    gc.freeze()
    for _ in sys.stdin:
        child = os.fork()
        if child:
            os.waitpid(child, 0)
            print("ended", flush=True)
            continue
        signal.alarm(30)
        listener = listen("127.0.0.1", port)
        # Like `coldfield serve`: take the lock, open with all checks, serve.
        with writing(Data(Folder(folder)), who="the server under test"):
            run(under_names(app, hosts) if hosts else app, listener, ready=partial(tell, listener))
        os._exit(3)


def under_names(app: ASGIApp, hosts: str) -> ASGIApp:
    """Share an app under every name that ends in `hosts`; for a browser each is a phone with separate storage."""
    entrance = Entrance(PASSPHRASE, clock=time.monotonic, hasher=CHEAP)

    async def named(scope: Scope, receive: Receive, send: Send) -> None:
        host = Headers(scope=scope).get("host", "")
        name = host.partition(":")[0]
        own = name if name.endswith(hosts) else ""
        await Shared(app, Hut(entrance, f"http://{host}/", own))(scope, receive, send)

    return named


def tell(listener: socket.socket) -> None:
    """Answer with the server's process id and port."""
    print(os.getpid(), listener.getsockname()[1], flush=True)


if __name__ == "__main__":
    main(Path(sys.argv[1]), *(convert(told) for convert, told in zip((int, str), sys.argv[2:], strict=False)))
