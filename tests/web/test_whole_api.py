"""Requests made up from the API's own description: nothing breaks, and every answer is as described."""

from __future__ import annotations

import atexit
import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import schemathesis
from fastapi import FastAPI
from hypothesis import HealthCheck, Phase, settings
from schemathesis.specs.openapi.checks import positive_data_acceptance

from coldfield.app.jobs import Jobs
from coldfield.records.database import open_sqlite
from coldfield.records.folder import Folder
from coldfield.web.app import create_app
from example_records import DRILL, a_small_season

PLACE = Path(tempfile.mkdtemp(prefix="coldfield-test-"))
DATABASE = open_sqlite(Folder(PLACE))
# What workers do is tested elsewhere; here they end at once.
JOBS = Jobs(dict.fromkeys(("rehearse", "debrief", "demo"), "slow_work:nothing"), workers=1)
atexit.register(shutil.rmtree, PLACE, ignore_errors=True)
HOST = {"host": "127.0.0.1"}


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


a_small_season(DATABASE)
schema = schemathesis.openapi.from_asgi("/api/openapi.json", described(), headers=HOST)


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
    case.call_and_validate(headers=HOST, excluded_checks=unsaid)
