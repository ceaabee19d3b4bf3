"""Everything acknowledged survives kill -9 at any moment, with several writers at work."""

from __future__ import annotations

import http.client
import json
import os
import random
import signal
import sqlite3
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest

from amount import amount

KILLS = amount(30, desk=200)
WRITERS = 4
MOST_ANSWERS = 10
"""A server is killed after 1 to this many acknowledged writes, every tenth one while starting."""


@dataclass
class Writer:
    """One client, which remembers acknowledged and only attempted writes."""

    number: int
    answered: threading.Semaphore
    acknowledged: dict[str, dict[str, Any]] = field(default_factory=dict)
    batches: dict[str, bool] = field(default_factory=dict)
    counted: int = 0
    sent: int = 0

    def work(self, port: int) -> None:
        """Write until the server is gone."""
        link = http.client.HTTPConnection("127.0.0.1", port, timeout=5)
        try:
            while True:
                for write in (self._person, self._batch, self._count):
                    write(link)
                    self.answered.release()
        except (OSError, http.client.HTTPException):
            return
        finally:
            link.close()

    def _next(self) -> str:
        self.sent += 1
        return f"w{self.number}-{self.sent}"

    def _person(self, link: http.client.HTTPConnection) -> None:
        key = self._next()
        fields = {"name": f"Somebody {key}", "notes": "x" * (self.sent * 37 % 3000)}
        if ask(link, "PUT", f"/api/people/{key}", fields) is not None:
            self.acknowledged[key] = fields

    def _batch(self, link: http.client.HTTPConnection) -> None:
        key = self._next()
        self.batches[key] = False
        splits = [{"id": f"{key}-{i}", "split": "probe_strike", "since_alarm_s": float(i)} for i in range(3)]
        if ask(link, "POST", "/api/runs/run/splits", splits) is not None:
            self.batches[key] = True

    def _count(self, link: http.client.HTTPConnection) -> None:
        path = f"/api/courses/count-{self.number}"
        based_on = {"If-Match": f'"{self.counted}"'} if self.counted else {}
        stored = ask(link, "PUT", path, {"name": f"Count {self.counted + 1}"}, based_on)
        if stored is not None:
            self.counted = stored["version"]


def ask(
    link: http.client.HTTPConnection,
    method: str,
    path: str,
    body: Any = None,
    headers: dict[str, str] | None = None,
) -> Any:
    """Return the answer of an acknowledged request, None for a refused one; raises without an answer."""
    sent = {"content-type": "application/json", **(headers or {})} if body is not None else {}
    link.request(method, path, body=None if body is None else json.dumps(body), headers=sent)
    answer = link.getresponse()
    text = answer.read()
    assert answer.status in (200, 201, 412), (answer.status, text)
    return json.loads(text) if answer.status != 412 else None


@contextmanager
def servers(folder: Path) -> Iterator[subprocess.Popen[str]]:
    """Run the process that forks servers."""
    script = Path(__file__).with_name("killed_server.py")
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(p for p in sys.path if p)}
    with subprocess.Popen(
        [sys.executable, str(script), str(folder)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        env=environment,
    ) as process:
        try:
            yield process
        finally:
            assert process.stdin
            process.stdin.close()
            process.wait(timeout=40)


def start(process: subprocess.Popen[str]) -> tuple[int, int]:
    assert process.stdin
    assert process.stdout
    process.stdin.write("start\n")
    process.stdin.flush()
    pid, port = process.stdout.readline().split()
    return int(pid), int(port)


def kill(process: subprocess.Popen[str], pid: int) -> None:
    os.kill(pid, signal.SIGKILL)
    assert process.stdout
    assert process.stdout.readline() == "ended\n"


def check_new(port: int, writers: list[Writer], seen: set[str]) -> None:
    """Read back by id what was acknowledged since the last check; batches are complete or absent."""
    link = http.client.HTTPConnection("127.0.0.1", port, timeout=10)
    for writer in writers:
        for key, fields in writer.acknowledged.items():
            if key not in seen:
                seen.add(key)
                stored = ask(link, "GET", f"/api/people/{key}")
                assert {name: stored[name] for name in fields} == fields
        if writer.counted:
            version = ask(link, "GET", f"/api/courses/count-{writer.number}")["version"]
            assert version - writer.counted in (0, 1), "an acknowledged change is lost, or one was made twice"
            writer.counted = version
    link.close()


def check_everything(folder: Path, writers: list[Writer]) -> None:
    """Check the file itself, without the program that wrote it."""
    file = sqlite3.connect(folder / "coldfield.db")
    assert file.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
    assert file.execute("PRAGMA foreign_key_check").fetchall() == []
    people = dict(file.execute("SELECT id, notes FROM person"))
    splits = {row[0] for row in file.execute("SELECT id FROM split")}
    file.close()
    for writer in writers:
        for key, fields in writer.acknowledged.items():
            assert people[key] == fields["notes"]
        for key, acknowledged in writer.batches.items():
            there = sum(f"{key}-{i}" in splits for i in range(3))
            assert there == 3 if acknowledged else there in (0, 3)


@pytest.mark.skipif(sys.platform == "win32", reason="forks servers")
@pytest.mark.desk
def test_contract_what_was_acknowledged_survives_every_kill(tmp_path: Path) -> None:
    rng = random.Random(457)
    answered = threading.Semaphore(0)
    writers = [Writer(number, answered) for number in range(WRITERS)]
    seen: set[str] = set()
    with servers(tmp_path) as process:
        _a_run_to_add_splits_to(process)
        for number in range(KILLS):
            pid, port = start(process)
            check_new(port, writers, seen)
            threads = [threading.Thread(target=writer.work, args=(port,)) for writer in writers]
            for thread in threads:
                thread.start()
            for _ in range(rng.randint(1, MOST_ANSWERS) if number % 10 else 0):
                answered.acquire(timeout=2)
            time.sleep(rng.uniform(0.0, 0.01))
            kill(process, pid)
            for thread in threads:
                thread.join(timeout=10)
        pid, port = start(process)
        check_new(port, writers, seen)
        kill(process, pid)
    check_everything(tmp_path, writers)
    batches = sum(sum(writer.batches.values()) for writer in writers)
    print(f"{KILLS} kills, {len(seen)} records and {batches} batches of 3 acknowledged, none lost")
    assert len(seen) > KILLS
    assert batches > KILLS


def _a_run_to_add_splits_to(process: subprocess.Popen[str]) -> None:
    from example_records import DRILL

    pid, port = start(process)
    link = http.client.HTTPConnection("127.0.0.1", port, timeout=10)
    ask(link, "PUT", "/api/drills/drill", {"document": DRILL})
    ask(link, "PUT", "/api/runs/run", {"drill_id": "drill"})
    link.close()
    kill(process, pid)
