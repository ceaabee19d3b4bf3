from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from fastapi import FastAPI
from starlette.testclient import TestClient

from coldfield.records.database import Database, open_sqlite
from coldfield.records.folder import Folder
from coldfield.web.app import create_app, make_jobs


@pytest.fixture
def database(empty_records: Path, tmp_path: Path) -> Iterator[Database]:
    shutil.copytree(empty_records, tmp_path / "data")
    database = open_sqlite(Folder(tmp_path / "data"))
    yield database
    database.close()


@pytest.fixture(scope="session")
def service(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Database, FastAPI]]:
    """Build the app once; its records are exchanged for each test."""
    database = open_sqlite(Folder(tmp_path_factory.mktemp("service")))
    jobs = make_jobs(database)
    yield database, create_app(database, jobs=jobs)
    jobs.close()
    database.close()


@pytest.fixture
def client(database: Database, service: tuple[Database, FastAPI]) -> TestClient:
    shell, app = service
    shell.engine, shell.place, shell.now = database.engine, database.place, database.now
    return TestClient(app, base_url="http://127.0.0.1:8457", raise_server_exceptions=False)
