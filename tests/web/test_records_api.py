"""Records through the API: ids made by the client, versions, deletions, original files."""

from __future__ import annotations

from typing import Any

import pytest
from starlette.testclient import TestClient

from coldfield.records.database import Database
from coldfield.records.kinds import KINDS
from example_records import DRILL, GPX, a_small_season, drill


def assert_problem(response: Any, status: int) -> dict[str, Any]:
    assert response.status_code == status, response.text
    assert response.headers["content-type"] == "application/problem+json"
    body: dict[str, Any] = response.json()
    assert body["status"] == status
    assert body["detail"]
    return body


def test_contract_a_record_is_created_once_under_the_clients_id(client: TestClient) -> None:
    first = client.put("/api/people/ines", json={"name": "Ines"})
    again = client.put("/api/people/ines", json={"name": "Ines"})
    assert (first.status_code, again.status_code) == (201, 200)
    assert first.json() == again.json() == client.get("/api/people/ines").json()
    assert first.headers["etag"] == '"1"'


def test_contract_a_stale_change_is_refused_and_says_what_is_stored(client: TestClient) -> None:
    client.put("/api/people/ines", json={"name": "Ines"})
    one = client.put("/api/people/ines", json={"name": "Ines", "notes": "a"}, headers={"If-Match": '"1"'})
    two = client.put("/api/people/ines", json={"name": "Ines", "notes": "b"}, headers={"If-Match": '"1"'})
    assert one.headers["etag"] == '"2"'
    assert assert_problem(two, 412)["stored_version"] == 2
    assert_problem(client.put("/api/people/ines", json={"name": "Bram"}), 409)


@pytest.mark.parametrize("path", ["/nothing", "/api/nothing", "/api/people/nobody", "/api/runs/x/y/z"])
def test_contract_unknown_addresses_are_problems_too(client: TestClient, path: str) -> None:
    assert_problem(client.get(path), 404)


def test_contract_a_wrong_method_is_a_problem_and_tells_the_right_ones(client: TestClient) -> None:
    response = client.patch("/api/people/ines", json={})
    assert_problem(response, 405)
    assert "PUT" in response.headers["allow"]


@pytest.mark.parametrize(
    ("body", "fault"),
    [
        ({"name": ""}, "name: "),
        ({"name": "A\u0000B"}, "name: "),
        ({"name": 7}, "name: must be text in quotes"),
        ({"name": "A", "age": 3}, "age: is not a key here"),
        ({}, "name: is missing"),
    ],
)
def test_contract_faults_stand_one_a_line_with_their_place(
    client: TestClient, body: dict[str, Any], fault: str
) -> None:
    faults = assert_problem(client.put("/api/people/x", json=body), 422)["faults"]
    assert any(line.startswith(fault) for line in faults), faults


@pytest.mark.parametrize("text", ['{"name": "\\ud800"}', '{"name": NaN}', "{", "", "[]", '{"name":"A"} x'])
def test_contract_bodies_that_are_no_json_object_are_problems(client: TestClient, text: str) -> None:
    response = client.put(
        "/api/people/x", content=text.encode(), headers={"content-type": "application/json"}
    )
    assert_problem(response, 422)


def test_contract_a_drill_is_checked_as_a_drill_file(client: TestClient) -> None:
    crossed = drill(site={**DRILL["site"], "boundary_m": [[0, 0], [60, 80], [60, 0], [0, 80]]})
    faults = assert_problem(client.put("/api/drills/d", json={"document": crossed}), 422)["faults"]
    assert any("boundary_m" in line for line in faults)


def test_contract_burials_as_dug_out_are_checked_against_the_ground(client: TestClient) -> None:
    client.put("/api/drills/fan", json={"document": DRILL})
    outside = [{**DRILL["burials"][0], "position_m": [500, 500]}]
    response = client.put("/api/runs/r", json={"drill_id": "fan", "as_buried": outside})
    assert assert_problem(response, 422)["faults"][0].startswith("as_buried[0].position_m")


def test_contract_every_kind_is_listed_and_read(client: TestClient, database: Database) -> None:
    a_small_season(database)
    for kind in KINDS:
        listed = client.get(f"/api/{kind}").json()
        assert listed["next"] is None
        for item in listed["items"]:
            whole = client.get(f"/api/{kind}/{item['id']}").json()
            own = {key: item[key] for key in item if key in whole}
            assert {key: whole[key] for key in own} == own


def test_contract_lists_are_paged_and_narrowed(client: TestClient, database: Database) -> None:
    a_small_season(database)
    first = client.get("/api/people", params={"limit": 2}).json()
    second = client.get("/api/people", params={"limit": 2, "after": first["next"]}).json()
    assert [p["name"] for p in first["items"] + second["items"]] == ["Bram", "Ines", "Yuki"]
    mine = client.get("/api/participants", params={"person_id": "ines"}).json()["items"]
    assert [one["id"] for one in mine] == ["feb-ines"]
    assert_problem(client.get("/api/people", params={"color": "red"}), 422)


