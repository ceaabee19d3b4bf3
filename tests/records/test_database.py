"""Opening the records: new, older, newer, damaged, locked, read-only, full."""

from __future__ import annotations

import os
import shutil
import sqlite3
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import text

from coldfield.errors import Refused, StoreTrouble
from coldfield.records.copying import copy_sqlite
from coldfield.records.database import Database, open_sqlite
from coldfield.records.folder import Folder, Lock
from coldfield.records.migrate import HEAD, configuration
from coldfield.records.schema import metadata
from example_records import a_small_season, put


def test_contract_the_newest_migration_is_the_one_the_program_knows() -> None:
    assert ScriptDirectory.from_config(configuration()).get_current_head() == HEAD


def test_contract_migrations_lead_to_the_schema(database: Database) -> None:
    with database.read() as connection:
        assert compare_metadata(MigrationContext.configure(connection), metadata) == []


def test_contract_records_are_there_after_opening_again(folder: Folder) -> None:
    database = open_sqlite(folder)
    put(database, "people", "ines", name="Ines")
    database.close()
    database = open_sqlite(folder)
    with database.read() as connection:
        assert connection.execute(text("SELECT name FROM person")).scalar_one() == "Ines"
        assert connection.execute(text("PRAGMA journal_mode")).scalar_one() == "wal"
        assert connection.execute(text("PRAGMA foreign_keys")).scalar_one() == 1
        assert connection.execute(text("PRAGMA synchronous")).scalar_one() == 2
    database.close()


@pytest.fixture
def filled(folder: Folder) -> Folder:
    database = open_sqlite(folder)
    a_small_season(database)
    database.close()
    return folder


@pytest.mark.parametrize("whole_bytes", [200_000_000, 0])
def test_contract_a_damaged_page_is_told_with_the_way_back(
    filled: Folder, monkeypatch: pytest.MonkeyPatch, whole_bytes: int
) -> None:
    monkeypatch.setattr("coldfield.records.presence.CHECKED_WHOLE_BYTES", whole_bytes)
    with filled.database.open("r+b") as file:
        file.seek(4096 * 5)
        file.write(b"\xa5" * 4096 * 3)
    before = filled.database.read_bytes()
    with pytest.raises(StoreTrouble, match=r"damaged.*coldfield restore") as caught:
        open_sqlite(filled)
    assert caught.value.kind == "damaged"
    assert filled.database.read_bytes() == before


def test_contract_a_file_that_is_no_database_is_told(folder: Folder) -> None:
    folder.make()
    folder.database.write_bytes(b"not a database, but long enough to be looked at" * 100)
    with pytest.raises(StoreTrouble, match="damaged"):
        open_sqlite(folder)


