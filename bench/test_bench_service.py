"""What the running app itself takes to answer, without the way to the browser."""

from __future__ import annotations

import asyncio
import json
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from fastapi import FastAPI

import coldfield.app
from coldfield.app.records.data import Data, writing
from coldfield.records.folder import Folder
from coldfield.web.app import create_app, make_jobs
from goal import against_goal

DEMO = Path(coldfield.app.__file__).parent / "demo/drill.json"


@pytest.fixture(scope="module")
def app(tmp_path_factory: pytest.TempPathFactory) -> Iterator[FastAPI]:
    data = Data(Folder(tmp_path_factory.mktemp("records")))
    with writing(data, who="a bench") as database:
        jobs = make_jobs(database)
        yield create_app(database, data=data, jobs=jobs)
        jobs.close()


async def posted(app: FastAPI, path: str, body: bytes) -> tuple[int, int]:
    """Return status and length of an answer, as the server that runs the app would ask for it."""
    asked = iter([{"type": "http.request", "body": body, "more_body": False}])
    told: list[dict[str, Any]] = []

    async def receive() -> dict[str, Any]:
        message = next(asked, None)
        if message is None:  # the connection stays open
            await asyncio.sleep(3600)
        return message or {}

    async def send(message: Any) -> None:
        told.append(message)

    headers = {"host": "127.0.0.1:80", "content-type": "application/json", "content-length": str(len(body))}
    scope = {
        "type": "http",
        "asgi": {"version": "3.0"},
        "http_version": "1.1",
        "method": "POST",
        "scheme": "http",
        "path": path,
        "raw_path": path.encode(),
        "root_path": "",
        "query_string": b"",
        "headers": [(key.encode(), value.encode()) for key, value in headers.items()],
        "client": ("127.0.0.1", 1),
        "server": ("127.0.0.1", 80),
    }
    await app(scope, receive, send)
    return told[0]["status"], sum(len(message.get("body", b"")) for message in told)


def test_hearing_map_of_three_burials_in_the_running_app(benchmark, app: FastAPI) -> None:
    drill = json.loads(DEMO.read_text(encoding="utf-8"))
    drill["burials"] = [*drill["burials"][:2], {**drill["burials"][0], "id": "C", "position_m": [60, 30]}]
    body = json.dumps({"drill": drill, "lines": 200}).encode()

    async def least_s(rounds: int) -> float:
        times = []
        for _ in range(rounds):
            start = time.perf_counter()
            assert (await posted(app, "/api/hearing-map", body))[0] == 200
            times.append(time.perf_counter() - start)
        return min(times)

    with asyncio.Runner() as runner:
        benchmark(lambda: runner.run(least_s(1)))
        seconds = runner.run(least_s(30))
    against_goal("hearing map of three burials, 200 lines, in the running app", seconds, 0.010)
