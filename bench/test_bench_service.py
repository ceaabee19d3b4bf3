"""The time in which the running app answers, without the connection to the browser."""

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
    """Return status and length of an answer, requested in the same way as by the server."""
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


def dragged(drill: dict[str, Any], times: int) -> list[bytes]:
    """Return the requests of a drag: the first burial a little farther east each time."""
    asked = []
    for step in range(times):
        moved = {**drill["burials"][0], "position_m": [31 + 0.5 * step, 66 - 0.3 * step]}
        asked.append(json.dumps({"drill": {**drill, "burials": [moved, *drill["burials"][1:]]}}).encode())
    return asked


def grown(drill: dict[str, Any], burials: int, people: int) -> dict[str, Any]:
    """Return the demo's drill with the given number of burials and people, within its ground."""
    buried, group = drill["burials"][0], drill["searchers"]
    places = [[12 + 14 * (k % 6), 60 + 10 * (k % 3)] for k in range(burials)]
    return {
        **drill,
        "burials": [{**buried, "id": f"B{k}", "position_m": at} for k, at in enumerate(places)],
        "searchers": [{**group[k % len(group)], "id": f"p{k}", "name": f"Person {k}"} for k in range(people)],
    }


@pytest.mark.parametrize(("burials", "people"), [(2, 4), (6, 12)])
def test_minutes_that_follow_a_drag(benchmark, app: FastAPI, burials: int, people: int) -> None:
    """The goal is ten updates a second; the rest of a tenth of a second is for the browser."""
    drill = grown(json.loads(DEMO.read_text(encoding="utf-8")), burials, people)
    asked = dragged(drill, 30)

    async def followed() -> tuple[float, float]:
        wall, worked = time.perf_counter(), time.process_time()
        for body in asked:
            assert (await posted(app, "/api/minutes", body))[0] == 200
        return time.perf_counter() - wall, time.process_time() - worked

    with asyncio.Runner() as runner:
        runner.run(posted(app, "/api/minutes", asked[0]))
        benchmark(lambda: runner.run(posted(app, "/api/minutes", asked[1])))
        seconds, worked = min(runner.run(followed()) for _ in range(3))
        body = json.dumps({**json.loads(asked[0]), "settled": True}).encode()
        start, began = time.perf_counter(), time.process_time()
        runner.run(posted(app, "/api/minutes", body))
        settled, settling = time.perf_counter() - start, time.process_time() - began
    each = seconds / len(asked)
    what = f"minutes of {burials} burials and {people} people"
    print(
        f"\n{what}: {1 / each:.1f} updates a second, wanted 10; {worked / seconds:.2f} cores at work, "
        f"{1000 * worked / len(asked):.0f} ms of processor time for each answer, "
        f"{1000 * settling:.0f} ms to settle"
    )
    against_goal(f"{what}, the server's share of one update", each, 0.1)
    if people == 4:
        against_goal(f"{what}, settled to 2,000 runs", settled, 0.5)
