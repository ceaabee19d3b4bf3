"""Command and API on the same input give the same answer."""

from __future__ import annotations

import json
import time
from importlib import import_module
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from starlette.testclient import TestClient

from coldfield.app.demo import write_demo
from coldfield.app.jobs import Job
from coldfield.app.run_debrief import BAND_RUNS, debrief_arguments, keep_debrief
from coldfield.cli.main import COMMANDS
from coldfield.errors import BadInput
from coldfield.records.database import Database


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_demo(tmp_path_factory.mktemp("demo") / "files")


@pytest.fixture
def drill(demo: Path) -> Any:
    return json.loads((demo / "drill.json").read_text())


def command(name: str, *arguments: str) -> Any:
    """Return what a command prints with --json."""
    found = import_module(COMMANDS[name][0]).command
    done = CliRunner().invoke(found, [*arguments, "--json"], catch_exceptions=False)
    assert done.exit_code == 0, done.output
    return json.loads(done.stdout)


def ended(client: TestClient, job_id: str) -> dict[str, Any]:
    until = time.monotonic() + 120
    while time.monotonic() < until:
        job: dict[str, Any] = client.get(f"/api/jobs/{job_id}").json()
        if job["state"] not in ("waiting", "running"):
            return job
        time.sleep(0.1)
    raise AssertionError("the job did not end")


def test_contract_signal_is_the_same_through_both_doors(client: TestClient, demo: Path, drill: Any) -> None:
    printed = command("signal", str(demo / "drill.json"), "--at", "40,52", "--heading-deg", "30")
    answer = client.post("/api/signal", json={"drill": drill, "at_m": [40, 52], "heading_deg": 30})
    assert answer.status_code == 200, answer.text
    assert answer.json() == printed


def test_contract_strips_are_the_same_through_both_doors(client: TestClient, demo: Path, drill: Any) -> None:
    printed = command("strips", str(demo / "drill.json"), "--searchers", "3", "--strip-width-m", "18")
    answer = client.post("/api/strips", json={"drill": drill, "searchers": 3, "strip_width_m": 18})
    assert answer.status_code == 200, answer.text
    assert answer.json() == printed


def test_contract_strip_widths_are_the_same_through_both_doors(
    client: TestClient, demo: Path, drill: Any
) -> None:
    printed = command("strip-width", str(demo / "drill.json"), "--noise-rise-db", "6", "--width-m", "33")
    answer = client.post("/api/strip-width", json={"drill": drill, "noise_rise_db": 6, "widths_m": [33]})
    assert answer.status_code == 200, answer.text
    assert answer.json() == printed


def test_contract_refusals_have_the_same_lines_through_both_doors(
    client: TestClient, demo: Path, drill: Any, tmp_path: Path
) -> None:
    drill["burials"][0]["position_m"] = [4000, 4000]
    (tmp_path / "drill.json").write_text(json.dumps(drill))
    found = import_module(COMMANDS["signal"][0]).command
    done = CliRunner().invoke(found, [str(tmp_path / "drill.json"), "--at", "1,1"])
    answer = client.post("/api/signal", json={"drill": drill, "at_m": [1, 1]})
    assert answer.status_code == 422
    printed = str(done.exception).replace(str(tmp_path / "drill.json"), "drill")
    assert answer.json()["faults"] == printed.splitlines()


def test_contract_a_rehearsal_is_the_same_through_both_doors(
    client: TestClient, demo: Path, drill: Any
) -> None:
    printed = command("rehearse", str(demo / "drill.json"), "--runs", "20", "--seed", "7")
    order = {"work": "rehearse", "drill": drill, "runs": 20, "seed": 7}
    started = client.put("/api/jobs/rehearsal", json=order)
    assert started.status_code == 202, started.text
    with client.stream("GET", "/api/jobs/rehearsal/events") as stream:
        told = [json.loads(line[6:]) for line in stream.iter_lines() if line.startswith("data: ")]
    assert told[-1]["state"] == "done"
    assert [one["revision"] for one in told] == sorted(one["revision"] for one in told)
    assert client.put("/api/jobs/rehearsal", json=order).json()["result"] == printed
    assert ended(client, "rehearsal")["result"] == printed


