"""A process that forks servers to be killed: everything is imported once, each server starts in an instant.

Started as ``python killed_server.py FOLDER``. A line on its input starts a server; it answers with that
server's process id and port. Each server ends by itself after 30 s, and this process when its input closes.
"""

from __future__ import annotations

import gc
import os
import signal
import socket
import sys
from functools import partial
from pathlib import Path

import uvicorn
from starlette.testclient import TestClient

from coldfield.app.records.data import Data, writing
from coldfield.records.database import open_sqlite
from coldfield.records.folder import Folder
from coldfield.web.app import create_app
from coldfield.web.listening import listen
from coldfield.web.serving import run


def main(folder: Path) -> None:
    database = open_sqlite(Folder(folder))
    app = create_app(database)
    warm = TestClient(app, base_url="http://127.0.0.1")
    for key in ("x", "x"):
        warm.put(f"/api/people/{key}", json={"name": "Pia", "notes": "before the first kill"})
    warm.post("/api/runs/x/splits", json=[])
    uvicorn.Config(app, lifespan="off", ws="none").load()
    # No connection crosses a fork; what SQLAlchemy has compiled and what is imported does.
    database.engine.dispose()
    gc.freeze()
    for _ in sys.stdin:
        child = os.fork()
        if child:
            os.waitpid(child, 0)
            print("ended", flush=True)
            continue
        signal.alarm(30)
        listener = listen("127.0.0.1", 0)
        # What `coldfield serve` does: take the lock, open with every check, serve.
        with writing(Data(Folder(folder)), who="the server under test"):
            run(app, listener, ready=partial(tell, listener))
        os._exit(3)


def tell(listener: socket.socket) -> None:
    """Answer with the server's process id and port."""
    print(os.getpid(), listener.getsockname()[1], flush=True)


if __name__ == "__main__":
    main(Path(sys.argv[1]))
