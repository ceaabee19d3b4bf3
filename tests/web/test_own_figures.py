"""A rehearsal with the group's own figures through the service, and a drill harder than its last run."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from starlette.testclient import TestClient

sys.path.insert(0, str(Path(__file__).parents[1] / "coaching"))

from made_course import MadeCourse, made_course
from on_record import COURSE, NAMES, keep_course

from coldfield.app.coaching.group_runs import group_runs
from coldfield.app.coaching.last_run import last_run
from coldfield.cli.main import group as commands
from coldfield.files.drill_json import drill_from, write_drill
from coldfield.records.database import Database
from spoken_answers import in_english


@pytest.fixture(scope="module")
def course() -> MadeCourse:
    return made_course(4, family=7, other_digging=False, runs=5)


@pytest.fixture
def drill(course: MadeCourse, database: Database) -> dict[str, Any]:
    keep_course(database, course)
    told: dict[str, Any] = json.loads(write_drill(course.runs[0].drill))
    for searcher in told["searchers"]:
        searcher["name"] = NAMES[searcher["id"]]
    return told


def ended(client: TestClient, job_id: str) -> dict[str, Any]:
    with client.stream("GET", f"/api/jobs/{job_id}/events") as events:
        for _ in events.iter_lines():
            pass
    told: dict[str, Any] = client.get(f"/api/jobs/{job_id}").json()
    return told


def printed(*arguments: str) -> Any:
    done = CliRunner().invoke(commands, [*arguments, "--json"], catch_exceptions=False)
    assert done.exit_code == 0, done.output
    return json.loads(done.stdout)


def test_contract_own_figures_are_the_same_through_both_doors(
    client: TestClient, database: Database, drill: dict[str, Any], tmp_path: Path
) -> None:
    order = {"work": "rehearse", "drill": drill, "runs": 40, "seed": 7}
    for own_of in ("", COURSE):
        client.put(f"/api/jobs/own{own_of}", json={**order, "own_of": own_of})
    own, of_course = (ended(client, f"own{own_of}")["result"] for own_of in ("", COURSE))
    assert own == of_course
    file = tmp_path / "drill.json"
    file.write_text(json.dumps(drill))
    place = str(tmp_path / "data")
    assert in_english(own) == printed(
        "rehearse", str(file), "--runs", "40", "--seed", "7", "--own", "--data", place
    )
    assert "own figures from 5 runs" in in_english(own)["own"]
    # With the settings there is no note on own figures, and the minutes differ.
    client.put("/api/jobs/settings", json=order)
    settings = ended(client, "settings")["result"]
    assert not {"own", "own_drill"} & set(settings)
    assert settings["all_clear"]["seconds"] != own["all_clear"]["seconds"]
    # One of its runs is replayed, moment by moment, with the drill as it was played.
    run = own["telling_runs"]["a median run"]
    asked = {"drill": own["own_drill"], "run": run, "seed": 7}
    burials = client.post("/api/rehearsal-trace", json=asked).json()["burials"]
    last = max(b["airway_s"] for b in burials)
    assert last == pytest.approx(own["all_clear"]["seconds"]["p50"], rel=0.1)


def test_contract_a_drill_before_is_played_with_the_same_figures(
    client: TestClient, drill: dict[str, Any]
) -> None:
    order = {"work": "rehearse", "drill": drill, "before": drill, "runs": 20, "seed": 7, "own_of": ""}
    client.put("/api/jobs/beside", json=order)
    result = ended(client, "beside")["result"]
    assert result["before"]["all_clear"] == result["all_clear"]
    assert client.get("/api/jobs/beside", params={"with_order": True}).json()["order"]["own_of"] == ""


def test_contract_without_runs_it_is_too_little_to_tell(client: TestClient, course: MadeCourse) -> None:
    told = json.loads(write_drill(course.runs[0].drill))
    client.put("/api/jobs/none", json={"work": "rehearse", "drill": told, "runs": 20, "own_of": ""})
    job = ended(client, "none")
    assert job["state"] == "failed"
    assert "Too little to tell from 0 runs" in in_english(job)["faults"][0]
    no_course = {"work": "rehearse", "drill": told, "runs": 20, "own_of": "march"}
    assert client.put("/api/jobs/march", json=no_course).status_code == 404


def test_contract_the_last_run_of_a_drills_group_is_the_newest_of_its_people(
    database: Database, drill: dict[str, Any], course: MadeCourse
) -> None:
    group = group_runs(database)
    last = last_run(group, drill_from(drill))
    newest = max(group.runs, key=lambda run: group.held[run.id])
    assert last is not None
    assert last.name == newest.name
    assert last.drill == newest.drill
    assert last.airway_s in (None, max(m["airway"].t_s for m in newest.moments.values() if "airway" in m))
    for searcher in drill["searchers"]:
        searcher["name"] = f"somebody else {searcher['id']}"
    assert last_run(group, drill_from(drill)) is None


def test_contract_a_little_harder_is_harder_than_the_last_run(
    client: TestClient, database: Database, drill: dict[str, Any]
) -> None:
    order = {"work": "propose", "drill": drill, "harder": True}
    client.put("/api/jobs/harder", json=order)
    job = ended(client, "harder")
    told = in_english(job)
    last = last_run(group_runs(database), drill_from(drill))
    assert last is not None
    if job["state"] == "failed":  # finding no such drill on this ground is also valid
        assert "nearest" in told["faults"][0]
        return
    assert f"the last run of the group, {last.name} on" in told["result"]["notes"][0]
    low, high = told["result"]["p90_min"]
    assert all(low <= one["predicted"]["p90_s"] / 60.0 <= high for one in told["result"]["proposals"])
