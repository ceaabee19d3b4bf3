"""Overviews through the API; the demo as a job; beginning a drill."""

from __future__ import annotations

import csv
import io
import json
import time
from typing import Any

import pytest
from starlette.testclient import TestClient

from coldfield.app.demo.fill import are_empty, fill_demo
from coldfield.app.drills.new import drill_on_square
from coldfield.files.drill_json import read_drill, write_drill
from coldfield.records.database import Database
from example_records import a_small_season, put

POLYGON = {
    "type": "Polygon",
    "coordinates": [[[8.1, 61.2], [8.101, 61.2], [8.101, 61.2006], [8.1, 61.2006], [8.1, 61.2]]],
}


def test_contract_the_first_page_is_told_before_anything_is_recorded(client: TestClient) -> None:
    look = client.get("/api/overview").json()
    assert set(look["counts"].values()) == {0}
    assert (look["drills"], look["runs"], look["days"], look["to_check"]) == ([], [], [], [])


def test_contract_glances_answer_as_described(client: TestClient, database: Database) -> None:
    a_small_season(database)
    look = client.get("/api/overview", params={"today": "2026-02-01"}).json()
    assert look["runs"][0]["searchers"][0] == {"searcher": "s1", "person_id": "ines", "name": "Ines"}
    assert look["days"][0]["day"]["course"] == "February course"
    course = client.get("/api/courses/feb/overview").json()
    assert [one["name"] for one in course["participants"]] == ["Bram", "Ines"]
    assert client.get("/api/people/ines/overview").json()["runs"] == 1
    assert client.get("/api/people/ines/history").json()[0]["phases"] == {}
    for path in ("/api/courses/none/overview", "/api/people/none/overview"):
        assert client.get(path).status_code == 404
    assert client.get("/api/overview", params={"today": "tomorrow"}).status_code == 422


def test_contract_lists_are_found_by_words_and_narrowed(client: TestClient, database: Database) -> None:
    a_small_season(database)

    def ids(path: str, **params: Any) -> list[str]:
        return [one["id"] for one in client.get(path, params=params).json()["items"]]

    assert ids("/api/people", find="ines") == ["ines"]
    assert ids("/api/runs", find="lower fan") == ["run-1"]
    assert ids("/api/kit", state="to check") == []
    assert ids("/api/kit", kind="set", find="01") == ["hl-01"]
    assert client.get("/api/kit", params={"kind": "boat"}).status_code == 422
    assert client.get("/api/splits", params={"find": "x"}).status_code == 422


def test_contract_the_demo_fills_empty_records_and_no_others(client: TestClient) -> None:
    order = {"work": "demo"}
    told = client.put("/api/jobs/demo-1", json=order)
    assert told.status_code == 202
    while (job := client.get("/api/jobs/demo-1").json())["state"] in ("waiting", "running"):
        time.sleep(0.2)
    assert (job["state"], job["faults"]) == ("done", [])
    made = {"run_id": "demo-run", "drill_id": "demo-drill", "debrief_id": "demo-debrief"}
    assert job["result"] == made
    (ines,) = client.get("/api/people/ines/history").json()
    assert {"signal", "coarse"} <= set(ines["phases"]["B"])
    assert client.get("/api/overview").json()["counts"]["people"] == 8
    refused = client.put("/api/jobs/demo-2", json=order)
    assert refused.status_code == 409
    assert "not mixed" in refused.json()["detail"]


def test_contract_records_with_a_person_are_not_empty(database: Database) -> None:
    assert are_empty(database)
    put(database, "people", "ines", name="Ines")
    assert not are_empty(database)
    assert not fill_demo(database)


def test_contract_a_drill_begins_on_a_square_that_can_be_recorded(client: TestClient) -> None:
    asked = {"name": "Evening drill", "searchers": 3, "side_m": 50}
    document = client.post("/api/new-drill", json=asked).json()
    assert document["site"]["boundary_m"] == [[0, 0], [50, 0], [50, 50], [0, 50]]
    assert document["site"]["entry_m"] == [25, 0]
    assert [one["id"] for one in document["searchers"]] == ["s1", "s2", "s3"]
    assert client.put("/api/drills/d", json={"document": document}).status_code == 201


def test_contract_a_drill_begins_on_a_boundary(client: TestClient) -> None:
    asked = {"name": "Bowl", "file_name": "bowl.geojson", "file_text": json.dumps(POLYGON)}
    site = client.post("/api/new-drill", json=asked).json()["site"]
    assert site["origin"]["latitude_deg"] == pytest.approx(61.2)
    # A thousandth of a degree of longitude at 61.2 degrees north: 111.32 km * cos(61.2) / 1000 = 53.6 m.
    assert max(east for east, _ in site["boundary_m"]) == pytest.approx(53.6, rel=0.005)
    wrong = client.post("/api/new-drill", json={**asked, "file_text": "{}"})
    assert wrong.status_code == 422
    assert wrong.json()["faults"][0].startswith("bowl.geojson")


def test_property_a_square_reads_back_as_it_was_written() -> None:
    drill = drill_on_square(name="Square", side_m=33.333, searchers=1)
    assert read_drill(write_drill(drill)) == drill


def test_contract_anything_is_found_by_a_few_words(client: TestClient) -> None:
    for kind, record, form in (
        ("people", "sol", {"name": "Sólveig"}),
        ("people", "isol", {"name": "Anna Isolde"}),
        ("courses", "solo", {"name": "Solo course"}),
        ("kit", "s1", {"kind": "set", "label": "SOL-1"}),
    ):
        assert client.put(f"/api/{kind}/{record}", json=form).status_code == 201
    found = client.get("/api/find", params={"words": "SOL"}).json()["items"]
    assert [(one["kind"], one["id"]) for one in found] == [
        ("people", "sol"),
        ("people", "isol"),
        ("courses", "solo"),
        ("kit", "s1"),
    ]
    assert found[-1]["beside"] == "set"
    assert client.get("/api/find", params={"words": "  "}).json() == {"items": []}
    assert client.get("/api/find", params={"words": "sol %"}).json() == {"items": []}


def test_contract_the_history_of_a_person_is_a_table_that_begins_no_formula(client: TestClient) -> None:
    drill = client.get("/api/demo-drill").json()
    client.put("/api/people/p", json={"name": "Pia"})
    client.put("/api/drills/d", json={"document": {**drill, "name": "=HYPERLINK()"}})
    run = {"drill_id": "d", "held_utc": "2026-02-14T09:30:00Z", "name": "@one"}
    run["searchers"] = [{"searcher": drill["searchers"][0]["id"], "person_id": "p"}]
    assert client.put("/api/runs/r", json=run).status_code == 201
    split = {"run_id": "r", "split": "airway_clear", "burial": "A", "since_alarm_s": 402.25}
    client.put("/api/splits/s", json={**split, "searcher": drill["searchers"][0]["id"]})
    text = client.get("/api/people/p/history.csv").text
    head, row = csv.reader(io.StringIO(text))
    told = dict(zip(head, row, strict=True))
    assert (told["run"], told["drill"]) == ("'@one", "'=HYPERLINK()")
    assert (told["row"], told["name"], told["burial"], told["seconds"]) == (
        "split",
        "airway_clear",
        "A",
        "402.25",
    )
    assert client.get("/api/people/nobody/history.csv").status_code == 404
