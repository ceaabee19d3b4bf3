"""A browser, and Coldfield served on this machine for it."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Playwright, sync_playwright

from visiting import CHROMIUM, FLAGS, HEADLESS, Visit, Visiting, served, served_here


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    here = Path(__file__).parent
    for item in items:
        if here in item.path.parents:
            item.add_marker(pytest.mark.browser)
            if not CHROMIUM.exists() and os.environ.get("CI") != "true":
                item.add_marker(pytest.mark.skip(reason="Chromium is not installed"))


@pytest.fixture(scope="session")
def playwright() -> Iterator[Playwright]:
    """Drive browsers; a process can have only one driver."""
    with sync_playwright() as driver:
        yield driver


@pytest.fixture(scope="session")
def browser(playwright: Playwright) -> Iterator[Browser]:
    program = HEADLESS if HEADLESS.exists() else CHROMIUM
    chromium = playwright.chromium.launch(executable_path=program, args=FLAGS)
    yield chromium
    chromium.close()


@pytest.fixture(scope="session")
def site(demo_records: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Serve a copy of the demo's records for all tests of a process.

    A test that changes something creates its own drill, person or run, or restores the old state.
    """
    place = tmp_path_factory.mktemp("site")
    shutil.copytree(demo_records, place / "records")
    with served(place / "records", place / "log") as address:
        yield address


@pytest.fixture
def fresh_site(demo_records: Path, tmp_path: Path) -> Iterator[str]:
    """Serve fresh demo records for one test that counts them.

    A test requests it before `visit`, so that the browser's windows are closed before the service stops.
    """
    with served_here(shutil.copytree(demo_records, tmp_path / "records")) as address:
        yield address


@pytest.fixture
def empty_site(empty_records: Path, tmp_path: Path) -> Iterator[str]:
    """Serve empty records for one test."""
    with served_here(shutil.copytree(empty_records, tmp_path / "records")) as address:
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
