"""After a kill at any system call, the complete old or new records remain, and the next command says which."""

from __future__ import annotations

import json
import logging
import os
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

import cut_off
from amount import places
from coldfield.app.records.data import Data, reading
from coldfield.app.records.keeping import backup, export_records
from coldfield.errors import StoreTrouble
from coldfield.records.database import open_sqlite
from coldfield.records.folder import Folder
from coldfield.records.migrate import migrate
from coldfield.records.schema import APPLICATION_ID
from coldfield.records.underway import NAME, unsettled
from example_records import a_small_season, dump, put

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="forks processes")

SAYS = {
    "restore": ("before anything was changed", "is now complete"),
    "import": ("nothing of it is in the records", "everything in it is in the records"),
    "forget": ("nothing was changed", "the person is no longer in the records"),
    "migration": ("they have the old schema", "they have the new schema"),
}
"""The messages of the next command for old and for new records."""

PART_SAID = "it was never finished"


class Cutter:
    """The process that forks the processes to be killed."""

    def __init__(self, process: subprocess.Popen[str]) -> None:
        self.process = process

    def __call__(
        self, work: str, folder: Folder, layer: str = "python", call: str = "-", number: int = 0
    ) -> tuple[str, dict[str, int]]:
        assert self.process.stdin
        assert self.process.stdout
        self.process.stdin.write(f"{work} {folder.path} {layer} {call} {number}\n")
        self.process.stdin.flush()
        ended, _, made = self.process.stdout.readline().partition(" ")
        return ended, json.loads(made)


@pytest.fixture(scope="module")
def cut() -> Iterator[Cutter]:
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(path for path in sys.path if path)}
    command = [sys.executable, cut_off.__file__]
    with subprocess.Popen(
        command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, env=environment
    ) as process:
        yield Cutter(process)
        assert process.stdin
        process.stdin.close()


@dataclass(frozen=True)
class Case:
    """Records before the work, with writes still in the log, and their content before and after it."""

    work: str
    place: Path
    old: dict[str, list[Any]]
    new: dict[str, list[Any]]

    def copy(self, to: Path) -> Folder:
        if to.exists():
            shutil.rmtree(to)
        shutil.copytree(self.place, to)
        return Folder(to / "data")


@pytest.fixture(scope="module", params=list(cut_off.WORKS))
def case(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory, cut: Cutter) -> Case:
    place = tmp_path_factory.mktemp(f"before-{request.param}")
    older = request.param == "migration"
    _with_a_log(Folder(place / "data"), older=older)
    _given(place)
    ended = tmp_path_factory.mktemp("after") / "whole"
    shutil.copytree(place, ended)
    old = seen(Folder(ended / "data"))[0]
    shutil.rmtree(ended)
    shutil.copytree(place, ended)
    assert cut(request.param, Folder(ended / "data"))[0] == "done"
    new, said = seen(Folder(ended / "data"))
    assert said == []
    assert (new == old) == (request.param in ("backup", "migration"))
    return Case(request.param, place, old, new)


def _with_a_log(folder: Folder, *, older: bool) -> None:
    """Make records whose last writes are only in the log, as after a killed service."""
    living = Folder(folder.path.with_name("living"))
    if older:
        _older(living)
    with_log = sqlite3.connect(living.database) if older else None
    if with_log is not None:
        with_log.execute("PRAGMA journal_mode = WAL")
        for key in ("bram", "ines"):
            with_log.execute(
                "INSERT INTO person (id, version, created_utc, changed_utc, name, contact, notes) VALUES "
                f"('{key}', 1, '2026-02-14T09:30:00.000Z', '2026-02-14T09:30:00.000Z', '{key}', '', '')"
            )
            with_log.commit()
        shutil.copytree(living.path, folder.path)
        with_log.close()
    else:
        open_sqlite(living).close()
        database = open_sqlite(living, now=lambda: cut_off.NOW)
        a_small_season(database)
        shutil.copytree(living.path, folder.path)
        database.close()
    (folder.path / "coldfield.db-shm").unlink()
    assert (folder.path / "coldfield.db-wal").stat().st_size > 0
    shutil.rmtree(living.path)


def _older(folder: Folder) -> None:
    from sqlalchemy import create_engine

    folder.make()
    engine = create_engine(f"sqlite:///{folder.database}")
    with engine.begin() as connection:
        migrate(connection, to="0003")
        connection.exec_driver_sql(f"PRAGMA application_id = {APPLICATION_ID}")
    engine.dispose()


def _given(place: Path) -> None:
    """Make the backup to restore and the archive to import, with different records."""
    other = Folder(place / "other")
    database = open_sqlite(other, now=lambda: cut_off.NOW)
    put(database, "people", "noor", name="Noor")
    put(database, "courses", "spring", name="Spring")
    export_records(database, place / "given.zip")
    database.close()
    backup(Data(other), place / "given.db")
    shutil.rmtree(other.path)


def seen(folder: Folder) -> tuple[dict[str, list[Any]], list[str]]:
    """Open the records like the next command; return their content and its messages."""
    with heard() as said, reading(Data(folder)) as database:
        found = dump(database)
    assert not folder.database.with_name("coldfield.db-wal").exists()
    return found, [line for line in said if "schema 0" not in line]


