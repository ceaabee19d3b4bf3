from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from fastapi import FastAPI
from starlette.testclient import TestClient

from coldfield.records.database import Database, open_sqlite
from coldfield.records.folder import Folder


@pytest.fixture
def database(empty_records: Path, tmp_path: Path) -> Iterator[Database]:
    shutil.copytree(empty_records, tmp_path / "data")
    database = open_sqlite(Folder(tmp_path / "data"))
    yield database
    database.close()


@pytest.fixture
def client(database: Database, app_on: Callable[[Database], FastAPI]) -> TestClient:
    app = app_on(database)
    return TestClient(app, base_url="http://127.0.0.1:8457", raise_server_exceptions=False)