def test_contract_a_deletion_is_undone(client: TestClient, database: Database) -> None:
    a_small_season(database)
    deletion = client.delete("/api/courses/feb").json()["deletion_id"]
    assert client.get("/api/days").json()["items"] == []
    assert client.get("/api/deletions").json()[0]["id"] == deletion
    assert client.post(f"/api/deletions/{deletion}/undo").json()["name"] == "February course"
    assert len(client.get("/api/days").json()["items"]) == 1
    assert_problem(client.post(f"/api/deletions/{deletion}/undo"), 404)


def test_contract_splits_of_phones_arrive_in_any_order_each_once(
    client: TestClient, database: Database
) -> None:
    a_small_season(database)
    splits = [
        {"id": "z2", "split": "airway_clear", "searcher": "s1", "burial": "A", "since_alarm_s": 512.0},
        {"id": "z1", "split": "first_signal", "searcher": "s1", "since_alarm_s": 61.5},
    ]
    for _ in range(2):
        response = client.post("/api/runs/run-1/splits", json=splits)
        assert response.status_code == 200, response.text
    client.post("/api/runs/run-1/splits", json=splits[::-1])
    listed = client.get("/api/splits", params={"run_id": "run-1"}).json()["items"]
    assert sorted(one["id"] for one in listed) == ["sp-1", "sp-2", "z1", "z2"]


def test_contract_splits_come_all_or_none(client: TestClient, database: Database) -> None:
    a_small_season(database)
    splits = [
        {"id": "z1", "split": "first_signal", "since_alarm_s": 61.5},
        {"id": "sp-1", "split": "something else", "since_alarm_s": 1.0},
    ]
    assert_problem(client.post("/api/runs/run-1/splits", json=splits), 409)
    listed = client.get("/api/splits", params={"run_id": "run-1"}).json()["items"]
    assert "z1" not in [one["id"] for one in listed]


def test_contract_a_track_comes_back_byte_by_byte_and_knows_its_person(
    client: TestClient, database: Database
) -> None:
    a_small_season(database)
    where = "/api/runs/run-1/tracks/tr-9"
    told = {"file_name": "Bram's watch.gpx", "searcher": "s2"}
    first = client.put(where, params=told, content=GPX + b"\x00\xff")
    again = client.put(where, params=told, content=GPX + b"\x00\xff")
    assert (first.status_code, again.status_code) == (201, 200)
    assert first.json()["person_id"] == "bram"
    got = client.get("/api/tracks/tr-9/file")
    assert got.content == GPX + b"\x00\xff"
    assert got.headers["content-disposition"] == 'attachment; filename="tr-9.gpx"'
    assert_problem(client.put(where, params=told, content=GPX), 409)


def test_contract_a_persons_history_counts_from_the_alarm(client: TestClient, database: Database) -> None:
    a_small_season(database)
    client.post(
        "/api/runs/run-1/splits",
        json=[
            {
                "id": "sp-3",
                "split": "airway_clear",
                "searcher": "s1",
                "burial": "A",
                "time_unix_s": 1771061400.0 + 512.0,
            }
        ],
    )
    (entry,) = client.get("/api/people/ines/history").json()
    assert entry["seconds"] == {"A": {"probe_strike": 260.5, "airway_clear": 512.0}}
    assert (entry["run"], entry["course_id"], entry["drill"]) == ("Run 1", "feb", "Two on the lower fan")
    assert client.get("/api/people/yuki/history").json() == []
    assert_problem(client.get("/api/people/nobody/history"), 404)


def test_contract_an_older_drill_version_stays_readable(client: TestClient, database: Database) -> None:
    a_small_season(database)
    changed = client.put(
        "/api/drills/fan", json={"document": drill(name="Other")}, headers={"If-Match": '"1"'}
    )
    assert changed.json()["document"]["name"] == "Other"
    assert client.get("/api/drills/fan/versions/1").json() == DRILL
    assert_problem(client.get("/api/drills/fan/versions/3"), 404)


def test_contract_a_full_disk_is_a_problem_and_the_service_goes_on(
    client: TestClient, database: Database
) -> None:
    a_small_season(database)
    with database.engine.connect() as connection:
        pages = connection.exec_driver_sql("PRAGMA page_count").scalar_one()
        connection.exec_driver_sql(f"PRAGMA max_page_count = {pages}")
    answers = [client.put(f"/api/people/p{i}", json={"name": "P", "notes": "x" * 9000}) for i in range(9)]
    assert "free some space" in assert_problem(answers[-1], 507)["detail"]
    kept = [i for i, answer in enumerate(answers) if answer.status_code == 201]
    assert [client.get(f"/api/people/p{i}").status_code for i in kept] == [200] * len(kept)
