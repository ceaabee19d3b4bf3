"""A browser, and Coldfield served on this machine for it."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, sync_playwright

from coldfield.app.demo import write_demo
from coldfield.app.demo_records import fill_demo
from coldfield.records.database import open_sqlite
from coldfield.records.folder import Folder
from visiting import CHROMIUM, FLAGS, Visit, Visiting, served


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    here = Path(__file__).parent
    for item in items:
        if here in item.path.parents:
            item.add_marker(pytest.mark.browser)
            if not CHROMIUM.exists() and os.environ.get("CI") != "true":
                item.add_marker(pytest.mark.skip(reason="Chromium is not installed"))


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        yield chromium
        chromium.close()


@pytest.fixture(scope="session")
def demo_records(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder of records that hold the demo; copy it before writing."""
    place = tmp_path_factory.mktemp("demo")
    files = write_demo(place / "files")
    database = open_sqlite(Folder(place / "records"))
    fill_demo(database, files)
    database.close()
    return place / "records"


@pytest.fixture(scope="module")
def site(demo_records: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Serve a copy of the demo's records for the tests of one file."""
    place = tmp_path_factory.mktemp("site")
    shutil.copytree(demo_records, place / "records")
    with served(place / "records", place / "log") as address:
        yield address


@pytest.fixture(scope="module")
def empty_site(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Serve empty records for the tests of one file."""
    place = tmp_path_factory.mktemp("empty")
    with served(place / "records", place / "log") as address:
        yield address


@pytest.fixture
def visit(browser: Browser, site: str) -> Iterator[Visiting]:
    """Visit the served demo: `visit().open('/drills')`; options are those of a browser context."""
    visits: list[Visit] = []

    def begin(at: str | None = None, **options: Any) -> Visit:
        visits.append(Visit(browser, at or site, **options))
        return visits[-1]

    yield begin
    for one in visits:
        one.context.close()
    assert [line for one in visits if not one.troubled for line in one.trouble] == []
