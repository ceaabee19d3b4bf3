"""A PostgreSQL server for tests: a given one, or a temporary one that ends with the tests.

The environment variable COLDFIELD_TEST_POSTGRESQL names a server whose user may create databases, as in
``postgresql://postgres@127.0.0.1:5499/postgres``. Without it a server is started on 127.0.0.1 from the
installed binaries, its data in a folder of its own, and stopped afterwards.
"""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
import sys
import tempfile
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import psycopg

VARIABLE = "COLDFIELD_TEST_POSTGRESQL"


def binaries() -> Path | None:
    """Return the folder of the newest installed server's programs."""
    found = [path.parent for path in Path("/usr/lib/postgresql").glob("*/bin/initdb")]
    on_path = shutil.which("initdb")
    if on_path:
        found.append(Path(on_path).parent)
    return max(
        found, key=lambda path: float(path.parent.name) if path.parent.name.isdigit() else 0, default=None
    )


def available() -> bool:
    """Return whether there is a server to test on."""
    return VARIABLE in os.environ or binaries() is not None


@contextmanager
def server() -> Iterator[str]:
    """Yield the address of a server's own database."""
    if VARIABLE in os.environ:
        yield os.environ[VARIABLE]
        return
    assert binaries() is not None, f"no PostgreSQL here: install it, or name a server with {VARIABLE}"
    # A guard process starts the server and stops it when its input closes, even if the tests are killed.
    with subprocess.Popen(
        [sys.executable, __file__],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        start_new_session=True,
    ) as guardian:
        assert guardian.stdin
        assert guardian.stdout
        try:
            yield guardian.stdout.readline().strip()
        finally:
            guardian.stdin.close()
            guardian.wait(timeout=60)


def guard() -> None:
    """Run a server on a free port, print its address, and stop it when the input closes."""
    programs = binaries()
    assert programs is not None
    # The server refuses to run as root; its folder is outside any home folder.
    user = ["runuser", "-u", "postgres", "--"] if os.geteuid() == 0 else []
    place = Path(tempfile.mkdtemp(prefix="coldfield-pg-"))
    try:
        if user:
            shutil.chown(place, "postgres")
        with socket.create_server(("127.0.0.1", 0)) as free:
            port = free.getsockname()[1]
        data = place / "data"
        initdb = [str(programs / "initdb"), "-D", str(data), "-U", "postgres", "-A", "trust", "-E", "UTF8"]
        run([*user, *initdb, "--locale=C.UTF-8", "--no-sync"])
        options = f"-p {port} -k {place} -c listen_addresses=127.0.0.1 -c fsync=off"
        control = [*user, str(programs / "pg_ctl"), "-D", str(data), "-w", "-l", str(place / "log")]
        run([*control, "-o", options, "start"])
        try:
            print(f"postgresql://postgres@127.0.0.1:{port}/postgres", flush=True)
            sys.stdin.read()
        finally:
            run([*control, "-m", "immediate", "stop"])
    finally:
        shutil.rmtree(place, ignore_errors=True)


@contextmanager
def a_database(server: str, template: str = "template0") -> Iterator[str]:
    """Yield the address of a new database, which is dropped afterwards."""
    name = f"coldfield_test_{uuid.uuid4().hex}"
    with psycopg.connect(server, autocommit=True) as link:
        link.execute(f'CREATE DATABASE "{name}" TEMPLATE "{template}"')
        try:
            yield f"{server.rpartition('/')[0]}/{name}"
        finally:
            link.execute(f'DROP DATABASE "{name}" WITH (FORCE)')


def run(command: list[str]) -> None:
    subprocess.run(
        command, check=True, stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, timeout=60, cwd="/"
    )


if __name__ == "__main__":
    guard()
