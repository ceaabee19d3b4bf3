from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from coldfield.records.database import Database, open_sqlite
from coldfield.records.folder import Folder


class Clock:
    """Moves on by a second each time somebody looks."""

    def __init__(self) -> None:
        self.moment = datetime(2026, 2, 14, 9, 0, tzinfo=UTC)

    def __call__(self) -> datetime:
        self.moment += timedelta(seconds=1)
        return self.moment


@pytest.fixture
def folder(tmp_path: Path) -> Folder:
    return Folder(tmp_path / "data")


@pytest.fixture(params=["sqlite"])
def database(request: pytest.FixtureRequest, folder: Folder) -> Iterator[Database]:
    database = open_sqlite(folder, now=Clock())
    yield database
    database.close()


@pytest.fixture
def empty(tmp_path: Path) -> Iterator[Database]:
    database = open_sqlite(Folder(tmp_path / "empty"), now=Clock())
    yield database
    database.close()
