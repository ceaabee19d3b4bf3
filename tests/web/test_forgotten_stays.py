"""A forgotten person stays forgotten: late saves, undo, uploads, jobs, imports and downloads do not restore them."""

from __future__ import annotations

import io
import json
import threading
import time
from typing import Any

import pytest
from starlette.testclient import TestClient

from coldfield.app.debriefs.from_records import debrief_arguments
from coldfield.app.jobs.jobs import Jobs
from coldfield.app.records.keeping import bring_records, export_records, forget
from coldfield.errors import Refused
from coldfield.records import schema
from coldfield.records.database import Database
from coldfield.web.routes.keeping import _pieces
from example_records import DRILL, GPX, dump, put

NAME = "Runa Falk"


@pytest.fixture
def told(client: TestClient) -> TestClient:
    """Return a service whose records mention a person in a run, a drill, notes, kit and a track."""
    document = json.loads(json.dumps(DRILL))
    document["searchers"][0]["name"] = NAME
    made = [
        client.put("/api/people/p-1", json={"name": NAME}),
        client.put("/api/people/bram", json={"name": "Bram"}),
        client.put("/api/kit/k-1", json={"kind": "set", "label": f"{NAME} 1", "owner_id": "p-1"}),
        client.put("/api/courses/c-1", json={"name": "February course"}),
        client.put("/api/participants/pt-1", json={"course_id": "c-1", "person_id": "p-1"}),
        client.put("/api/sites/s-1", json={"name": "Bowl", "notes": f"{NAME} knows the way"}),
        client.put("/api/drills/d-1", json={"document": document}),
        client.put(
            "/api/runs/r-1",
            json={
                "drill_id": "d-1",
                "notes": f"{NAME} led",
                "searchers": [
                    {"searcher": "s1", "person_id": "p-1"},
                    {"searcher": "s2", "person_id": "bram"},
                ],
            },
        ),
        client.put(
            "/api/splits/sp-1", json={"run_id": "r-1", "split": "alarm", "since_alarm_s": 0, "note": NAME}
        ),
    ]
    assert {one.status_code for one in made} == {201}
    assert client.post(
        "/api/runs/r-1/tracks?file_name=a.gpx", content=GPX.replace(b"Ines", NAME.encode())
    ).is_success
    return client


KINDS_OPEN = ("people/p-1", "kit/k-1", "sites/s-1", "drills/d-1", "runs/r-1", "splits/sp-1")
STAMPS = ("id", "version", "created_utc", "changed_utc", "deletion_id", "name", "drill_version")


def form_of(path: str, stored: dict[str, Any]) -> dict[str, Any]:
    left = {key: value for key, value in stored.items() if key not in STAMPS}
    return (
        left if path.startswith("drills") else left | ({"name": stored["name"]} if "name" in stored else {})
    )


def test_contract_a_page_that_is_open_saves_in_vain(told: TestClient, database: Database) -> None:
    pages = {path: told.get(f"/api/{path}").json() for path in KINDS_OPEN}
    assert told.post("/api/people/p-1/forget").status_code == 200
    before = dump(database)
    for path, page in pages.items():
        version = {"If-Match": f'"{page["version"]}"'}
        late = told.put(f"/api/{path}", json=form_of(path, page), headers=version)
        assert late.status_code == 412, (path, late.text)
        assert late.headers["content-type"] == "application/problem+json"
        again = told.put(f"/api/{path}", json=form_of(path, page))
        assert again.status_code == 409, (path, again.text)
    assert dump(database) == before


def test_contract_a_late_save_on_the_new_version_is_refused_while_the_name_is_nobodys(
    told: TestClient,
) -> None:
    page = told.get("/api/runs/r-1").json()
    told.post("/api/people/p-1/forget")
    now = told.get("/api/runs/r-1").json()
    assert now["version"] > page["version"]
    newest = {"If-Match": f'"{now["version"]}"'}
    late = told.put("/api/runs/r-1", json=form_of("runs", now) | {"notes": f"{NAME} led"}, headers=newest)
    assert late.json()["faults"] == ["notes: names somebody who was forgotten; leave the name out"]
    fresh = {"run_id": "r-1", "split": "airway_clear", "since_alarm_s": 5, "note": "RUNA FALK dug"}
    assert told.put("/api/splits/queued", json=fresh).status_code == 422
    assert told.post("/api/runs/r-1/splits", json=[{**fresh, "id": "queued"}]).status_code == 422
    upload = told.post("/api/runs/r-1/tracks?file_name=b.gpx", content=GPX.replace(b"Ines", NAME.encode()))
    assert upload.status_code == 422
    # A new person may have the name, which then no longer belongs to the forgotten one.
    assert told.put("/api/people/p-2", json={"name": NAME}).status_code == 201
    assert told.put("/api/splits/queued", json=fresh).status_code == 201


def test_contract_what_went_is_not_taken_again_under_its_id_and_its_id_is_not_kept(
    told: TestClient, database: Database
) -> None:
    track = told.get("/api/tracks").json()["items"][0]["id"]
    told.post("/api/people/p-1/forget")
    again = told.put("/api/people/p-1", json={"name": "Somebody"})
    assert (again.status_code, "was removed when somebody was forgotten" in again.json()["detail"]) == (
        409,
        True,
    )
    entry = told.put("/api/participants/pt-1", json={"course_id": "c-1", "person_id": "bram"})
    assert entry.status_code == 409
    late = told.put(f"/api/runs/r-1/tracks/{track}?file_name=a.gpx", content=GPX)
    assert late.status_code == 409
    rows = json.dumps(dump(database))
    assert not any(f"'{one}'" in rows for one in ("p-1", "pt-1", track))


