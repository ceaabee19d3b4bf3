"""The service stops in order: jobs are notified, no process is left, the records are one file; commands too."""

from __future__ import annotations

import http.client
import json
import os
import signal
import socket
import sqlite3
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import psutil
import psycopg
import pytest

import postgresql_server
from amount import amount
from coldfield.app.records.data import Data, writing
from coldfield.app.records.keeping import export_records
from coldfield.records.database import open_sqlite
from coldfield.records.folder import Folder
from example_records import DRILL, a_small_season, put
from postgresql_server import a_database

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="sends signals")

SIGNALS = [signal.SIGTERM, signal.SIGINT, signal.SIGHUP][: amount(2, desk=3)]


@contextmanager
def served(*arguments: str) -> Iterator[tuple[subprocess.Popen[str], int]]:
    """Run `coldfield serve`; yield the process and its port."""
    command = [sys.executable, "-m", "coldfield", "serve", "--port", "0", *arguments]
    # Tests run under nohup ignore SIGHUP, and so would their child processes.
    signal.signal(signal.SIGHUP, signal.SIG_DFL)
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) as process:
        assert process.stdout
        try:
            port = urlsplit(process.stdout.readline().strip()).port
            assert port is not None
            yield process, port
        finally:
            process.kill()


def ask(port: int, method: str, path: str, body: Any = None) -> Any:
    link = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
    sent = None if body is None else json.dumps(body)
    link.request(method, path, body=sent, headers={"content-type": "application/json"} if sent else {})
    answer = link.getresponse()
    told = json.loads(answer.read())
    link.close()
    assert answer.status in (200, 201, 202), told
    return told


def descendants(process: subprocess.Popen[str]) -> list[psutil.Process]:
    return psutil.Process(process.pid).children(recursive=True)


def none_left(processes: list[psutil.Process]) -> bool:
    """Return whether all have ended within some seconds; zombies count as ended."""
    _gone, alive = psutil.wait_procs(processes, timeout=10)
    return [one for one in alive if one.status() != psutil.STATUS_ZOMBIE] == []


def files(folder: Path) -> set[str]:
    return {path.name for path in folder.iterdir() if not path.name.startswith("lock")}


def follow(port: int, job_id: str, events: list[dict[str, Any]], begun: threading.Event) -> None:
    """Collect the events of a job until its stream ends."""
    link = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
    link.request("GET", f"/api/jobs/{job_id}/events")
    with suppress(http.client.HTTPException, OSError):
        for line in link.getresponse():
            if line.startswith(b"data: "):
                events.append(json.loads(line[6:]))
                if events[-1]["state"] == "running":
                    begun.set()
    link.close()


def half_sent(port: int, text: bytes) -> socket.socket:
    link = socket.create_connection(("127.0.0.1", port), timeout=60)
    link.sendall(text)
    return link


HEAD = b"GET /api/people HTTP/1.1\r\nHost: 127.0.0.1\r\nX-Half"
BODY = (
    b"PUT /api/people/x HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Type: application/json\r\n"
    b'Content-Length: 100\r\n\r\n{"name": "'
)


@pytest.mark.parametrize("number", SIGNALS)
def test_contract_told_to_stop_amid_everything_it_ends_in_order(
    tmp_path: Path, number: signal.Signals
) -> None:
    with served("--data", str(tmp_path)) as (process, port):
        ask(port, "PUT", "/api/people/ines", {"name": "Ines"})
        ask(port, "PUT", "/api/jobs/long", {"work": "rehearse", "drill": DRILL, "runs": 1_000_000})
        events: list[dict[str, Any]] = []
        begun = threading.Event()
        follower = threading.Thread(target=follow, args=(port, "long", events, begun))
        follower.start()
        links = [half_sent(port, HEAD), half_sent(port, BODY)]
        assert begun.wait(60)
        started = descendants(process)
        assert len(started) >= 2, "a worker and the tracker of its resources"
        process.send_signal(number)
        assert process.wait(timeout=30) == 0
        follower.join(timeout=10)
        assert process.stderr
        assert process.stderr.read() == ""
        for link in links:
            link.close()
    assert none_left(started)
    assert events[-1]["state"] == "cancelled", "those who follow the job are told before the connection ends"
    assert files(tmp_path) == {"coldfield.db"}


