"""Reading an uploaded file becomes a job if it takes long: followed, cancelled, nothing kept partially."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from fastapi.testclient import TestClient

from coldfield.app.debriefs import gather, track_measures
from coldfield.app.ground import on_record as site_ground
from coldfield.app.jobs.jobs import Jobs
from coldfield.records import archive_in, schema
from coldfield.records.database import Database
from coldfield.web import soon
from example_records import GRID, a_small_season, drill, dump
from recorded_tracks import gpx

BYTES = {"content-type": "application/octet-stream"}
TRACK = gpx([("Ines", [(61.2 + 1e-5 * k, 8.1, f"2026-02-14T10:00:{k:02d}Z") for k in range(12)])])
Send = Callable[[], Any]


class Held:
    """Work that pauses until it is released."""

    def __init__(self) -> None:
        self.reached, self.go = threading.Event(), threading.Event()

    def round(self, function: Callable[..., Any], at: Callable[..., bool] = lambda *_: True) -> Any:
        def held(*args: Any, **options: Any) -> Any:
            if at(*args):
                self.reached.set()
                assert self.go.wait(30)
            return function(*args, **options)

        return held


@pytest.fixture
def held(monkeypatch: pytest.MonkeyPatch) -> Iterator[Held]:
    """Answer nothing in time, and pause each kind of file while it is read; an import after it has written."""
    one = Held()
    monkeypatch.setattr(soon, "ANSWER_S", 0.05)
    monkeypatch.setattr(gather, "measure", one.round(gather.measure))
    monkeypatch.setattr(site_ground, "lay", one.round(site_ground.lay))
    at_tracks = one.round(archive_in._Import._kind, lambda _, kind: kind.name == "tracks")
    monkeypatch.setattr(archive_in._Import, "_kind", at_tracks)
    yield one
    one.go.set()


@pytest.fixture(params=["import", "tracks", "grid"])
def sent(request: pytest.FixtureRequest, client: TestClient, database: Database) -> tuple[str, Send]:
    """Return a kind of work and a function that sends its file."""
    a_small_season(database)
    if request.param == "tracks":
        run = client.get("/api/runs").json()["items"][0]["id"]
        address = f"/api/runs/{run}/tracks?file_name=b.gpx"
        return "tracks", lambda: client.post(address, content=TRACK, headers=BYTES)
    if request.param == "grid":
        client.put("/api/drills/bowl", json={"document": drill()})
        address = "/api/drills/bowl/grids/g1?file_name=bowl.asc&crs=site"
        return "grid", lambda: client.put(address, content=GRID, headers=BYTES)
    archive = client.get("/api/export").content
    with database.write() as connection:
        for table in reversed(schema.metadata.sorted_tables):
            connection.execute(table.delete())
    return "import", lambda: client.post("/api/import?file_name=all.zip", content=archive, headers=BYTES)


def ended(client: TestClient, job_id: str) -> dict[str, Any]:
    with client.stream("GET", f"/api/jobs/{job_id}/events") as events:
        for _ in events.iter_lines():
            pass
    told: dict[str, Any] = client.get(f"/api/jobs/{job_id}", params={"with_order": True}).json()
    return told


def test_contract_what_is_not_read_soon_is_a_job_with_the_same_answer(
    client: TestClient, sent: tuple[str, Send], held: Held
) -> None:
    kind, send = sent
    answer = send()
    assert answer.status_code == 202, answer.text
    told = answer.json()
    assert (told["work"], told["state"]) == (kind, "running")
    assert held.reached.wait(10)
    held.go.set()
    job = ended(client, told["id"])
    assert (job["state"], job["faults"], job["order"]["work"]) == ("done", [], kind)
    if kind == "import":
        assert job["result"]["new"]["runs"] == len(client.get("/api/runs").json()["items"])
    elif kind == "tracks":
        (track,) = job["result"]["tracks"]
        assert client.get(f"/api/tracks/{track['id']}/file").content == TRACK
    else:
        assert job["result"]["created"]
        assert client.get("/api/grids/g1").json() == job["result"]["record"]


def test_contract_a_cancelled_one_leaves_everything_as_it_was(
    client: TestClient, database: Database, sent: tuple[str, Send], held: Held
) -> None:
    before = dump(database)
    job_id = sent[1]().json()["id"]
    assert held.reached.wait(10)
    client.post(f"/api/jobs/{job_id}/cancel")
    held.go.set()
    assert ended(client, job_id)["state"] == "cancelled"
    assert dump(database) == before


def test_contract_a_refusal_of_a_job_has_its_lines(client: TestClient, held: Held) -> None:
    client.put("/api/drills/bowl", json={"document": drill()})
    address = "/api/drills/bowl/grids/g1?file_name=bowl.asc"
    job_id = client.put(address, content=b"ncols 3", headers=BYTES).json()["id"]
    held.go.set()
    job = ended(client, job_id)
    assert (job["state"], job["faults"][0]["place"][0]) == ("failed", "bowl.asc")


def test_contract_a_list_reads_for_a_while_and_the_next_goes_on(
    client: TestClient, database: Database, monkeypatch: pytest.MonkeyPatch
) -> None:
    a_small_season(database)
    run = client.get("/api/runs").json()["items"][0]["id"]
    there = len(client.get(f"/api/runs/{run}/tracks").json())
    for k in range(3):
        content = TRACK.replace(b"10:00:", b"10:0%d:" % k)
        client.post(f"/api/runs/{run}/tracks?file_name={k}.gpx", content=content, headers=BYTES)
    monkeypatch.setattr(track_measures, "_code", lambda: "other rules")
    monkeypatch.setattr(gather, "LOOK_S", -1.0)
    seen = [
        [one["measured"] for one in client.get(f"/api/runs/{run}/tracks").json()] for _ in range(there + 3)
    ]
    assert [one.count(False) for one in seen] == list(range(there + 2, -1, -1))


def test_contract_the_service_ends_while_a_file_is_read() -> None:
    jobs = Jobs({}, workers=1)
    began = threading.Event()

    def work(progress: Any) -> None:
        began.set()
        while True:
            progress(0, 1)

    closed = []
    job = jobs.begin("import", work, order={}, let_go=lambda: closed.append(True))
    assert began.wait(10)
    jobs.close()
    assert (job.state, closed) == ("cancelled", [True])
