"""Settings of property tests, the order of files, and records made once for all tests.

Examples are random during development; where a run decides, they are always the same.
"""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from hypothesis import settings

from amount import DESK
from made_once import made_once

if TYPE_CHECKING:
    from fastapi import FastAPI

    from coldfield.records.database import Database

# As in `coldfield` itself, for this process and its children; before anything imports NumPy.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

settings.register_profile("ci", derandomize=True, deadline=None, print_blob=True)
settings.register_profile("desk", deadline=None)
settings.load_profile("ci" if os.environ.get("CI") == "true" and not DESK else "desk")

SECONDS = "coldfield/seconds"
"""The key in pytest's cache for the last time of each file, s."""

took: Counter[str] = Counter()


def file_of(nodeid: str) -> str:
    return nodeid.partition("::")[0]


def unknown_s(file: str) -> float:
    """Return the assumed time of a file that has never run here, s, by its folder."""
    folders = {
        "tests": 60.0,
        "tests/front": 30.0,
        "tests/coaching": 25.0,
        "tests/web": 20.0,
        "tests/paper": 15.0,
        "tests/records": 10.0,
    }
    return folders.get(file.rpartition("/")[0], 1.0)


class OnlyExamples:
    """Skip modules without examples, which every test process would otherwise import."""

    def pytest_ignore_collect(self, collection_path: Path) -> bool | None:
        name = collection_path.name
        if collection_path.suffix != ".py" or name.startswith("test_") or not collection_path.is_file():
            return None
        return None if ">>>" in collection_path.read_text(encoding="utf-8") else True


def pytest_configure(config: pytest.Config) -> None:
    # A hook in this file would not be called for the folder of the program.
    config.pluginmanager.register(OnlyExamples())


@pytest.hookimpl(trylast=True)
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Run the slowest files first, so that no process is left with one at the end."""
    cache = getattr(config, "cache", None)
    last = cache.get(SECONDS, {}) if cache else {}
    longest = {file: last.get(file, unknown_s(file)) for file in {file_of(i.nodeid) for i in items}}
    items.sort(key=lambda item: (-longest[file_of(item.nodeid)], file_of(item.nodeid)))


def pytest_runtest_logreport(report: pytest.TestReport) -> None:
    took[file_of(report.nodeid)] += report.duration


def pytest_sessionfinish(session: pytest.Session) -> None:
    """Store the time of each file; one process stores it for all."""
    cache = getattr(session.config, "cache", None)
    if cache and took and not DESK and not hasattr(session.config, "workerinput"):
        last = cache.get(SECONDS, {})
        cache.set(SECONDS, {**last, **{file: round(took[file], 2) for file in took}})


@pytest.fixture(scope="session")
def demo_files(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the folder that `coldfield demo` writes, for reading only."""
    from coldfield.app.demo.fill import write_demo

    return made_once(tmp_path_factory, "demo-files", lambda place: write_demo(place / "files")) / "files"


@pytest.fixture(scope="session")
def demo_records(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder of records with the demo, for copying."""
    from coldfield.app.demo.fill import fill_demo
    from coldfield.records.database import open_sqlite
    from coldfield.records.folder import Folder

    def make(place: Path) -> None:
        database = open_sqlite(Folder(place))
        fill_demo(database)
        database.close()

    return made_once(tmp_path_factory, "demo-records", make)


@pytest.fixture(scope="session")
def empty_records(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder of empty records, for copying, which is faster than creating the tables."""
    from coldfield.records.database import open_sqlite
    from coldfield.records.folder import Folder

    return made_once(tmp_path_factory, "empty-records", lambda place: open_sqlite(Folder(place)).close())


@pytest.fixture(scope="session")
def season_records(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with the records of many years: 400 people, 3,000 runs; for copying."""
    from coldfield.records.database import open_sqlite
    from coldfield.records.folder import Folder
    from season import write_seasons

    def make(place: Path) -> None:
        database = open_sqlite(Folder(place))
        write_seasons(database)
        database.close()

    return made_once(tmp_path_factory, "season-records", make)


@pytest.fixture(scope="session")
def service(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Database, FastAPI]]:
    """Build the app once; its records are replaced for each test."""
    from coldfield.records.database import open_sqlite
    from coldfield.records.folder import Folder
    from coldfield.web.app import create_app, make_jobs

    shell = open_sqlite(Folder(tmp_path_factory.mktemp("service")))
    jobs = make_jobs(shell)
    yield shell, create_app(shell, jobs=jobs)
    jobs.close()
    shell.close()


@pytest.fixture(scope="session")
def app_on(service: tuple[Database, FastAPI]) -> Callable[[Database], FastAPI]:
    """Return a function that gives the app on the named records."""
    from example_records import exchange

    shell, app = service

    def on(database: Database) -> FastAPI:
        exchange(shell, database)
        return app

    return on
