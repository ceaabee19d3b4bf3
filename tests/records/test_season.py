"""Seasons of realistic size: lists and a person's history stay quick, and stay so as the records grow."""

from __future__ import annotations

import shutil
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import Connection, event, text

from coldfield.records.database import Database, open_sqlite
from coldfield.records.folder import Folder
from coldfield.records.history import person_history
from coldfield.records.kinds import KINDS
from coldfield.records.overview import course_overview, first_look, person_overview
from coldfield.records.store import Store
from season import COURSES, PEOPLE, RUNS, TRACKS, write_seasons

MOST_SECONDS = 0.050
"""What a list or a history may take on records of this size. Setting."""

MOST_SEARCH_SECONDS = 0.150
"""What a search through all runs may take; about 20 ms on a machine with other work. Setting."""

Look = Callable[[Connection], Any]


def looks() -> dict[str, Look]:
    """Return everything a page asks for when it opens: each list, its later pages, its narrowings, histories."""

    def listed(kind: str, **how: Any) -> Look:
        return lambda connection: Store(connection, "").page(kind, **{"limit": 100, **how})

    found = {f"list {kind}": listed(kind) for kind in KINDS}
    found |= {
        "runs, a later page": listed("runs", after="run-00100"),
        "people, a later page": listed("people", after="person-00050"),
        "runs of a day": listed("runs", where={"day_id": "day-00007"}),
        "runs of a drill": listed("runs", where={"drill_id": "drill-007"}, limit=15),
        "splits of a run": listed("splits", where={"run_id": "run-00007"}),
        "tracks of a run": listed("tracks", where={"run_id": "run-00007"}),
        "tracks of a person": listed("tracks", where={"person_id": "person-00007"}),
        "kit of a person": listed("kit", where={"owner_id": "person-00007"}),
        "days of a course": listed("days", where={"course_id": "course-0007"}),
        "participants of a course": listed("participants", where={"course_id": "course-0007"}),
        "courses of a person": listed("participants", where={"person_id": "person-00007"}),
        "history of a person": lambda connection: person_history(connection, "person-00007"),
        "history, a later page": lambda c: person_history(c, "person-00007", before="run-00100", limit=10),
        "a person at a glance": lambda connection: person_overview(connection, "person-00007"),
    }
    return found


def searches() -> dict[str, Look]:
    """Return looks that go through the records until a page is full: words common, rare and in none."""

    def found(kind: str, **how: Any) -> Look:
        return lambda connection: Store(connection, "").page(kind, **{"limit": 100, **how})

    return {
        "people called Ines": found("people", find="ines"),
        "people, in none": found("people", find="nobody at all"),
        "kit, by its label": found("kit", find="hl-00399"),
        "kit, by its owner": found("kit", find="PIA"),
        "kit to check": found("kit", where={"state": "to check"}),
        "courses": found("courses", find="course 0049"),
        "drills": found("drills", find="drill 039"),
        "runs, rare": found("runs", find="run 2999"),
        "runs, by drill": found("runs", find="drill 007"),
        "runs, in none": found("runs", find="nobody at all"),
        "the first page": lambda connection: first_look(connection, today="2020-01-01"),
        "a course at a glance": lambda connection: course_overview(connection, "course-0007"),
    }


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


def quickest_s(database: Database, look: Look, times: int = 5) -> float:
    taken = []
    with database.read() as connection:
        for _ in range(times):
            began = time.perf_counter()
            look(connection)
            taken.append(time.perf_counter() - began)
    return min(taken)


def test_contract_the_seasons_have_the_size_they_claim(seasons: Database) -> None:
    with seasons.read() as connection:
        counts = [
            connection.execute(text(f"SELECT count(*) FROM {table}")).scalar_one()
            for table in ("course", "person", "run", "track", "original")
        ]
    assert counts == [COURSES, PEOPLE, RUNS, TRACKS, TRACKS]


@pytest.mark.parametrize("what", LOOKS)
def test_contract_lists_and_histories_take_50_ms_at_most(seasons: Database, what: str) -> None:
    assert quickest_s(seasons, LOOKS[what]) < MOST_SECONDS


@pytest.mark.parametrize("what", SEARCHES)
def test_contract_searches_take_150_ms_at_most(seasons: Database, what: str) -> None:
    assert quickest_s(seasons, SEARCHES[what]) < MOST_SEARCH_SECONDS


@pytest.mark.parametrize("what", SEARCHES)
def test_property_work_of_a_search_grows_no_faster_than_the_records(
    seasons: Database, small: Database, what: str
) -> None:
    before, after = work(small, SEARCHES[what]), work(seasons, SEARCHES[what])
    assert after <= 4.5 * before + 250


@pytest.mark.postgresql
def test_contract_lists_and_histories_take_50_ms_at_most_on_a_server(database_on_server: Database) -> None:
    write_seasons(database_on_server, 0.25)
    with database_on_server.engine.connect().execution_options(isolation_level="AUTOCOMMIT") as link:
        link.execute(text("ANALYZE"))
    slow = {
        what
        for what, look in (LOOKS | SEARCHES).items()
        if quickest_s(database_on_server, look) >= MOST_SECONDS
    }
    assert slow == set()


@contextmanager
def counted(connection: Connection) -> Iterator[list[int]]:
    """Count the steps of SQLite's virtual machine: work done, whatever else the machine is doing."""
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
    # Four times the records; a page and a person's history hold as much as before. Allowed: half as
    # much again, for lists that were shorter than a page and for the scatter of runs per person.
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
                # What belongs to one person or course is little and may be sorted; whole tables may not.
                narrowed = any("_id=?" in w and "deletion_id=?" not in w for w in words)
                assert narrowed or not any("TEMP B-TREE" in w for w in words), (statement, words)
