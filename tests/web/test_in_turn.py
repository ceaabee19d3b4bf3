"""Reading never waits for writing; a write waits briefly for its turn and then fails clearly."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from fastapi import FastAPI
from starlette.testclient import TestClient

from coldfield.app.records.keeping import export_records
from coldfield.records.database import Database
from example_records import a_small_season, put


@pytest.fixture
def hasty(client: TestClient, service: tuple[Database, FastAPI]) -> Iterator[TestClient]:
    """Yield a client of a service whose writes wait only 0.2 s, so that the test is fast."""
    shell, _ = service
    before, shell.busy_s = shell.busy_s, 0.2
    yield client
    shell.busy_s = before


@contextmanager
def a_long_write(database: Database) -> Iterator[None]:
    """Lock the records like a long import, in a separate thread."""
    began, done = threading.Event(), threading.Event()

    def hold() -> None:
        with database.write():
            began.set()
            done.wait(60)

    thread = threading.Thread(target=hold)
    thread.start()
    assert began.wait(10)
    try:
        yield
    finally:
        done.set()
        thread.join()


def test_contract_a_write_that_waits_too_long_is_told_to_try_again(
    hasty: TestClient, service: tuple[Database, FastAPI]
) -> None:
    with a_long_write(service[0]):
        answer = hasty.put("/api/people/noor", json={"name": "Noor"})
        assert answer.status_code == 503
        assert answer.headers["retry-after"] == "1"
        assert answer.headers["content-type"] == "application/problem+json"
        assert answer.json()["type"] == "urn:coldfield:busy"
        assert "busy" in answer.json()["detail"]
        assert "try again" in answer.json()["detail"]
        assert hasty.get("/api/people/noor").status_code == 404
    assert hasty.put("/api/people/noor", json={"name": "Noor"}).status_code == 201


def test_contract_reading_goes_on_behind_more_waiting_writes_than_there_are_threads(
    hasty: TestClient, service: tuple[Database, FastAPI]
) -> None:
    a_small_season(service[0])
    service[0].busy_s = 30.0
    statuses: list[int] = []

    def write(i: int) -> None:
        statuses.append(hasty.put(f"/api/people/p{i}", json={"name": "P"}).status_code)

    with hasty:
        threads = [threading.Thread(target=write, args=(i,)) for i in range(60)]
        with a_long_write(service[0]):
            for thread in threads:
                thread.start()
            # If writes shared threads with reads, this would never be answered.
            for _ in range(5):
                assert hasty.get("/api/people/ines").status_code == 200
            assert statuses == []
        for thread in threads:
            thread.join()
    assert statuses == [201] * 60


def test_contract_a_dry_run_of_an_import_takes_no_turn(
    hasty: TestClient, service: tuple[Database, FastAPI], tmp_path: Path
) -> None:
    a_small_season(service[0])
    export_records(service[0], tmp_path / "all.zip")
    archive = (tmp_path / "all.zip").read_bytes()
    with a_long_write(service[0]):
        told = hasty.post("/api/import?dry_run=true&file_name=all.zip", content=archive)
        assert told.status_code == 200
        assert told.json()["here"]["people"] == 3
        real = hasty.post("/api/import?file_name=all.zip", content=archive)
        assert real.status_code == 503


MOMENTS = [
    "1970-01-01T00:30:00+05:00",
    "1970-01-01T00:00:00+00:01",
    "2099-12-31T23:30:00-05:00",
    "2026-02-30T10:00:00Z",
    "2026-02-14T24:00:00Z",
    "2026-02-14T10:30:00+24:00",
]


@pytest.mark.parametrize("moment", MOMENTS)
def test_regression_a_moment_is_checked_as_it_is_kept(
    client: TestClient, database: Database, tmp_path: Path, moment: str
) -> None:
    a_small_season(database)
    answer = client.put("/api/runs/odd", json={"drill_id": "fan", "held_utc": moment})
    assert answer.status_code == 422
    assert answer.json()["faults"][0].startswith("held_utc: must ")
    assert client.get("/api/runs/odd").status_code == 404
    assert client.get("/api/runs").status_code == 200
    export_records(database, tmp_path / "all.zip")


def test_contract_what_cannot_be_given_out_again_is_not_kept(
    client: TestClient, database: Database, monkeypatch: pytest.MonkeyPatch
) -> None:
    from coldfield.records import store

    class Unreadable:
        @staticmethod
        def model_validate(_record: Any) -> None:
            raise ValueError("cannot be told")

    a_small_season(database)
    with monkeypatch.context() as patch:
        patch.setattr(store, "stored_model", lambda _kind: Unreadable)
        for kind, fields in (("people", {"name": "Noor"}), ("runs", {"drill_id": "fan"})):
            assert client.put(f"/api/{kind}/new", json=fields).status_code == 500
    assert client.get("/api/people/new").status_code == 404
    assert client.get("/api/runs/new").status_code == 404
    assert put(database, "people", "new", name="Noor").created
