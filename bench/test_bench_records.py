"""Speed of the records on seasons of realistic size, and how it grows with them.

Times of one run, with the ratio between records of which one is four times as large.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import text

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

from coldfield.app.records.keeping import export_records
from coldfield.records.copying import copy_sqlite
from coldfield.records.database import Database, open_server, open_sqlite
from coldfield.records.folder import Folder
from coldfield.records.history import person_history
from coldfield.records.kinds import KINDS
from coldfield.records.store import Store
from goal import against_goal
from postgresql_server import a_database, available, server
from season import looks, searches, write_seasons


@pytest.fixture(scope="module", params=[1.0, 4.0], ids=["seasons", "four times as large"])
def seasons(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Database]:
    database = open_sqlite(Folder(tmp_path_factory.mktemp("seasons")))
    write_seasons(database, request.param)
    yield database
    database.close()


@pytest.mark.parametrize("kind", ["people", "runs", "tracks", "splits"])
def test_list(benchmark: Any, seasons: Database, kind: str) -> None:
    def look() -> None:
        with seasons.read() as connection:
            Store(connection, "").page(kind, limit=100)

    benchmark(look)


def test_history_of_a_person(benchmark: Any, seasons: Database) -> None:
    def look() -> None:
        with seasons.read() as connection:
            person_history(connection, "person-00007")

    benchmark(look)


def test_one_acknowledged_write(benchmark: Any, seasons: Database) -> None:
    numbers = iter(range(10**9))

    def write() -> None:
        fields = KINDS["people"].form(name="Noor").fields()
        with seasons.write() as connection:
            Store(connection, seasons.stamp()).put("people", f"new-{next(numbers)}", fields, based_on=None)

    benchmark(write)


def test_backup(benchmark: Any, seasons: Database, tmp_path: Path) -> None:
    numbers = iter(range(10**9))
    benchmark.pedantic(
        lambda: copy_sqlite(Path(seasons.place), tmp_path / f"{next(numbers)}.db"), rounds=2, iterations=1
    )


def test_export(benchmark: Any, seasons: Database, tmp_path: Path) -> None:
    numbers = iter(range(10**9))
    benchmark.pedantic(
        lambda: export_records(seasons, tmp_path / f"{next(numbers)}.zip"), rounds=1, iterations=1
    )


def test_opening_with_its_check(benchmark: Any, seasons: Database) -> None:
    folder = Folder(Path(seasons.place).parent)
    benchmark.pedantic(lambda: open_sqlite(folder).close(), rounds=3, iterations=1)


LOOK_GOAL_S, SEARCH_GOAL_S = 0.050, 0.150
"""The goals for a list or a history on such records, and for a search through all runs, s. Settings."""

GOALS = {
    **{what: (look, LOOK_GOAL_S) for what, look in looks().items()},
    **{what: (look, SEARCH_GOAL_S) for what, look in searches().items()},
}


def quickest_s(database: Database, what: str, times: int = 5) -> float:
    taken = []
    with database.read() as connection:
        for _ in range(times):
            began = time.perf_counter()
            GOALS[what][0](connection)
            taken.append(time.perf_counter() - began)
    return min(taken)


@pytest.mark.parametrize("what", GOALS)
def test_what_a_page_asks_for(benchmark: Any, seasons: Database, what: str) -> None:
    benchmark.pedantic(lambda: quickest_s(seasons, what, 1), rounds=1)
    against_goal(what, quickest_s(seasons, what), GOALS[what][1])


@pytest.mark.skipif(not available(), reason="no PostgreSQL on this machine")
def test_what_pages_ask_of_a_server(benchmark: Any) -> None:
    with server() as place, a_database(place) as address:
        database = open_server(address)
        write_seasons(database, 0.25)
        with database.engine.connect().execution_options(isolation_level="AUTOCOMMIT") as link:
            link.execute(text("ANALYZE"))
        for what, (_, goal_s) in GOALS.items():
            against_goal(f"{what}, on a server", quickest_s(database, what), goal_s)
        benchmark.pedantic(lambda: quickest_s(database, "list runs", 1), rounds=1)
        database.close()