def test_contract_undoing_an_earlier_deletion_brings_no_name_back(
    told: TestClient, database: Database
) -> None:
    run = told.delete("/api/runs/r-1").json()["deletion_id"]
    kit = told.delete("/api/kit/k-1").json()["deletion_id"]
    person = told.delete("/api/people/p-1").json()["deletion_id"]
    entry = told.delete("/api/participants/pt-1").json()["deletion_id"]
    told.post("/api/people/p-1/forget")
    assert [told.post(f"/api/deletions/{one}/undo").status_code for one in (person, entry)] == [404, 404]
    assert told.post(f"/api/deletions/{run}/undo").json()["notes"] == "(forgotten person) led"
    assert told.post(f"/api/deletions/{kit}/undo").json()["owner_id"] is None
    assert told.get("/api/runs/r-1/tracks").json() == []
    assert "Falk" not in json.dumps(dump(database))


# --- jobs -------------------------------------------------------------------------------------------------


def test_contract_jobs_keep_nothing_of_somebody_forgotten(told: TestClient) -> None:
    document = json.loads(json.dumps(DRILL))
    document["searchers"][0]["name"] = NAME
    order = {"work": "rehearse", "drill": document, "runs": 200_000}
    assert told.put("/api/jobs/j-1", json=order).status_code == 202
    other = {"work": "rehearse", "drill": DRILL, "runs": 200_000}
    assert told.put("/api/jobs/j-2", json=other).status_code == 202
    told.post("/api/people/p-1/forget")
    assert told.get("/api/jobs/j-1").status_code == 404
    assert told.get("/api/jobs/j-2").status_code == 200
    assert "Falk" not in told.get("/api/jobs").text
    told.post("/api/jobs/j-2/cancel")


def test_contract_a_debrief_begun_before_is_not_kept(told: TestClient, database: Database) -> None:
    from coldfield.app.debriefs.from_records import keep_debrief
    from coldfield.app.jobs.job import Job
    from coldfield.errors import BadInput, UnknownRecord

    arguments = debrief_arguments(database, "r-1")
    job = Job(id="j", work="debrief", order={"run_id": "r-1"}, arguments=arguments)
    told.post("/api/people/p-1/forget")
    with pytest.raises((BadInput, UnknownRecord)):
        keep_debrief(database)(job, {"document": {"said": NAME}, "faults": []})
    assert told.get("/api/debriefs").json()["items"] == []


def test_contract_a_result_that_speaks_of_somebody_forgotten_meanwhile_is_dropped() -> None:
    begun, go = threading.Event(), threading.Event()

    def finish(_job: Any, _result: Any) -> dict[str, str]:
        begun.set()
        go.wait(10)
        return {"faults": f"{NAME}.gpx: contains no track"}

    jobs = Jobs({"wait": "slow_work:nothing"}, workers=1, finish={"wait": finish})
    try:
        jobs.submit("j", "wait", order={}, arguments=dict)
        assert begun.wait(30)
        assert jobs.forget(lambda text: NAME in text) == 0
        go.set()
        until = time.monotonic() + 20
        while jobs.get("j").state == "running" and time.monotonic() < until:
            time.sleep(0.02)
        assert jobs.get("j").state == "failed"
        assert NAME not in repr(jobs.get("j"))
    finally:
        go.set()
        jobs.close()


# --- archives ---------------------------------------------------------------------------------------------


def test_contract_an_earlier_archive_brings_nothing_back_under_its_id(
    told: TestClient, database: Database
) -> None:
    told.delete("/api/participants/pt-1")
    archive = told.get("/api/export").content
    told.post("/api/people/p-1/forget")
    before = dump(database)
    answer = told.post("/api/import?file_name=all.zip", content=archive)
    assert answer.status_code == 200
    assert answer.json()["new"] == {}
    assert dump(database) == before


def test_contract_new_records_of_an_archive_come_in_without_the_person(
    told: TestClient, database: Database, tmp_path: Any
) -> None:
    put(database, "runs", "r-2", drill_id="d-1", searchers=[{"searcher": "s1", "person_id": "p-1"}])
    put(database, "kit", "k-2", kind="probe", label="HL-77", owner_id="p-1")
    archive = told.get("/api/export").content
    told.post("/api/people/p-1/forget")
    with database.write() as connection:
        for table in (schema.run_searcher, schema.kit):
            column = table.c.run_id if "run_id" in table.c else table.c.id
            connection.execute(table.delete().where(column.in_(["r-2", "k-2"])))
        connection.execute(schema.run.delete().where(schema.run.c.id == "r-2"))
    told.post("/api/import?file_name=all.zip", content=archive)
    assert told.get("/api/runs/r-2").json()["searchers"] == [{"searcher": "s1", "person_id": None}]
    assert told.get("/api/kit/k-2").json()["owner_id"] is None


def test_contract_an_import_under_way_is_refused(told: TestClient, database: Database) -> None:
    archive = io.BytesIO(told.get("/api/export").content)
    begun = len(database.forgotten)
    forget(database, "p-1")
    with pytest.raises(Refused, match="somebody was forgotten"):
        bring_records(database, archive, "all.zip", forgotten=begun)


def test_contract_an_export_under_way_breaks_off(told: TestClient, database: Database, tmp_path: Any) -> None:
    import tempfile

    place = tempfile.TemporaryDirectory(dir=tmp_path)
    path = tmp_path / "all.zip"
    export_records(database, path)
    begun = len(database.forgotten)
    pieces = _pieces(path, place, lambda: len(database.forgotten) == begun)
    forget(database, "p-1")
    with pytest.raises(Refused, match="somebody was forgotten"):
        list(pieces)
