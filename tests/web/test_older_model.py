"""Debriefs from an older model: marked, left out of comparisons, made again as a job."""

from __future__ import annotations

import time
from typing import Any
from uuid import uuid4

import pytest
from pydantic import ValidationError
from starlette.testclient import TestClient

from coldfield.app.debriefs.from_records import debrief_arguments, debrief_fields
from coldfield.files.debrief_json import read_debrief
from coldfield.files.faults import fault_lines
from coldfield.records.database import Database
from coldfield.records.kinds.debriefs import DebriefRecord
from coldfield.records.store import Store
from coldfield.rescue import MODEL_VERSION
from example_records import DRILL

LEFT_OUT = "note.older_debriefs"
FINE = {"burial": "A", "phase": "fine", "start_s": 10.0, "end_s": 30.0}


def gpx(day: str) -> bytes:
    """Return a track of six minutes due north, with a point every half minute."""
    points = "".join(
        f'<trkpt lat="{61.2001 + 0.0002 * k:.5f}" lon="8.1005"><time>{day}T09:{30 + k // 2}:'
        f"{30 * (k % 2):02d}Z</time></trkpt>"
        for k in range(12)
    )
    head = '<gpx version="1.1" creator="example" xmlns="http://www.topografix.com/GPX/1/1">'
    return f'<?xml version="1.0"?>{head}<trk><trkseg>{points}</trkseg></trk></gpx>'.encode()


@pytest.fixture
def season(client: TestClient, database: Database) -> TestClient:
    """Two runs of Ines on two days of a course; the first was debriefed by an older model."""
    client.put("/api/people/ines", json={"name": "Ines"})
    client.put("/api/courses/feb", json={"name": "February course"})
    client.put("/api/drills/fan", json={"document": DRILL})
    for number in (1, 2):
        day = f"2026-02-1{number}"
        client.put(f"/api/days/d{number}", json={"course_id": "feb", "date": day})
        told = {"drill_id": "fan", "held_utc": f"{day}T09:30:00Z", "day_id": f"d{number}"}
        told |= {"searchers": [{"searcher": "s1", "person_id": "ines"}]}
        assert client.put(f"/api/runs/r{number}", json=told).status_code == 201
        sent = client.post(f"/api/runs/r{number}/tracks", params={"file_name": "s1.gpx"}, content=gpx(day))
        assert sent.status_code in (200, 201), sent.text
    kept(database, "r1", {"model_version": MODEL_VERSION - 1})
    return client


def kept(database: Database, run: str, told: dict[str, Any], key: str = "old") -> None:
    document = read_debrief({"searchers": [{"id": "s1", "phases": [FINE]}], **told})
    with database.write() as connection:
        store = Store(connection, database.stamp())
        store.put("debriefs", f"{key}-{run}", debrief_fields(store, run, document), based_on=None)


def debriefed(client: TestClient, run: str) -> dict[str, Any]:
    """Debrief a run as a job; return the kept document."""
    job = uuid4().hex
    assert client.put(f"/api/jobs/{job}", json={"work": "debrief", "run_id": run}).status_code == 202
    while (told := client.get(f"/api/jobs/{job}").json())["state"] in ("waiting", "running"):
        time.sleep(0.1)
    assert told["state"] == "done", told["faults"]
    document: dict[str, Any] = client.get(f"/api/debriefs/{job}").json()["document"]
    return document


def marks(client: TestClient) -> dict[str, list[bool]]:
    """Return, by page, whether the debriefs of both runs are marked, the earlier run first."""
    person = client.get("/api/people/ines/history").json()
    course = client.get("/api/courses/feb/overview").json()["runs"]
    return {
        "person": [one["older_model"] for one in sorted(person, key=lambda one: one["run_id"])],
        "course": [one["older_model"] for one in sorted(course, key=lambda one: one["id"])],
        "run": [client.get(f"/api/runs/r{n}/standing").json()["older_model"] for n in (1, 2)],
    }


@pytest.mark.parametrize("version", [MODEL_VERSION - 1, MODEL_VERSION + 1, None])
def test_contract_a_debrief_of_another_model_is_marked_wherever_runs_are_told(
    season: TestClient, database: Database, version: int | None
) -> None:
    kept(database, "r2", {"model_version": version})
    assert marks(season) == {page: [True, True] for page in ("person", "course", "run")}


def test_contract_a_debrief_of_another_model_is_left_out_and_worked_out_anew_as_a_job(
    season: TestClient, database: Database
) -> None:
    second = debriefed(season, "r2")
    assert marks(season) == {page: [True, False] for page in ("person", "course", "run")}
    assert second["earlier"] == []
    assert any(note["code"] == LEFT_OUT for note in second["run"]["notes"])
    first = debriefed(season, "r1")
    assert first["model_version"] == MODEL_VERSION
    assert marks(season) == {page: [False, False] for page in ("person", "course", "run")}
    # The later run depends on an earlier one that has changed; debriefed again, it leaves nothing out.
    assert season.get("/api/runs/r2/standing").json()["changed"] == ["earlier"]
    again = debriefed(season, "r2")
    assert not any(note["code"] == LEFT_OUT for note in again["run"]["notes"])


def test_contract_earlier_runs_of_this_model_are_set_beside(season: TestClient, database: Database) -> None:
    kept(database, "r1", {"model_version": MODEL_VERSION}, key="new")
    told = debrief_arguments(database, "r2")["earlier"]
    assert [one.model_version for one in told] == [MODEL_VERSION]
    assert [one["phase"] for one in debriefed(season, "r2")["earlier"]] == ["fine"]


def test_contract_a_kept_debrief_has_one_model_version() -> None:
    def form(made: Any, told: Any) -> DebriefRecord:
        return DebriefRecord.model_validate(
            {"run_id": "r", "made_by": {"model_version": made}, "document": {"model_version": told}}
        )

    assert form(MODEL_VERSION, MODEL_VERSION).made_by == {"model_version": MODEL_VERSION}
    with pytest.raises(ValidationError) as refused:
        form(MODEL_VERSION, MODEL_VERSION - 1)
    assert [one.code for one in fault_lines(refused.value, DebriefRecord)] == ["fault.model_version"]
