"""Seasons of realistic size: a list or a person's history takes no more work as the records grow."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import Connection, event, text

from coldfield.records.database import Database, open_sqlite
from coldfield.records.folder import Folder
from season import COURSES, PEOPLE, RUNS, TRACKS, Look, looks, searches, write_seasons

LOOKS = looks()
SEARCHES = searches()


@pytest.fixture(scope="module")
def seasons(season_records: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Database]:
    place = shutil.copytree(season_records, tmp_path_factory.mktemp("seasons") / "data")
    database = open_sqlite(Folder(place))
    yield database
    database.close()


@pytest.fixture(scope="module")
def small(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Database]:
    database = open_sqlite(Folder(tmp_path_factory.mktemp("small")))
    write_seasons(database, 0.25)
    yield database
    database.close()


def test_contract_the_seasons_have_the_size_they_claim(seasons: Database) -> None:
    with seasons.read() as connection:
        counts = [
            connection.execute(text(f"SELECT count(*) FROM {table}")).scalar_one()
            for table in ("course", "person", "run", "track", "original")
        ]
    assert counts == [COURSES, PEOPLE, RUNS, TRACKS, TRACKS]


@pytest.mark.parametrize("what", SEARCHES)
def test_property_work_of_a_search_grows_no_faster_than_the_records(
    seasons: Database, small: Database, what: str
) -> None:
    before, after = work(small, SEARCHES[what]), work(seasons, SEARCHES[what])
    assert after <= 4.5 * before + 250


@contextmanager
def counted(connection: Connection) -> Iterator[list[int]]:
    """Count the steps of SQLite's virtual machine, a measure of work independent of the machine's load."""
    raw: Any = connection.connection.dbapi_connection
    steps = [0]

    def step() -> int:
        steps[0] += 1
        return 0

    raw.set_progress_handler(step, 10)
    try:
        yield steps
    finally:
        raw.set_progress_handler(None, 0)


def work(database: Database, look: Look) -> int:
    with database.read() as connection, counted(connection) as steps:
        look(connection)
    return steps[0]


@pytest.mark.parametrize("what", LOOKS)
def test_property_work_does_not_grow_with_the_records(seasons: Database, small: Database, what: str) -> None:
    # Four times the records; a page and a person's history have the same size. Half as much again is allowed,
    # for lists that were shorter than a page and for the scatter of runs per person.
    before, after = work(small, LOOKS[what]), work(seasons, LOOKS[what])
    assert after <= 1.5 * before + 250


def test_contract_no_look_reads_a_whole_table(seasons: Database) -> None:
    statements: list[tuple[str, Any]] = []

    def note(_c: Any, _cursor: Any, statement: str, parameters: Any, *_: Any) -> None:
        statements.append((statement, parameters))

    event.listen(seasons.engine, "before_cursor_execute", note)
    try:
        with seasons.read() as connection:
            for look in LOOKS.values():
                look(connection)
    finally:
        event.remove(seasons.engine, "before_cursor_execute", note)
    with seasons.read() as connection:
        for statement, parameters in statements:
            if statement.startswith("SELECT"):
                plan = connection.exec_driver_sql(f"EXPLAIN QUERY PLAN {statement}", parameters).all()
                words = [row[-1] for row in plan]
                assert not any(w.startswith("SCAN") and "USING" not in w for w in words), (statement, words)
                # Rows of one person or course are few and may be sorted; whole tables may not.
                narrowed = any("_id=?" in w and "deletion_id=?" not in w for w in words)
                assert narrowed or not any("TEMP B-TREE" in w for w in words), (statement, words)
