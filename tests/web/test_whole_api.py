"""Requests made up from the API's own description: nothing breaks, and every answer is as described."""

from __future__ import annotations

import atexit
import re
import shutil
import tempfile
from collections.abc import Iterator
from itertools import count
from pathlib import Path
from typing import Any

import pytest
import schemathesis
from fastapi import FastAPI
from hypothesis import HealthCheck, Phase, settings
from schemathesis.specs.openapi.checks import negative_data_rejection, positive_data_acceptance
from starlette.testclient import TestClient

from coldfield.app.jobs.jobs import Jobs
from coldfield.records.database import open_sqlite
from coldfield.records.folder import Folder
from coldfield.web.app import create_app
from example_records import DRILL, GRID, a_small_season, keep_grid, put

PLACE = Path(tempfile.mkdtemp(prefix="coldfield-test-"))
DATABASE = open_sqlite(Folder(PLACE))
# What workers do is tested elsewhere; here they end at once.
JOBS = Jobs(dict.fromkeys(("rehearse", "debrief", "demo"), "slow_work:nothing"), workers=1)
atexit.register(shutil.rmtree, PLACE, ignore_errors=True)
HOST = {"host": "127.0.0.1"}
NUMBERS = count()

NAMED = {
    "person_id": "people",
    "course_id": "courses",
    "day_id": "days",
    "site_id": "sites",
    "drill_id": "drills",
    "run_id": "runs",
    "track_id": "tracks",
    "grid_id": "grids",
    "deletion_id": "deletions",
    "job_id": "jobs",
}
"""What an id in an address or a body names."""

MORE: dict[str, dict[str, Any]] = {
    "phones": {"name": "Phone of the hut"},
    "group_checks": {"begun_utc": "2026-02-14T09:00:00Z"},
    "hidings": {
        "run_id": "run-1",
        "when": "hidden",
        "burial": "A",
        "place": {"way": "words", "words": "by the cairn"},
    },
    "day_items": {
        "run_id": "run-1",
        "of": "of-1",
        "phone": "phone-1",
        "n": 1,
        "told": {
            "kind": "note",
            "wall_ms": 1_771_060_000_000,
            "page": "page-1",
            "since_page_ms": 5.0,
            "words": "cold",
        },
    },
    "debriefs": {"run_id": "run-1", "made_by": {"by": "hand"}, "document": {"said": [{"text": "late"}]}},
}
"""One record of each kind that the example season does not have."""


def described() -> FastAPI:
    """Return the app; its description names one drill: drill files have tests of their own."""
    app = create_app(DATABASE, jobs=JOBS)
    parts = app.openapi()["components"]["schemas"]
    parts["DrillPart"] = {"enum": [DRILL]}
    parts["SitePart"] = {"enum": [DRILL["site"]]}
    parts["BurialPart"] = {"enum": DRILL["burials"]}
    begun = app.openapi()["paths"]["/api/new-drill"]["post"]["responses"]["200"]
    begun["content"]["application/json"]["schema"] = {"type": "object"}
    return app


def one_of_each() -> None:
    """Keep a record of each kind and a deletion, so that every operation finds one."""
    a_small_season(DATABASE)
    keep_grid(DATABASE, "grid-1", GRID, drill_id="fan", file_name="bowl.asc", crs="site")
    for kind, fields in MORE.items():
        put(DATABASE, kind, f"{kind}-1", **fields)
    with TestClient(APP, base_url="http://127.0.0.1") as client:
        assert client.put("/api/people/left", json={"name": "Leif"}).status_code == 201
        assert client.delete("/api/people/left").status_code == 200


def known(name: str) -> str:
    """Return the id of a record, deletion or job, as the service lists it now; a person for each asking."""
    with TestClient(APP, base_url="http://127.0.0.1") as client:
        if name == "people":
            key = f"person-{next(NUMBERS)}"
            assert client.put(f"/api/people/{key}", json={"name": f"Noor {key}"}).status_code == 201
            return key
        if name == "jobs":
            # Ended ones are not kept for long.
            key = f"job-{next(NUMBERS)}"
            order = {"work": "rehearse", "drill": DRILL, "runs": 10}
            assert client.put(f"/api/jobs/{key}", json=order).status_code == 202
            return key
        if name == "deletions":
            return str(client.delete(f"/api/people/{known('people')}").json()["deletion_id"])
        told = client.get(f"/api/{name}").json()
        listed = told if isinstance(told, list) else told["items"]
        return str(listed[0]["id"])


def with_real_ids(case: schemathesis.Case) -> bool:
    """Put ids from answers of the service in the place of those made up; return whether there were any."""
    kind = case.operation.path.split("/")[2]
    named = {"record_id": kind, **NAMED}
    for key in set(case.path_parameters) & set(named):
        case.path_parameters[key] = known(named[key])
    if "number" in case.path_parameters:
        case.path_parameters["number"] = 1
    # A list goes on after one of its own entries only.
    case.query = {key: value for key, value in case.query.items() if key not in ("after", "before")}
    if isinstance(case.body, dict):
        for key in set(case.body) & set(NAMED):
            case.body[key] = known(NAMED[key])
    return bool(set(case.path_parameters) & set(named))


APP = described()
one_of_each()
schema = schemathesis.openapi.from_asgi("/api/openapi.json", APP, headers=HOST)


@pytest.fixture(scope="module", autouse=True)
def closed() -> Iterator[None]:
    yield
    JOBS.close()
    DATABASE.close()


@schema.parametrize()
@settings(
    max_examples=3,
    deadline=None,
    derandomize=True,
    database=None,
    phases=[Phase.explicit, Phase.generate],
    suppress_health_check=list(HealthCheck),
)
def test_property_every_answer_is_as_described(case: schemathesis.Case) -> None:
    # That a reference must name a record, or a searcher a drill's, no JSON Schema can say.
    unsaid: list[Any] = [] if case.method == "GET" else [positive_data_acceptance]
    described_here = case.method.lower() in APP.openapi()["paths"].get(case.operation.path, {})
    case.call_and_validate(headers=HOST, excluded_checks=unsaid)
    if described_here and with_real_ids(case):
        answer = case.call_and_validate(
            headers=HOST, excluded_checks=[positive_data_acceptance, negative_data_rejection]
        )
        assert answer.status_code != 404, "an id from an answer is found"
        if case.method == "DELETE" and answer.status_code == 200:
            with TestClient(APP, base_url="http://127.0.0.1") as client:
                assert client.post(f"/api/deletions/{answer.json()['deletion_id']}/undo").status_code == 200


READ = [
    path
    for path, item in APP.openapi()["paths"].items()
    # Neighbours are asked for by a place, not by an id.
    if "get" in item and path != "/api/neighbours"
]


@pytest.mark.parametrize("path", READ)
def test_contract_every_address_that_reads_finds_what_an_answer_named(path: str) -> None:
    named = {"record_id": path.split("/")[2], **NAMED}
    with TestClient(APP, base_url="http://127.0.0.1") as client:
        filled = re.sub(
            r"{(\w+)}", lambda found: "1" if found[1] == "number" else known(named[found[1]]), path
        )
        assert client.get(filled).status_code == 200
