"""Command and API give the same answer for the same input."""

from __future__ import annotations

import json
import time
from importlib import import_module
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from starlette.testclient import TestClient

from coldfield.app.debriefs.from_records import BAND_RUNS, debrief_arguments, keep_debrief
from coldfield.app.jobs.job import Job
from coldfield.cli.main import COMMANDS
from coldfield.errors import BadInput
from coldfield.files.drill_json import read_drill
from coldfield.records.database import Database
from spoken_answers import in_english


@pytest.fixture
def drill(demo_files: Path) -> Any:
    return json.loads((demo_files / "drill.json").read_text())


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


def test_contract_signal_is_the_same_through_both_doors(
    client: TestClient, demo_files: Path, drill: Any
) -> None:
    printed = command("signal", str(demo_files / "drill.json"), "--at", "40,52", "--heading-deg", "30")
    answer = client.post("/api/signal", json={"drill": drill, "at_m": [40, 52], "heading_deg": 30})
    assert answer.status_code == 200, answer.text
    assert in_english(answer.json()) == printed


def test_contract_strips_are_the_same_through_both_doors(
    client: TestClient, demo_files: Path, drill: Any
) -> None:
    printed = command("strips", str(demo_files / "drill.json"), "--searchers", "3", "--strip-width-m", "18")
    answer = client.post("/api/strips", json={"drill": drill, "searchers": 3, "strip_width_m": 18})
    assert answer.status_code == 200, answer.text
    assert in_english(answer.json()) == printed


def test_contract_the_place_heard_least_is_the_same_through_both_doors(
    client: TestClient, demo_files: Path, drill: Any
) -> None:
    printed = command("strips", str(demo_files / "drill.json"), "--strip-width-m", "60", "--chance")
    answer = client.post("/api/strips", json={"drill": drill, "strip_width_m": 60, "chance": True})
    assert answer.status_code == 200, answer.text
    assert in_english(answer.json()) == printed
    heard = printed["detection"]
    raster = heard["raster"]
    known = [cell for cell in raster["per_mille"] if cell is not None]
    assert len(raster["per_mille"]) == raster["columns"] * raster["rows"]
    assert min(known) == round(1000 * heard["least_probability"])
    at = raster["per_mille"].index(min(known))
    row, column = divmod(at, raster["columns"])
    middle = [
        raster["west_m"] + (column + 0.5) * raster["step_m"],
        raster["south_m"] + (row + 0.5) * raster["step_m"],
    ]
    assert middle == pytest.approx(heard["least_heard_m"])


@pytest.mark.parametrize("kind", ["gpx", "geojson"])
def test_contract_lanes_are_handed_out_as_the_command_writes_them(
    client: TestClient, demo_files: Path, drill: Any, tmp_path: Path, kind: str
) -> None:
    command(
        "strips",
        str(demo_files / "drill.json"),
        "--strip-width-m",
        "40",
        f"--{kind}",
        str(tmp_path / "lanes"),
    )
    answer = client.post(f"/api/strips/{kind}", json={"drill": drill, "strip_width_m": 40})
    assert answer.status_code == 200, answer.text
    assert answer.content == (tmp_path / "lanes").read_bytes()


@pytest.mark.parametrize("kind", ["gpx", "geojson"])
def test_regression_lanes_that_lie_nowhere_on_earth_are_no_file(
    client: TestClient, drill: Any, kind: str
) -> None:
    drill["site"]["origin"] |= {"latitude_deg": 0, "longitude_deg": 0}
    answer = client.post(f"/api/strips/{kind}", json={"drill": drill, "strip_width_m": 40})
    assert answer.status_code == 422
    assert answer.headers["content-type"] == "application/problem+json"
    assert [fault.partition(":")[0] for fault in answer.json()["faults"]] == ["site.origin"]
    # On the plan they are still shown.
    assert client.post("/api/strips", json={"drill": drill, "strip_width_m": 40}).status_code == 200


def test_contract_strip_widths_are_the_same_through_both_doors(
    client: TestClient, demo_files: Path, drill: Any
) -> None:
    printed = command(
        "strip-width", str(demo_files / "drill.json"), "--noise-rise-db", "6", "--width-m", "33"
    )
    answer = client.post("/api/strip-width", json={"drill": drill, "noise_rise_db": 6, "widths_m": [33]})
    assert answer.status_code == 200, answer.text
    assert in_english(answer.json()) == printed


def test_contract_refusals_have_the_same_lines_through_both_doors(
    client: TestClient, demo_files: Path, drill: Any, tmp_path: Path
) -> None:
    drill["burials"][0]["position_m"] = [4000, 4000]
    (tmp_path / "drill.json").write_text(json.dumps(drill))
    found = import_module(COMMANDS["signal"][0]).command
    done = CliRunner().invoke(found, [str(tmp_path / "drill.json"), "--at", "1,1"])
    answer = client.post("/api/signal", json={"drill": drill, "at_m": [1, 1]})
    assert answer.status_code == 422
    printed = str(done.exception).replace(str(tmp_path / "drill.json"), "drill")
    assert answer.json()["faults"] == printed.splitlines()


