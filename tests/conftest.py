"""How property tests look for examples, and records that are made once for all tests.

Examples are looked for anew at a desk; where a run decides, they are always the same ones.
"""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from hypothesis import settings

from made_once import made_once

settings.register_profile("ci", derandomize=True, deadline=None, print_blob=True)
settings.register_profile("desk", deadline=None)
settings.load_profile("ci" if os.environ.get("CI") == "true" else "desk")


@pytest.fixture(scope="session")
def demo_files(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the folder that `coldfield demo` writes, to read from."""
    from coldfield.app.demo.demo import write_demo

    return made_once(tmp_path_factory, "demo-files", lambda place: write_demo(place / "files")) / "files"


@pytest.fixture(scope="session")
def demo_records(tmp_path_factory: pytest.TempPathFactory, demo_files: Path) -> Path:
    """Return a folder of records that hold the demo, to copy."""
    from coldfield.app.demo.records import fill_demo
    from coldfield.records.database import open_sqlite
    from coldfield.records.folder import Folder

    def make(place: Path) -> None:
        database = open_sqlite(Folder(place))
        fill_demo(database, demo_files)
        database.close()

    return made_once(tmp_path_factory, "demo-records", make)


@pytest.fixture(scope="session")
def empty_records(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder of records without any, to copy: that is quicker than making the tables anew."""
    from coldfield.records.database import open_sqlite
    from coldfield.records.folder import Folder

    return made_once(tmp_path_factory, "empty-records", lambda place: open_sqlite(Folder(place)).close())


@pytest.fixture(scope="session")
def season_records(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder of the records of many years: 400 people, 3,000 runs; to copy."""
    from coldfield.records.database import open_sqlite
    from coldfield.records.folder import Folder
    from season import write_seasons

    def make(place: Path) -> None:
        database = open_sqlite(Folder(place))
        write_seasons(database)
        database.close()

    return made_once(tmp_path_factory, "season-records", make)