def test_contract_a_file_cut_short_is_told(filled: Folder) -> None:
    data = filled.database.read_bytes()
    filled.database.write_bytes(data[: len(data) // 2])
    with pytest.raises(StoreTrouble, match="damaged"):
        open_sqlite(filled)


def test_contract_a_file_of_another_program_is_left_alone(folder: Folder) -> None:
    folder.make()
    other = sqlite3.connect(folder.database)
    other.execute("CREATE TABLE songs (name TEXT)")
    other.commit()
    other.close()
    with pytest.raises(StoreTrouble, match="another program") as caught:
        open_sqlite(folder)
    assert caught.value.kind == "foreign"
    left = sqlite3.connect(folder.database)
    assert left.execute("SELECT name FROM sqlite_master").fetchall() == [("songs",)]
    left.close()


def test_contract_a_newer_schema_is_refused_and_left_alone(filled: Folder) -> None:
    newer = sqlite3.connect(filled.database)
    newer.execute("UPDATE alembic_version SET version_num = '9999'")
    newer.commit()
    newer.close()
    with pytest.raises(StoreTrouble, match=r"newer Coldfield \(schema 9999") as caught:
        open_sqlite(filled)
    assert caught.value.kind == "newer"


def test_contract_a_full_disk_keeps_nothing_of_the_write_and_all_before(on_sqlite: Database) -> None:
    # SQLite's own page limit uses the same path as a full disk.
    database = on_sqlite
    a_small_season(database)
    with database.engine.connect() as connection:
        pages = connection.exec_driver_sql("PRAGMA page_count").scalar_one()
        connection.exec_driver_sql(f"PRAGMA max_page_count = {pages}")
    acknowledged = 0
    with pytest.raises(StoreTrouble, match="disk is full") as caught:  # noqa: PT012
        for acknowledged in range(200):
            put(database, "people", f"p{acknowledged}", name="Noor", notes="x" * 5000)
    assert caught.value.kind == "full"
    with database.read() as connection:
        kept = connection.execute(text("SELECT count(*) FROM person")).scalar_one()
        assert connection.exec_driver_sql("PRAGMA integrity_check").scalar_one() == "ok"
    assert kept == acknowledged + 3


def test_contract_a_disk_that_ends_in_the_middle_of_a_write(tmp_path: Path) -> None:
    # A process that cannot create files above 800 kB: the disk fails below SQLite.
    script = f"""
import resource, signal
from pathlib import Path
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
resource.setrlimit(resource.RLIMIT_FSIZE, (800_000, 800_000))
from coldfield.errors import StoreTrouble
from coldfield.records.database import open_sqlite
from coldfield.records.folder import Folder
from example_records import put
database = open_sqlite(Folder(Path({str(tmp_path)!r})))
for i in range(500):
    try:
        put(database, "people", f"p{{i}}", name="Noor", notes="x" * 9000)
    except StoreTrouble as error:
        print(i, error.kind)
        break
"""
    path = os.pathsep.join(p for p in sys.path if p)
    done = subprocess.run(
        [sys.executable, "-c", script],
        capture_output=True,
        text=True,
        timeout=60,
        check=True,
        env={**os.environ, "PYTHONPATH": path},
    )
    acknowledged, kind = done.stdout.split()
    assert kind in ("full", "unreachable")
    database = open_sqlite(Folder(tmp_path))
    with database.read() as connection:
        assert connection.execute(text("SELECT count(*) FROM person")).scalar_one() == int(acknowledged)
    database.close()


def test_contract_a_locked_file_is_told_and_the_write_can_be_repeated(folder: Folder) -> None:
    database = open_sqlite(folder, busy_s=0.05)
    other = sqlite3.connect(folder.database, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    with pytest.raises(StoreTrouble, match="has locked the records file") as caught:
        put(database, "people", "ines", name="Ines")
    assert caught.value.kind == "locked"
    other.execute("ROLLBACK")
    other.close()
    assert put(database, "people", "ines", name="Ines").created
    database.close()


def test_contract_a_file_without_the_right_to_write_is_told() -> None:
    folder = Folder(Path(tempfile.mkdtemp(prefix="coldfield-test-")))
    try:
        open_sqlite(folder).close()
        folder.database.chmod(0o444)
        folder.path.chmod(0o555)
        with as_somebody_without_rights(), pytest.raises(StoreTrouble) as caught:
            open_sqlite(folder)
        assert caught.value.kind in ("read-only", "unreachable")
        assert "--data" in str(caught.value)
    finally:
        folder.path.chmod(0o755)
        shutil.rmtree(folder.path)


class as_somebody_without_rights:  # noqa: N801
    """Root can write everything, so switch briefly to a user without rights."""

    def __enter__(self) -> None:
        self.root = os.geteuid() == 0
        if self.root:
            os.seteuid(65534)

    def __exit__(self, *_: object) -> None:
        if self.root:
            os.seteuid(0)


def test_contract_a_copy_taken_while_writing_is_whole(filled: Folder, tmp_path: Path) -> None:
    database = open_sqlite(filled)
    put(database, "people", "noor", name="Noor")
    copy_sqlite(filled.database, tmp_path / "copy.db")
    database.close()
    copy = sqlite3.connect(tmp_path / "copy.db")
    assert copy.execute("SELECT count(*) FROM person").fetchone() == (4,)
    copy.close()
    assert [p.name for p in tmp_path.iterdir() if p.name.startswith(".")] == []


def test_contract_only_one_process_holds_the_records(folder: Folder) -> None:
    folder.make()
    first = Lock(folder.path / "lock", who="coldfield serve at http://127.0.0.1:8457/")
    with pytest.raises(Refused, match="in use by coldfield serve at http"):
        Lock(folder.path / "lock", who="coldfield restore")
    first.release()
    Lock(folder.path / "lock", who="coldfield restore").release()