@contextmanager
def heard() -> Iterator[list[str]]:
    said: list[str] = []
    handler = logging.Handler()
    handler.emit = lambda record: said.append(record.getMessage())
    log = logging.getLogger("coldfield.records")
    log.addHandler(handler)
    try:
        yield said
    finally:
        log.removeHandler(handler)


def check(case: Case, folder: Folder) -> str:
    """Check the state after killed work; return which records remained."""
    noted = (folder.path / NAME).exists()
    parts = [part for part in folder.parts() if part.parent != folder.path and part.suffix == ".part"]
    found, said = seen(folder)
    assert found in (case.old, case.new)
    states = (case.old, case.new)
    may_say = [words for words, state in zip(SAYS.get(case.work, ()), states, strict=False) if state == found]
    if noted:
        assert any(words in line for line in said for words in may_say), said
    assert len([line for line in said if PART_SAID in line]) == len(parts)
    assert not unsettled(folder)
    _copies_are_whole(case, folder)
    again, said = seen(folder)
    assert (again, said) == (found, [])
    return "old" if found == case.old else "new"


def _copies_are_whole(case: Case, folder: Folder) -> None:
    for path in folder.copies():
        with closing(sqlite3.connect(path)) as copy:
            assert copy.execute("PRAGMA integrity_check").fetchone() == ("ok",)
            people = sorted(repr(row[0]) for row in copy.execute("SELECT id FROM person"))
        assert people == sorted(row[0] for row in case.old["person"])


@pytest.mark.desk
def test_contract_killed_at_any_call_the_records_are_the_old_or_the_new_ones(
    case: Case, cut: Cutter, tmp_path: Path
) -> None:
    ended, made = cut(case.work, case.copy(tmp_path / "count"))
    assert ended == "done"
    calls = sum(made.values())
    assert calls > 10
    left = []
    for number in places(range(1, calls + 1), 12):
        folder = case.copy(tmp_path / "cut")
        ended, _ = cut(case.work, folder, number=number)
        assert ended == "killed", number
        left.append(check(case, folder))
    print(
        f"{case.work}: killed at {len(left)} of {calls} calls, {left.count('old')} times old, {left.count('new')} new"
    )


@pytest.mark.desk
@pytest.mark.skipif(
    shutil.which("strace") is None and os.environ.get("CI") != "true", reason="strace is not installed"
)
def test_contract_killed_at_any_system_call_that_strace_sees(case: Case, cut: Cutter, tmp_path: Path) -> None:
    ended, made = cut(case.work, case.copy(tmp_path / "count"), "strace", "all")
    assert ended == "done"
    assert made["fdatasync" if "fdatasync" in made else "fsync"] > 2
    kills = 0
    for call, times in sorted(made.items()):
        for number in places(range(1, times + 1), 3):
            folder = case.copy(tmp_path / "cut")
            ended, _ = cut(case.work, folder, "strace", call, number)
            assert ended == "killed", (call, number)
            check(case, folder)
            kills += 1
    print(f"{case.work}: {kills} kills at {made}")


@pytest.mark.desk
def test_contract_killed_while_it_replaces_damaged_records_a_restore_ends_or_leaves_them(
    cut: Cutter, tmp_path: Path
) -> None:
    place = tmp_path / "before"
    _with_a_log(Folder(place / "data"), older=False)
    _given(place)
    with (place / "data" / "coldfield.db").open("r+b") as file:
        file.write(b"\xa5" * 8192)
    folder = Folder(place / "data")
    as_they_were = _bytes(folder.database)
    # When opened and closed, SQLite moves the log into the file, and nothing is lost.
    shutil.copytree(place, tmp_path / "opened")
    with suppress(StoreTrouble), reading(Data(Folder(tmp_path / "opened" / "data"))):
        pass
    folded = _bytes(tmp_path / "opened" / "data" / "coldfield.db")
    case = Case("restore", place, {}, {})
    ended, made = cut("restore", case.copy(tmp_path / "whole"))
    assert ended == "done"
    new, _ = seen(Folder(tmp_path / "whole" / "data"))
    left = []
    for number in places(range(1, sum(made.values()) + 1), 6):
        folder = case.copy(tmp_path / "cut")
        assert cut("restore", folder, number=number)[0] == "killed"
        try:
            found, _ = seen(folder)
        except StoreTrouble as trouble:
            assert trouble.kind == "damaged"
            left.append("old")
            kept = folder.database
        else:
            assert found == new
            left.append("new")
            (kept,) = folder.kept.glob("*.db")
        assert _bytes(kept) in (as_they_were, folded)
    print(
        f"{len(left)} kills, {left.count('old')} times the damaged ones with their log, {left.count('new')} new"
    )
    assert set(left) == {"old", "new"}


def _bytes(database: Path) -> tuple[bytes, bytes]:
    log = database.with_name(database.name + "-wal")
    return database.read_bytes(), log.read_bytes() if log.exists() else b""