def test_contract_every_fault_of_a_drill_comes_at_once_in_the_words_of_its_file(
    client: TestClient, drill: Any
) -> None:
    drill["burials"][0]["depth_m"] = -1
    drill["burials"][1]["position_m"] = [1000, 0]
    with pytest.raises(BadInput) as caught:
        read_drill(json.dumps(drill))
    assert len(caught.value.texts()) == 2

    asked = client.post("/api/signal", json={"drill": drill, "at_m": [0, 0], "height_m": -1})
    kept = client.put("/api/drills/askew", json={"document": drill})

    faults = list(caught.value.texts())
    assert asked.json()["faults"][1:] == [f"drill.{fault}" for fault in faults]
    assert asked.json()["faults"][0].startswith("height_m: ")
    assert kept.json()["faults"] == [f"document.{fault}" for fault in faults]


def test_contract_a_rehearsal_is_the_same_through_both_doors(
    client: TestClient, demo_files: Path, drill: Any
) -> None:
    printed = command("rehearse", str(demo_files / "drill.json"), "--runs", "20", "--seed", "7")
    order = {"work": "rehearse", "drill": drill, "runs": 20, "seed": 7}
    started = client.put("/api/jobs/rehearsal", json=order)
    assert started.status_code == 202, started.text
    with client.stream("GET", "/api/jobs/rehearsal/events") as stream:
        told = [json.loads(line[6:]) for line in stream.iter_lines() if line.startswith("data: ")]
    assert told[-1]["state"] == "done"
    assert [one["revision"] for one in told] == sorted(one["revision"] for one in told)
    assert in_english(client.put("/api/jobs/rehearsal", json=order).json()["result"]) == printed
    assert in_english(ended(client, "rehearsal")["result"]) == printed
    again = client.get("/api/jobs/rehearsal", params={"with_order": True}).json()
    assert again["order"] == order


def test_contract_what_helps_most_is_the_same_through_both_doors(
    client: TestClient, drill: Any, tmp_path: Path
) -> None:
    drill["burials"], drill["searchers"] = drill["burials"][:1], drill["searchers"][:2]
    (tmp_path / "drill.json").write_text(json.dumps(drill))
    printed = command("rehearse", str(tmp_path / "drill.json"), "--runs", "2", "--seed", "7", "--worth")
    order = {"work": "rehearse", "drill": drill, "runs": 2, "seed": 7, "worth": True}
    assert client.put("/api/jobs/worth", json=order).status_code == 202
    assert in_english(ended(client, "worth")["result"]) == printed


def test_contract_a_drill_is_set_beside_what_it_was(client: TestClient, demo_files: Path, drill: Any) -> None:
    before = json.loads(json.dumps(drill))
    drill["burials"][0]["depth_m"] = 2.0
    order = {"work": "rehearse", "drill": drill, "before": before, "runs": 8, "seed": 7}
    assert client.put("/api/jobs/beside-it", json=order).status_code == 202
    result = ended(client, "beside-it")["result"]
    assert in_english(result["before"]) == command(
        "rehearse", str(demo_files / "drill.json"), "--runs", "8", "--seed", "7"
    )
    gap = result["difference"]["burials"][0]
    assert gap["id"] == "A"
    assert gap["minutes"]["mean"] > 3.0 * gap["minutes"]["standard_error"] > 0.0


def test_contract_one_run_is_played_again_as_the_rehearsal_had_it(client: TestClient, drill: Any) -> None:
    order = {"work": "rehearse", "drill": drill, "runs": 20, "seed": 7}
    client.put("/api/jobs/traced", json=order)
    result = ended(client, "traced")["result"]
    run = result["telling_runs"]["a median run"]
    answer = client.post("/api/rehearsal-trace", json={"drill": drill, "run": run, "seed": 7})
    assert answer.status_code == 200, answer.text
    played = answer.json()
    last = max(b["airway_s"] for b in played["burials"])
    assert result["all_clear"]["seconds"]["p10"] <= last <= result["all_clear"]["seconds"]["p90"]
    for trace in played["traces"]:
        assert len(trace["t_s"]) == len(trace["east_m"]) == len(trace["north_m"])
        assert trace["t_s"] == sorted(trace["t_s"])
        assert trace["phases"][0] == {"from_s": 0.0, "phase": "ready"}