def test_contract_a_write_under_way_is_undone_and_its_thread_let_go(tmp_path: Path) -> None:
    database = open_sqlite(Folder(tmp_path))
    begun, ended = threading.Event(), threading.Event()

    def write() -> None:
        endless = "WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n) SELECT count(*) FROM n"
        with suppress(Exception), database.write() as connection:
            connection.exec_driver_sql("INSERT INTO deletion VALUES ('x', 'people', 'x', 'x')")
            begun.set()
            connection.exec_driver_sql(endless)
        ended.set()

    thread = threading.Thread(target=write, daemon=True)
    thread.start()
    assert begun.wait(10)
    database.close()
    assert ended.wait(10)
    assert files(tmp_path) == {"coldfield.db"}
    with closing(sqlite3.connect(tmp_path / "coldfield.db")) as link:
        assert link.execute("SELECT count(*) FROM deletion").fetchone() == (0,)


def test_contract_killed_outright_its_workers_end_by_themselves(tmp_path: Path) -> None:
    with served("--data", str(tmp_path)) as (process, port):
        ask(port, "PUT", "/api/jobs/long", {"work": "rehearse", "drill": DRILL, "runs": 1_000_000})
        events: list[dict[str, Any]] = []
        begun = threading.Event()
        threading.Thread(target=follow, args=(port, "long", events, begun), daemon=True).start()
        assert begun.wait(60)
        started = descendants(process)
        process.kill()
        process.wait(timeout=10)
    assert none_left(started)


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGINT])
@pytest.mark.parametrize("command", ["import", "export", "backup"])
def test_contract_a_command_told_to_stop_leaves_one_file_and_nothing_half_made(
    tmp_path: Path, season_archive: Path, command: str, number: signal.Signals
) -> None:
    data = tmp_path / "data"
    if command != "import":
        with writing(Data(Folder(data)), who="a test") as database:
            from coldfield.app.records.keeping import import_records

            import_records(database, season_archive)
    target = season_archive if command == "import" else tmp_path / "out" / "made"
    target.parent.mkdir(exist_ok=True)
    arguments = [sys.executable, "-m", "coldfield", command, "--data", str(data), str(target)]
    with subprocess.Popen(arguments, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) as process:
        begun = data / "underway.json" if command == "import" else target.with_name(".made.part")
        latest = time.monotonic() + 60
        while not begun.exists() and process.poll() is None and time.monotonic() < latest:
            time.sleep(0.001)
        process.send_signal(number)
        code = process.wait(timeout=60)
        assert process.stderr
        said = process.stderr.read()
    assert "Traceback" not in said
    if code != 0:
        assert (code, said.strip()) == (1, "Aborted!")
        if command != "import":
            assert list(target.parent.iterdir()) == []
    assert files(data) == {"coldfield.db"}


@pytest.fixture(scope="module")
def season_archive(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return an archive that takes a few tenths of a second to read and to write."""
    place = tmp_path_factory.mktemp("season")
    database = open_sqlite(Folder(place / "data"))
    a_small_season(database)
    for number in range(300):
        put(database, "people", f"p{number:03d}", name=f"Somebody {number}", notes="x" * 5000)
    export_records(database, place / "season.zip")
    database.close()
    return place / "season.zip"


@pytest.mark.postgresql
@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGINT])
def test_contract_on_a_server_every_connection_and_lock_is_let_go(number: signal.Signals) -> None:
    if not postgresql_server.available() and os.environ.get("CI") != "true":
        pytest.skip("no PostgreSQL on this machine")
    query = (
        "SELECT count(*) FROM pg_stat_activity WHERE datname = current_database() AND pid <> pg_backend_pid()"
    )
    with postgresql_server.server() as server, a_database(server) as address:
        with (
            served("--database", address) as (process, port),
            psycopg.connect(address, autocommit=True) as link,
        ):
            ask(port, "PUT", "/api/people/ines", {"name": "Ines"})
            half = half_sent(port, BODY)
            process.send_signal(number)
            assert process.wait(timeout=30) == 0
            half.close()
            latest = time.monotonic() + 10
            while (left := link.execute(query).fetchone()) != (0,) and time.monotonic() < latest:
                time.sleep(0.02)
            assert left == (0,)
            assert link.execute("SELECT count(*) FROM pg_locks WHERE locktype = 'advisory'").fetchone() == (
                0,
            )
        with writing(Data(Folder(Path("unused")), url=address), who="a test") as database:
            assert put(database, "people", "noor", name="Noor").created
