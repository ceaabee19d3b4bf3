"""Requests generated from the API's own description: nothing fails, and every answer is as described."""

from __future__ import annotations

import re
import shutil
import time
from collections.abc import Callable, Iterator
from itertools import count
from pathlib import Path
from typing import Any

import pytest
import schemathesis
from fastapi import FastAPI
from hypothesis import HealthCheck, Phase, settings
from schemathesis.generation.meta import TestPhase
from schemathesis.pytest.lazy import get_all_tests
from schemathesis.specs.openapi.checks import negative_data_rejection, positive_data_acceptance
from starlette.testclient import TestClient

from amount import amount
from coldfield.app.jobs.job import WORK
from coldfield.app.jobs.jobs import Jobs
from coldfield.records.database import Database, open_sqlite
from coldfield.records.folder import Folder
from coldfield.web.app import create_app
from example_records import DRILL, GRID, a_small_season, exchange, keep_grid, keep_picture, put

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
    "picture_id": "pictures",
    "deletion_id": "deletions",
    "job_id": "jobs",
    "debrief_id": "debriefs",
    "code_id": "codes",
    "phone_id": "phones",
}
"""The kind of record that an id in an address or a body refers to."""

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
    "standards": {"name": "One set in four minutes", "what": "strike", "most_s": 240},
    "range_tests": {"kit_id": "hl-01", "held": "2026-02-14", "coaxial_m": [45.0]},
    "debriefs": {"run_id": "run-1", "made_by": {"by": "hand"}, "document": {"said": [{"text": "late"}]}},
}
"""One record of each kind that the example season does not have."""


class Whole:
    """The service with a record of each kind."""

    def __init__(self, database: Database, app: FastAPI) -> None:
        self.database = database
        self.app = app
        self.client = TestClient(self.app, base_url="http://127.0.0.1")
        self._keep_one_of_each()

    @property
    def paths(self) -> dict[str, Any]:
        """The paths in the service's description."""
        found: dict[str, Any] = self.app.openapi()["paths"]
        return found

    def _keep_one_of_each(self) -> None:
        """Keep a record of each kind and a deletion, so that every operation finds one."""
        a_small_season(self.database)
        keep_grid(self.database, "grid-1", GRID, drill_id="fan", file_name="bowl.asc", crs="site")
        keep_picture(self.database, "picture-1", drill_id="fan", file_name="bowl.png")
        for kind, fields in MORE.items():
            put(self.database, kind, f"{kind}-1", **fields)
        assert self.client.put("/api/people/left", json={"name": "Leif"}).status_code == 201
        assert self.client.delete("/api/people/left").status_code == 200

    def known(self, name: str) -> str:
        """Return the id of a current record, deletion or job; a new person for each call."""
        if name == "people":
            key = f"person-{next(NUMBERS)}"
            assert self.client.put(f"/api/people/{key}", json={"name": f"Noor {key}"}).status_code == 201
            return key
        if name == "jobs":
            # Finished jobs are not kept for long.
            key = f"job-{next(NUMBERS)}"
            order = {"work": "rehearse", "drill": DRILL, "runs": 10}
            assert self.client.put(f"/api/jobs/{key}", json=order).status_code == 202
            return key
        if name == "coach":
            order = {"work": "coach"}
            assert self.client.put("/api/jobs/coach-1", json=order).status_code == 202
            while (state := self.client.get("/api/jobs/coach-1").json()["state"]) in ("waiting", "running"):
                time.sleep(0.1)
            assert state == "done"
            return "coach-1"
        if name == "codes":
            made = self.client.post(f"/api/runs/{self.known('runs')}/phone-codes", json={"may": "keeper"})
            return str(made.json()["id"])
        if name == "deletions":
            return str(self.client.delete(f"/api/people/{self.known('people')}").json()["deletion_id"])
        told = self.client.get(f"/api/{name}").json()
        listed = told if isinstance(told, list) else told["items"]
        return str(listed[0]["id"])


@pytest.fixture(scope="module")
def described(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Database, FastAPI]]:
    """Build the app once, with a description for these tests; its records are replaced for each test."""
    shell = open_sqlite(Folder(tmp_path_factory.mktemp("described")))
    # The work itself is tested elsewhere; here jobs end at once, except those that a route reads.
    work = dict.fromkeys(("rehearse", "debrief", "demo"), "slow_work:nothing")
    jobs = Jobs({**work, "coach": WORK["coach"]}, workers=1)
    app = create_app(shell, jobs=jobs)
    told = app.openapi()
    parts = told["components"]["schemas"]
    # Only one drill, because drill files have separate tests.
    parts["DrillPart"] = {"enum": [DRILL]}
    parts["SitePart"] = {"enum": [DRILL["site"]]}
    parts["BurialPart"] = {"enum": DRILL["burials"]}
    for address, method in (("/api/new-drill", "post"), ("/api/demo-drill", "get")):
        begun = told["paths"][address][method]["responses"]["200"]
        begun["content"]["application/json"]["schema"] = {"type": "object"}
    yield shell, app
    jobs.close()
    shell.close()