def test_contract_a_debrief_is_the_same_through_both_doors(
    client: TestClient, database: Database, demo_files: Path, drill: Any
) -> None:
    tracks = sorted((demo_files / "tracks").glob("*.gpx"))
    printed = command(
        "debrief",
        str(demo_files / "drill.json"),
        *map(str, tracks),
        "--splits",
        str(demo_files / "splits.csv"),
        "--simulated",
        "--bands",
        str(BAND_RUNS),
    )
    record_run(client, demo_files, drill, tracks)
    started = client.put("/api/jobs/d1", json={"work": "debrief", "run_id": "run"})
    assert started.status_code == 202, started.text
    job = ended(client, "d1")
    assert (job["state"], job["faults"]) == ("done", [])
    kept = client.get(f"/api/debriefs/{job['result']['debrief_id']}").json()
    assert in_english(kept["document"]) == printed
    assert kept["made_by"]["constants"]["survival_curve"]
    assert len(kept["made_by"]["models_sha256"]["beacon"]) == 64


def test_contract_a_debrief_of_what_is_no_longer_there_is_not_kept(
    client: TestClient, database: Database, demo_files: Path, drill: Any
) -> None:
    record_run(client, demo_files, drill, sorted((demo_files / "tracks").glob("*.gpx")))
    arguments = debrief_arguments(database, "run")
    job = Job(id="late", work="debrief", order={"run_id": "run"}, arguments=arguments)
    client.delete("/api/tracks/ines")
    with pytest.raises(BadInput, match="changed while"):
        keep_debrief(database)(job, {"document": {}, "faults": []})
    assert client.get("/api/debriefs").json()["items"] == []


def record_run(client: TestClient, demo_files: Path, drill: Any, tracks: list[Path]) -> None:
    """Put the demo's run into the records, through the API."""
    from coldfield.app.drills.files import load_splits

    assert client.put("/api/drills/drill", json={"document": drill}).status_code == 201
    run = {"drill_id": "drill", "simulated": True}
    assert client.put("/api/runs/run", json=run).status_code == 201
    for path in tracks:
        told = {"file_name": path.name, "searcher": path.stem}
        answer = client.put(f"/api/runs/run/tracks/{path.stem}", params=told, content=path.read_bytes())
        assert answer.status_code == 201, answer.text
    rows = load_splits(demo_files / "splits.csv").rows
    for number, row in enumerate(rows):
        moment = {"searcher": row.searcher, "time_unix_s": row.time_unix_s}
        if row.split == "observation":
            seen = {"run_id": "run", "about": row.note, **moment}
            assert client.put(f"/api/observations/o{number}", json=seen).status_code == 201
        else:
            split = {"run_id": "run", "split": row.split, "burial": row.burial, "note": row.note, **moment}
            assert client.put(f"/api/splits/s{number}", json=split).status_code == 201


def test_contract_a_run_of_splits_alone_is_debriefed_through_the_api(client: TestClient, drill: Any) -> None:
    client.put("/api/drills/drill", json={"document": drill})
    client.put("/api/runs/run", json={"drill_id": "drill"})
    rows = [("alarm", None, 0), ("probe_strike", "A", 200), ("airway_clear", "A", 500)]
    for split, burial, since in rows:
        fields = {"run_id": "run", "split": split, "burial": burial, "since_alarm_s": since}
        assert client.put(f"/api/splits/{split}", json=fields).status_code == 201
    assert client.put("/api/jobs/d2", json={"work": "debrief", "run_id": "run"}).status_code == 202
    job = ended(client, "d2")
    assert (job["state"], job["faults"]) == ("done", [])
    told = client.get(f"/api/debriefs/{job['result']['debrief_id']}").json()["document"]
    assert [(one["phase"], one["burial"]) for one in told["nobodys_phases"]] == [("dig", "A")]
    assert {one["burial"] for one in told["unknown_phases"]} == {"A", "B"}
    assert told["bands"]
    table = client.get(f"/debriefs/{job['result']['debrief_id']}/phases.csv").text.splitlines()
    assert table[1].startswith(",,A,dig,200.00,500.00,300.00")
    assert "<trkpt" not in client.get(f"/debriefs/{job['result']['debrief_id']}/tracks.gpx").text


def test_contract_a_run_without_tracks_and_splits_cannot_be_debriefed_yet(
    client: TestClient, drill: Any
) -> None:
    client.put("/api/drills/drill", json={"document": drill})
    client.put("/api/runs/run", json={"drill_id": "drill"})
    answer = client.put("/api/jobs/nothing-yet", json={"work": "debrief", "run_id": "run"})
    assert answer.status_code == 422
    assert "neither a track nor a split" in answer.json()["faults"][0]


def test_contract_a_job_is_cancelled_through_the_api(client: TestClient, drill: Any) -> None:
    order = {"work": "rehearse", "drill": drill, "runs": 1_000_000, "seed": 7}
    assert client.put("/api/jobs/long", json=order).status_code == 202
    assert client.post("/api/jobs/long/cancel").status_code == 200
    assert ended(client, "long")["state"] == "cancelled"
    assert "long" in [job["id"] for job in client.get("/api/jobs").json()]
    assert client.get("/api/jobs/nobody").status_code == 404
