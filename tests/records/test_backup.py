"""Backup while running, restore, migration: the old file is always kept."""

from __future__ import annotations

import sqlite3
import threading
from pathlib import Path

import pytest
from sqlalchemy import Connection, create_engine

from coldfield.app.records.data import Data, locked, writing
from coldfield.app.records.keeping import backup, restore
from coldfield.app.records.reading import page
from coldfield.errors import BadInput, Refused, StoreTrouble, UnknownRecord
from coldfield.records.database import open_sqlite
from coldfield.records.folder import Folder
from coldfield.records.migrate import migrate
from coldfield.records.schema import APPLICATION_ID
from example_records import a_small_season, put


@pytest.fixture
def data(folder: Folder) -> Data:
    with writing(Data(folder), who="a test") as database:
        a_small_season(database)
    return Data(folder)


def names(data: Data) -> list[str]:
    database = open_sqlite(data.folder)
    found = [person["name"] for person in page(database, "people")]
    database.close()
    return found


def test_contract_a_backup_taken_while_others_write_is_one_moment(data: Data, tmp_path: Path) -> None:
    with writing(data, who="a test") as database:
        stop = threading.Event()

        def write() -> None:
            number = 0
            while not stop.is_set():
                number += 1
                put(database, "people", f"a{number}", name=f"A{number}")
                put(database, "people", f"b{number}", name=f"B{number}")

        thread = threading.Thread(target=write)
        thread.start()
        copies = [backup(data, tmp_path / f"copy-{i}.db") for i in range(4)]
        stop.set()
        thread.join()
    for path in copies:
        copy = sqlite3.connect(path)
        assert copy.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        found = {row[0] for row in copy.execute("SELECT id FROM person")}
        copy.close()
        a, b = (len([one for one in found if one[0] == letter and one[1:].isdigit()]) for letter in "ab")
        assert a - b in (0, 1)


def test_contract_restore_brings_the_backup_and_keeps_what_was_there(data: Data) -> None:
    path = backup(data)
    with writing(data, who="a test") as database:
        put(database, "people", "noor", name="Noor")
    kept = restore(data, path)
    assert names(data) == ["Bram", "Ines", "Yuki"]
    assert kept is not None
    restore(data, kept)
    assert names(data) == ["Bram", "Ines", "Noor", "Yuki"]
    assert len(data.folder.copies()) == 3


def test_contract_restore_is_the_way_back_from_a_damaged_file(data: Data) -> None:
    path = backup(data)
    whole = data.folder.database.stat().st_size
    with data.folder.database.open("r+b") as file:
        file.seek(4096)
        file.write(b"\x00" * (whole - 4096))
    with pytest.raises(StoreTrouble, match="damaged"):
        open_sqlite(data.folder)
    kept = restore(data, path)
    assert names(data) == ["Bram", "Ines", "Yuki"]
    assert kept is not None
    assert kept.stat().st_size == whole


def test_contract_a_log_left_by_a_crash_does_not_reach_the_restored_file(data: Data) -> None:
    path = backup(data)
    database = open_sqlite(data.folder)
    put(database, "people", "noor", name="Noor")
    log = data.folder.database.with_name("coldfield.db-wal").read_bytes()
    database.close()
    data.folder.database.with_name("coldfield.db-wal").write_bytes(log)
    restore(data, path)
    assert names(data) == ["Bram", "Ines", "Yuki"]


def test_contract_restore_refuses_records_in_use(data: Data) -> None:
    path = backup(data)
    held = locked(data.folder, who="the Coldfield at http://127.0.0.1:8457/")
    with held, pytest.raises(Refused, match="8457"):
        restore(data, path)


def test_contract_what_is_no_backup_is_told(data: Data, tmp_path: Path) -> None:
    (tmp_path / "x.zip").write_bytes(b"PK\x03\x04 and so on" * 100)
    with pytest.raises(BadInput, match="coldfield import"):
        restore(data, tmp_path / "x.zip")
    with pytest.raises(BadInput, match="no such file"):
        restore(data, tmp_path / "nothing.db")
    hurt = backup(data, tmp_path / "hurt.db")
    with hurt.open("r+b") as file:
        file.seek(4096 * 3)
        file.write(b"\xa5" * 4096 * 4)
    with pytest.raises(BadInput, match="damaged"):
        restore(data, hurt)
    assert names(data) == ["Bram", "Ines", "Yuki"]


def test_contract_a_backup_of_a_newer_coldfield_is_refused(data: Data, tmp_path: Path) -> None:
    newer = sqlite3.connect(backup(data, tmp_path / "newer.db"))
    newer.execute("UPDATE alembic_version SET version_num = '9999'")
    newer.commit()
    newer.close()
    with pytest.raises(StoreTrouble, match="newer Coldfield"):
        restore(data, tmp_path / "newer.db")
    assert names(data) == ["Bram", "Ines", "Yuki"]


def test_contract_backup_refuses_what_it_cannot_do(data: Data, tmp_path: Path) -> None:
    (tmp_path / "there.db").touch()
    with pytest.raises(Refused, match="exists"):
        backup(data, tmp_path / "there.db")
    with pytest.raises(BadInput, match="no such folder"):
        backup(data, tmp_path / "none" / "x.db")
    with pytest.raises(UnknownRecord, match="--data"):
        backup(Data(Folder(tmp_path / "empty")))
    with pytest.raises(Refused, match="pg_dump"):
        backup(Data(data.folder, url="postgresql://x/y"))


def test_contract_an_older_file_is_migrated_and_kept_as_it_was(folder: Folder) -> None:
    older = older_records(folder)
    before = sorted(older.iterdump())
    older.close()
    assert names(Data(folder)) == ["Ines"]
    (kept,) = folder.copies()
    assert "before-migration" in kept.name
    copy = sqlite3.connect(kept)
    assert sorted(copy.iterdump()) == before
    copy.close()


def test_contract_a_migration_that_fails_leaves_the_old_file_as_it_was(
    folder: Folder, monkeypatch: pytest.MonkeyPatch
) -> None:
    older = older_records(folder)
    before = sorted(older.iterdump())
    older.close()

    def migrate_then_fail(connection: Connection, **how: str) -> None:
        migrate(connection, **how)
        raise RuntimeError("the machine stops here")

    monkeypatch.setattr("coldfield.records.database.migrate", migrate_then_fail)
    with pytest.raises(RuntimeError):
        open_sqlite(folder)
    left = sqlite3.connect(folder.database)
    assert sorted(left.iterdump()) == before
    left.close()
    monkeypatch.undo()
    assert names(Data(folder)) == ["Ines"]


def older_records(folder: Folder) -> sqlite3.Connection:
    """Create records of the first version with one person; return a connection to them."""
    folder.make()
    engine = create_engine(f"sqlite:///{folder.database}")
    with engine.begin() as connection:
        migrate(connection, to="0001")
        connection.exec_driver_sql(
            "INSERT INTO person (id, version, created_utc, changed_utc, name, contact, notes) VALUES "
            "('ines', 1, '2026-02-14T09:30:00.000Z', '2026-02-14T09:30:00.000Z', 'Ines', '', '')"
        )
        connection.exec_driver_sql(f"PRAGMA application_id = {APPLICATION_ID}")
    engine.dispose()
    return sqlite3.connect(folder.database)