@pytest.fixture
def whole(described: tuple[Database, FastAPI], empty_records: Path, tmp_path: Path) -> Iterator[Whole]:
    shell, app = described
    database = open_sqlite(Folder(shutil.copytree(empty_records, tmp_path / "data")))
    exchange(shell, database)
    yield Whole(database, app)
    database.close()


def named_in(path: str) -> dict[str, str]:
    """Return the kind of record for each id in an address."""
    kind = path.split("/")[2]
    return {"record_id": kind, **NAMED, **({"job_id": kind} if kind == "coach" else {})}


def with_real_ids(whole: Whole, case: schemathesis.Case) -> bool:
    """Replace generated ids with ids from answers of the service; return whether there were any."""
    named = named_in(case.operation.path)
    for key in set(case.path_parameters) & set(named):
        case.path_parameters[key] = whole.known(named[key])
    if "number" in case.path_parameters:
        case.path_parameters["number"] = 1
    if "phone_id" in case.path_parameters:  # a phone is known through a run that it sent something to
        brought = MORE["day_items"]
        case.path_parameters |= {"run_id": brought["run_id"], "phone_id": brought["phone"]}
    # A list continues only after one of its own entries, and `like` needs another picture of the same drill.
    case.query = {key: value for key, value in case.query.items() if key not in ("after", "before", "like")}
    if isinstance(case.body, dict):
        for key in set(case.body) & set(NAMED):
            case.body[key] = whole.known(NAMED[key])
    return bool(set(case.path_parameters) & set(named))


SETTINGS = settings(
    max_examples=amount(1, desk=30),
    deadline=None,
    derandomize=True,
    database=None,
    phases=[Phase.explicit, Phase.generate],
    suppress_health_check=list(HealthCheck),
)


def one_in(several: int) -> Callable[..., bool]:
    """Use only every n-th of the requests generated for the limits of a form."""
    numbers = count()

    def filter_case(context: Any, case: schemathesis.Case) -> bool:
        told = case.meta
        at_a_limit = told is not None and told.phase.name is TestPhase.COVERAGE
        return not at_a_limit or next(numbers) % several == 0

    return filter_case


METHODS = {"GET": "GET", "PUT": "PUT", "POST": "POST", "others": "DELETE|PATCH|HEAD|OPTIONS"}


@pytest.mark.desk
@pytest.mark.parametrize("methods", METHODS)
def test_property_every_answer_is_as_described(whole: Whole, subtests: pytest.Subtests, methods: str) -> None:
    schema = schemathesis.openapi.from_asgi("/api/openapi.json", whole.app, headers=HOST)
    asked = schema.include(method_regex=METHODS[methods])
    asked.hook(one_in(amount(9, desk=1)))
    # Made here and not during collection, which would take seconds in each process.
    made = get_all_tests(schema=asked, test_func=answers_as_described, settings=SETTINGS, given_kwargs=None)
    for found in made:
        operation, holds = found.ok()
        with subtests.test(operation.label):
            holds(whole=whole)


def answers_as_described(case: schemathesis.Case, whole: Whole) -> None:
    # A JSON Schema cannot say that a reference must exist, or that a searcher must belong to a drill.
    unsaid: list[Any] = [] if case.method == "GET" else [positive_data_acceptance]
    described_here = case.method.lower() in whole.paths.get(case.operation.path, {})
    case.call_and_validate(headers=HOST, excluded_checks=unsaid)
    if described_here and with_real_ids(whole, case):
        answer = case.call_and_validate(
            headers=HOST, excluded_checks=[positive_data_acceptance, negative_data_rejection]
        )
        assert answer.status_code != 404, "an id from an answer is found"
        if case.method == "DELETE" and answer.status_code == 200 and (told := answer.json()) is not None:
            undo = f"/api/deletions/{told['deletion_id']}/undo"
            assert whole.client.post(undo).status_code == 200


def test_contract_every_address_that_reads_finds_what_an_answer_named(
    whole: Whole, subtests: pytest.Subtests
) -> None:
    # Neighbours are requested by a place, not by an id.
    read = [path for path, item in whole.paths.items() if "get" in item and path != "/api/neighbours"]
    assert len(read) > 20
    for path in read:
        named = named_in(path)

        def meant(found: re.Match[str], named: dict[str, str] = named) -> str:
            return "1" if found[1] == "number" else whole.known(named[found[1]])

        with subtests.test(path):
            assert whole.client.get(re.sub(r"{(\w+)}", meant, path)).status_code == 200
