from __future__ import annotations

import os
import shutil
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

import postgresql_server
from coldfield.records.database import Database, open_server, open_sqlite
from coldfield.records.folder import Folder
from postgresql_server import a_database

OnServer = Callable[[], str]


class Clock:
    """A clock that advances by a second at each reading."""

    def __init__(self) -> None:
        self.moment = datetime(2026, 2, 14, 9, 0, tzinfo=UTC)

    def __call__(self) -> datetime:
        self.moment += timedelta(seconds=1)
        return self.moment


@pytest.fixture
def folder(tmp_path: Path) -> Folder:
    return Folder(tmp_path / "data")


@pytest.fixture(scope="session")
def postgresql() -> Iterator[str]:
    """Yield the address of a server's own database; never skipped if CI=true."""
    if not postgresql_server.available() and os.environ.get("CI") != "true":
        pytest.skip("no PostgreSQL on this machine")
    with postgresql_server.server() as address:
        yield address


@pytest.fixture(scope="session")
def template(postgresql: str) -> Iterator[str]:
    """Yield the name of a database with all tables, because copying it is faster than creating them."""
    with a_database(postgresql) as address:
        open_server(address).close()
        yield address.rpartition("/")[2]


@pytest.fixture(params=["sqlite", pytest.param("postgresql", marks=pytest.mark.postgresql)])
def backend(request: pytest.FixtureRequest) -> str:
    return str(request.param)


@contextmanager
def opened(backend: str, folder: Folder, request: pytest.FixtureRequest) -> Iterator[Database]:
    with ExitStack() as stack:
        if backend == "sqlite":
            shutil.copytree(request.getfixturevalue("empty_records"), folder.path)
            database = open_sqlite(folder, now=Clock())
        else:
            server, template = request.getfixturevalue("postgresql"), request.getfixturevalue("template")
            database = open_server(stack.enter_context(a_database(server, template)), now=Clock())
        stack.callback(database.close)
        yield database


@pytest.fixture
def database(backend: str, folder: Folder, request: pytest.FixtureRequest) -> Iterator[Database]:
    with opened(backend, folder, request) as database:
        yield database


@pytest.fixture
def empty(backend: str, tmp_path: Path, request: pytest.FixtureRequest) -> Iterator[Database]:
    with opened(backend, Folder(tmp_path / "empty"), request) as database:
        yield database


@pytest.fixture
def on_sqlite(folder: Folder, empty_records: Path) -> Iterator[Database]:
    shutil.copytree(empty_records, folder.path)
    database = open_sqlite(folder, now=Clock())
    yield database
    database.close()


@pytest.fixture
def database_on_server(postgresql: str, template: str) -> Iterator[Database]:
    with a_database(postgresql, template) as address:
        database = open_server(address)
        yield database
        database.close()
