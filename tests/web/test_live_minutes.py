"""The route of live minutes: its answers, and that it cancels work that nobody waits for."""

from __future__ import annotations

import asyncio
import json
import threading
from concurrent.futures import ThreadPoolExecutor
from importlib.resources import files
from typing import Any

import pytest
from fastapi import FastAPI
from starlette.testclient import TestClient

from coldfield.app.rehearsals import live, runs
from coldfield.errors import Refused
from coldfield.message import message


@pytest.fixture
def drill() -> Any:
    made = json.loads(files("coldfield.app.demo").joinpath("drill.json").read_text(encoding="utf-8"))
    made["conditions"]["strip_width_m"] = 24
    return made


@pytest.fixture(autouse=True)
def compiled(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(runs, "kernel_ready", lambda: True)


def test_contract_both_bands_with_few_runs(client: TestClient, drill: Any) -> None:
    answer = client.post("/api/minutes", json={"drill": drill})
    assert answer.status_code == 200, answer.text
    told = answer.json()
    assert (told["runs"], told["settled"], told["strip_width_m"]) == (200, False, 24.0)
    for band in (told["all_clear"]["seconds"], told["all_clear"]["unsure"]):
        assert 0 < band["p10"] < band["p50"] < band["p90"] < told["horizon_s"]


def test_contract_a_page_that_lags_behind_gets_fewer_runs_while_something_moves(
    client: TestClient, drill: Any
) -> None:
    asked = {"drill": drill, "most_runs": 60}
    assert client.post("/api/minutes", json=asked).json()["runs"] == 60
    assert client.post("/api/minutes", json={**asked, "most_runs": 5}).status_code == 422


def test_contract_until_the_program_is_compiled_it_says_so(
    client: TestClient, drill: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(runs, "kernel_ready", lambda: False)
    answer = client.post("/api/minutes", json={"drill": drill})
    assert answer.status_code == 503
    assert answer.headers["retry-after"] == "1"
    assert answer.json()["messages"][0]["code"] == "fault.rehearsal_getting_ready"


def test_contract_a_drill_without_anybody_is_refused_in_words(client: TestClient, drill: Any) -> None:
    answer = client.post("/api/minutes", json={"drill": {**drill, "burials": []}})
    assert answer.status_code == 422
    assert answer.json()["messages"][0]["code"] == "fault.rehearsal_needs_one"


def test_contract_closing_the_connection_ends_the_work(
    client: TestClient, drill: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    began, told = threading.Event(), []

    def endless(_drill: object, *, settled: bool, most_runs: int | None, cancelled: Any) -> None:
        began.set()
        while not cancelled():
            threading.Event().wait(0.001)
        told.append(settled)
        raise Refused(message("fault.rehearsal_cancelled"))

    monkeypatch.setattr(live, "live_minutes", endless)
    body = json.dumps({"drill": drill, "settled": True}).encode()
    # In a separate thread, because this one may already have an event loop for a browser.
    with ThreadPoolExecutor(1) as thread:
        thread.submit(lambda: asyncio.run(_hung_up(client.app, body, began))).result()
    assert told == [True]


async def _hung_up(app: Any, body: bytes, began: threading.Event) -> None:
    """Send a request like a browser that closes the connection once the work has begun."""
    assert isinstance(app, FastAPI)
    asked = iter([{"type": "http.request", "body": body, "more_body": False}])

    async def receive() -> Any:
        part = next(asked, None)
        if part is None:
            while not began.is_set():
                await asyncio.sleep(0.001)
            return {"type": "http.disconnect"}
        return part

    async def send(_part: Any) -> None: ...

    headers = {"host": "127.0.0.1:8457", "content-type": "application/json", "content-length": str(len(body))}
    scope = {
        "type": "http",
        "asgi": {"version": "3.0"},
        "http_version": "1.1",
        "method": "POST",
        "scheme": "http",
        "path": "/api/minutes",
        "raw_path": b"/api/minutes",
        "root_path": "",
        "query_string": b"",
        "headers": [(key.encode(), value.encode()) for key, value in headers.items()],
        "client": ("127.0.0.1", 1),
        "server": ("127.0.0.1", 8457),
    }
    await asyncio.wait_for(app(scope, receive, send), 60)


def test_contract_a_kept_drill_tells_the_settled_minutes_of_its_page(
    client: TestClient, drill: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(live, "SETTLED_RUNS", 60)
    assert client.put("/api/drills/d", json={"document": drill}).status_code == 201
    kept = client.get("/api/drills/d/minutes").json()
    assert kept == {
        "ready": True,
        "minutes": client.post("/api/minutes", json={"drill": drill, "settled": True}).json(),
    }
    client.put("/api/drills/bare", json={"document": {**drill, "burials": []}})
    assert client.get("/api/drills/bare/minutes").json() == {"ready": True, "minutes": None}
    monkeypatch.setattr(runs, "kernel_ready", lambda: False)
    assert client.get("/api/drills/d/minutes").json() == {"ready": False, "minutes": None}
    assert client.get("/api/drills/none/minutes").status_code == 404