def test_contract_a_debrief_is_the_same_through_both_doors(
    client: TestClient, database: Database, demo: Path, drill: Any
) -> None:
    tracks = sorted((demo / "tracks").glob("*.gpx"))
    printed = command(
        "debrief",
        str(demo / "drill.json"),
        *map(str, tracks),
        "--splits",
        str(demo / "splits.csv"),
        "--simulated",
        "--bands",
        str(BAND_RUNS),
    )
    record_run(client, demo, drill, tracks)
    started = client.put("/api/jobs/d1", json={"work": "debrief", "run_id": "run"})
    assert started.status_code == 202, started.text
    job = ended(client, "d1")
    assert (job["state"], job["faults"]) == ("done", [])
    kept = client.get(f"/api/debriefs/{job['result']['debrief_id']}").json()
    assert kept["document"] == printed
    assert kept["made_by"]["constants"]["survival_curve"]
    assert len(kept["made_by"]["models_sha256"]["beacon"]) == 64


def test_contract_a_debrief_of_what_is_no_longer_there_is_not_kept(
    client: TestClient, database: Database, demo: Path, drill: Any
) -> None:
    record_run(client, demo, drill, sorted((demo / "tracks").glob("*.gpx")))
    arguments = debrief_arguments(database, "run")
    job = Job(id="late", work="debrief", order={"run_id": "run"}, arguments=arguments)
    client.delete("/api/tracks/ines")
    with pytest.raises(BadInput, match="changed while"):
        keep_debrief(database)(job, {"document": {}, "faults": []})
    assert client.get("/api/debriefs").json()["items"] == []


def record_run(client: TestClient, demo: Path, drill: Any, tracks: list[Path]) -> None:
    """Put the demo's run into the records, through the API."""
    from coldfield.app.drills import load_splits

    assert client.put("/api/drills/drill", json={"document": drill}).status_code == 201
    run = {"drill_id": "drill", "simulated": True}
    assert client.put("/api/runs/run", json=run).status_code == 201
    for path in tracks:
        told = {"file_name": path.name, "searcher": path.stem}
        answer = client.put(f"/api/runs/run/tracks/{path.stem}", params=told, content=path.read_bytes())
        assert answer.status_code == 201, answer.text
    rows = load_splits(demo / "splits.csv").rows
    for number, row in enumerate(rows):
        moment = {"searcher": row.searcher, "time_unix_s": row.time_unix_s}
        if row.split == "observation":
            seen = {"run_id": "run", "about": row.note, **moment}
            assert client.put(f"/api/observations/o{number}", json=seen).status_code == 201
        else:
            split = {"run_id": "run", "split": row.split, "burial": row.burial, "note": row.note, **moment}
            assert client.put(f"/api/splits/s{number}", json=split).status_code == 201


def test_contract_a_run_without_tracks_cannot_be_debriefed_yet(client: TestClient, drill: Any) -> None:
    client.put("/api/drills/drill", json={"document": drill})
    client.put("/api/runs/run", json={"drill_id": "drill"})
    answer = client.put("/api/jobs/none", json={"work": "debrief", "run_id": "run"})
    assert answer.status_code == 422
    assert "no track" in answer.json()["faults"][0]


def test_contract_a_job_is_cancelled_through_the_api(client: TestClient, drill: Any) -> None:
    order = {"work": "rehearse", "drill": drill, "runs": 1_000_000, "seed": 7}
    assert client.put("/api/jobs/long", json=order).status_code == 202
    assert client.post("/api/jobs/long/cancel").status_code == 200
    assert ended(client, "long")["state"] == "cancelled"
    assert "long" in [job["id"] for job in client.get("/api/jobs").json()]
    assert client.get("/api/jobs/nobody").status_code == 404
