"""No file of the records contains a forgotten person: kept tracks, the database and its log, copies, a server's files."""

from __future__ import annotations

import gzip
import io
import shutil
import sqlite3
import time
import unicodedata
import zipfile
from contextlib import suppress
from pathlib import Path

import psycopg
import pytest
from sqlalchemy import text

from coldfield.app.records.data import Data, writing
from coldfield.app.records.keeping import backup, forget
from coldfield.app.records.reading import find
from coldfield.records import schema
from coldfield.records.database import Database, open_sqlite
from coldfield.records.folder import Folder
from coldfield.records.forget.contents import cleaned, mentions
from coldfield.records.forget.names import Wanted
from coldfield.records.store import Store
from coldfield.records.wiping import wipe_sqlite
from coldfield.words import say
from example_records import a_small_season, drill, keep_grid, keep_track, put

DATA = Path(__file__).parents[1] / "data" / "tracks"
NAME = "Rúna Fálk"
FORMS = [
    form.encode(encoding)
    for one in (NAME, NAME.upper(), NAME.lower())
    for form in (unicodedata.normalize("NFC", one), unicodedata.normalize("NFD", one))
    for encoding in ("utf-8", "utf-16-le", "utf-16-be")
] + [NAME.encode("latin-1"), b"R\\u00fana F\\u00e1lk"]
GPX = """<?xml version="1.0" encoding="{}"?>
<gpx version="1.1" creator="example" xmlns="http://www.topografix.com/GPX/1/1"><trk><name>{}</name><trkseg>
<trkpt lat="61.2000" lon="8.1005"><time>2026-02-14T09:30:00Z</time></trkpt>
<trkpt lat="61.2002" lon="8.1005"><time>2026-02-14T09:30:20Z</time></trkpt>
</trkseg></trk></gpx>
"""
ENCODINGS = ("utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "iso-8859-1", "windows-1252", "utf-32")


def gpx(encoding: str = "utf-8", name: str = NAME) -> bytes:
    told = encoding.removesuffix("-sig").removesuffix("-le").removesuffix("-be")
    return GPX.format(told, name).encode(encoding)


def zipped(*members: tuple[str, bytes]) -> bytes:
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in members:
            archive.writestr(name, content)
    return file.getvalue()


def holding(path: Path) -> list[str]:
    """Return the files at or below a path whose bytes contain the name in any of its forms."""
    files = [path] if path.is_file() else [one for one in path.rglob("*") if one.is_file()]
    found = []
    for one in files:
        with suppress(FileNotFoundError):
            content = one.read_bytes()
            found += [str(one)] if any(form in content for form in FORMS) else []
    return found


def a_person(database: Database) -> None:
    """Write a season in which the person takes part."""
    a_small_season(database)
    document = drill()
    document["searchers"][0]["name"] = NAME
    put(database, "people", "p-1", name=NAME, contact="runa@hollow-larch.example")
    put(database, "participants", "pt", course_id="feb", person_id="p-1")
    put(database, "drills", "d-1", document=document)
    put(
        database,
        "runs",
        "r-1",
        drill_id="d-1",
        searchers=[{"searcher": "s1", "person_id": "p-1"}],
        notes=NAME,
    )
    put(database, "splits", "s-1", run_id="r-1", split="alarm", since_alarm_s=0.0, note=f"{NAME} led")
    keep_track(database, "t-1", gpx(), run_id="r-1", searcher="s1", person_id="p-1", file_name="a.gpx")


# --- kept files -----------------------------------------------------------------------------------------


@pytest.mark.parametrize("encoding", ENCODINGS)
@pytest.mark.parametrize(
    "name", [NAME, "RÚNA  FÁLK", unicodedata.normalize("NFD", NAME), "R&#250;na F&#225;lk"]
)
def test_contract_a_name_is_found_in_a_text_of_any_encoding_and_taken_out(encoding: str, name: str) -> None:
    if encoding in ("iso-8859-1", "windows-1252"):
        name = unicodedata.normalize("NFC", name)
    wanted = Wanted(NAME, "", ())
    content = gpx(encoding, name)
    assert [(say(one.place), one.sure) for one in mentions(content, wanted)] == [("line 2", True)]
    left = cleaned(content, "a.gpx", wanted)
    assert left is not None
    assert left.decode(encoding) == gpx(encoding, "(forgotten person)").decode(encoding)


def test_contract_a_name_is_found_in_archives_and_in_bytes() -> None:
    wanted = Wanted(NAME, "", ())
    archive = zipped(
        ("a.gpx", gpx("utf-16")), ("Rúna Fálk.gpx", b"<gpx/>"), ("b.fit", b"\x00\x01" + NAME.encode())
    )
    places = [say(one.place) for one in mentions(archive, wanted)]
    assert places == ["file 1 in it, line 2", "the name of file 2 in it", "file 3 in it, its bytes"]
    assert cleaned(archive, "a.zip", wanted) is None
    assert [say(one.place) for one in mentions(gzip.compress(gpx()), wanted)] == ["line 2"]
    assert [
        say(one.place) for one in mentions(b"II*\x00\xff\xd8\x01" * 9 + NAME.encode("utf-16-le"), wanted)
    ] == ["its bytes"]
    assert [one.sure for one in mentions(archive[:-40], wanted)][-1:] == [False]
    assert mentions(zipped(("a.gpx", gpx(name="Bram"))), wanted) == []


def test_contract_a_short_name_is_found_in_the_texts_of_a_fit_file_and_not_by_chance() -> None:
    paths = sorted(DATA.rglob("*.fit"))
    assert paths
    for path in paths:
        assert mentions(path.read_bytes(), Wanted("Al", "", ())) == []


def test_contract_a_file_that_would_be_read_otherwise_is_left_and_told() -> None:
    wanted = Wanted("trkpt", "", ())
    assert mentions(gpx(), wanted)
    assert cleaned(gpx(), "a.gpx", wanted) is None


def test_contract_files_are_searched_whoever_they_belong_to(on_sqlite: Database, folder: Folder) -> None:
    a_person(on_sqlite)
    for n, encoding in enumerate(ENCODINGS):
        keep_track(
            on_sqlite, f"e-{n}", gpx(encoding), run_id="run-1", searcher="s2", file_name=f"{n} {NAME}.gpx"
        )
    keep_track(on_sqlite, "zip", zipped(("a.gpx", gpx())), run_id="run-1", searcher="s2", file_name="b.zip")
    keep_track(on_sqlite, "loose", gpx("utf-16"), run_id="run-1", file_name="c.gpx")
    keep_grid(on_sqlite, "g-1", b"ncols 3\n" + NAME.encode(), drill_id="fan", file_name=f"{NAME}.asc")
    keep_grid(on_sqlite, "g-2", b"II*\x00\xff" + NAME.encode(), drill_id="fan", file_name="b.tif")
    told = forget(on_sqlite, "p-1", folder=folder).document()
    assert told["removed"]["tracks, with their files"] == 2
    assert told["made_anonymous"]["files that mentioned the person"] == len(ENCODINGS) + 1
    looked = [line for line in told["to_look_at"] if not line.startswith("track e-")]
    assert looked == [
        "track zip: its file mentions this name (file 1 in it, line 2)",
        "grid g-2: its file mentions this name (its bytes)",
    ]
    with on_sqlite.read() as connection:
        store = Store(connection, "")
        kept, track = store.file("tracks", "e-2"), store.get("tracks", "e-2")
    assert kept.decode("utf-16") == gpx("utf-16", "(forgotten person)").decode("utf-16")
    assert (track["size_bytes"], track["file_name"]) == (len(kept), "2 (forgotten person).gpx")
    assert track["version"] == 2


def test_contract_what_cannot_be_decided_stays_and_is_told(database: Database) -> None:
    a_small_season(database)
    put(database, "people", "p-1", name=NAME)
    put(database, "people", "p-2", name=f"{NAME} Berg")
    put(database, "kit", "Runa-Falk-set", kind="set", label=f"{NAME} 1", notes="Rúna Fálk Berg's")
    keep_track(database, "loose", gpx(), run_id="run-1", file_name="a.gpx")
    put(database, "courses", "c", name="Runa came", notes="")
    told = forget(database, "p-1").document()["to_look_at"]
    assert "kit Runa-Falk-set: 'label' mentions this name" in told
    assert "track loose: its file mentions this name (line 2)" in told
    assert "course c: 'name' may mean this person" in told
    assert find(database, "people", "p-2")["name"] == f"{NAME} Berg"
    assert find(database, "kit", "Runa-Falk-set")["notes"] == "Rúna Fálk Berg's"


# --- the database's own files -----------------------------------------------------------------------------


def test_contract_no_file_of_the_folder_holds_the_person(on_sqlite: Database, folder: Folder) -> None:
    a_person(on_sqlite)
    assert holding(folder.path)
    told = forget(on_sqlite, "p-1", folder=folder).document()
    assert holding(folder.path) == []
    assert told["left_elsewhere"] == []


def test_contract_what_an_earlier_rearrangement_left_in_free_space_goes_too(
    on_sqlite: Database, folder: Folder
) -> None:
    a_person(on_sqlite)
    with on_sqlite.write() as connection:
        connection.exec_driver_sql("PRAGMA secure_delete = OFF")
        connection.exec_driver_sql("UPDATE run SET notes = 'x' WHERE id = 'r-1'")
    forget(on_sqlite, "p-1")
    assert holding(folder.path) == []


def test_contract_another_reader_keeps_the_log_which_is_said_and_emptied_later(
    on_sqlite: Database, folder: Folder, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("coldfield.records.database.WIPE_AGAIN_S", 0.05)
    a_person(on_sqlite)
    reader = sqlite3.connect(folder.database, isolation_level=None)
    reader.execute("BEGIN")
    reader.execute("SELECT count(*) FROM person").fetchone()
    told = forget(on_sqlite, "p-1").document()
    assert len(told["left_elsewhere"]) == 1
    assert "still contain what was removed" in told["left_elsewhere"][0]
    assert holding(folder.path)
    reader.close()
    until = time.monotonic() + 20
    while holding(folder.path) and time.monotonic() < until:
        time.sleep(0.05)
    assert holding(folder.path) == []


def test_contract_what_a_process_had_to_leave_is_emptied_by_the_next(
    folder: Folder, empty_records: Path
) -> None:
    shutil.copytree(empty_records, folder.path)
    first = open_sqlite(folder)
    a_person(first)
    reader = sqlite3.connect(folder.database, isolation_level=None)
    reader.execute("BEGIN")
    reader.execute("SELECT count(*) FROM person").fetchone()
    assert forget(first, "p-1").left_elsewhere
    first.close()
    assert holding(folder.path)
    reader.close()
    with writing(Data(folder), who="test"):
        assert holding(folder.path) == []


def test_contract_a_wipe_does_not_wait_long(on_sqlite: Database, folder: Folder) -> None:
    reader = sqlite3.connect(folder.database, isolation_level=None)
    put(on_sqlite, "people", "x", name="X")
    reader.execute("BEGIN")
    reader.execute("SELECT count(*) FROM person").fetchone()
    put(on_sqlite, "people", "y", name="Y")
    assert not wipe_sqlite(on_sqlite.engine, wait_s=0)
    reader.close()
    assert wipe_sqlite(on_sqlite.engine, wait_s=0)


# --- copies -------------------------------------------------------------------------------------------------


def test_contract_every_copy_is_opened_and_told(on_sqlite: Database, folder: Folder, tmp_path: Path) -> None:
    before = backup(Data(folder))
    a_person(on_sqlite)
    holds = backup(Data(folder))
    folder.kept.mkdir()
    kept = shutil.copy(holds, folder.kept / "coldfield-before-restore.db")
    part = folder.path / ".coldfield-x.db.part"
    part.write_bytes(holds.read_bytes()[:-5000])
    new = folder.path / ".coldfield.db.new"
    new.write_bytes(b"\x00" * 100 + unicodedata.normalize("NFD", NAME).encode("utf-16-le"))
    other = folder.path / "holiday.txt"
    other.write_text(NAME, encoding="utf-8")
    told = forget(on_sqlite, "p-1", folder=folder).document()
    assert set(told["copies_that_still_hold_the_person"]) == {str(holds), str(kept), str(part), str(new)}
    assert told["copies_without_the_person"] == [str(before)]
    assert told["copies_that_cannot_be_searched"] == []


def test_contract_a_copy_of_a_namesake_is_told_by_its_entry(on_sqlite: Database, folder: Folder) -> None:
    put(on_sqlite, "people", "p-2", name=NAME)
    without = backup(Data(folder))
    put(on_sqlite, "people", "p-1", name=NAME)
    holds = backup(Data(folder))
    told = forget(on_sqlite, "p-1", folder=folder)
    assert told.copies_that_still_hold_the_person == (str(holds),)
    assert told.copies_without_the_person == (str(without),)


# --- a server -----------------------------------------------------------------------------------------------


@pytest.mark.postgresql
def test_contract_no_file_of_a_servers_tables_holds_the_person(
    database_on_server: Database, postgresql: str
) -> None:
    a_person(database_on_server)
    place = place_of(database_on_server, postgresql)
    assert holding(place)
    told = forget(database_on_server, "p-1").document()
    with psycopg.connect(postgresql, autocommit=True) as link:
        link.execute("CHECKPOINT")
    assert holding(place) == []
    assert len(told["left_elsewhere"]) == 1
    assert "(WAL)" in told["left_elsewhere"][0]


@pytest.mark.postgresql
def test_contract_a_connection_that_looks_back_is_waited_for_and_told(
    database_on_server: Database, postgresql: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("coldfield.records.database.WIPE_AGAIN_S", 0.05)
    a_person(database_on_server)
    place = place_of(database_on_server, postgresql)
    with database_on_server.read() as reader:
        reader.execute(schema.person.select()).first()
        told = forget(database_on_server, "p-1").document()
        assert len(told["left_elsewhere"]) == 2
    until = time.monotonic() + 20
    with psycopg.connect(postgresql, autocommit=True) as link:
        while time.monotonic() < until:
            link.execute("CHECKPOINT")
            if not holding(place):
                break
    assert holding(place) == []


@pytest.mark.postgresql
def test_contract_a_connection_that_comes_in_between_is_told(
    database_on_server: Database, postgresql: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("coldfield.records.wiping._nobody_reads", lambda connection, wait_s: True)
    a_person(database_on_server)
    server = place_of(database_on_server, postgresql)
    with database_on_server.read() as reader:
        reader.execute(text("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ"))
        reader.execute(text("SELECT 1")).first()
        told = forget(database_on_server, "p-1").document()
        assert len(told["left_elsewhere"]) == 2
    with psycopg.connect(postgresql, autocommit=True) as link:
        assert database_on_server.wipe(wait_s=20.0)
        link.execute("CHECKPOINT")
    assert holding(server) == []


def place_of(database: Database, server: str) -> Path:
    """Return the folder of a database's files after flushing everything; only on this machine."""
    with database.engine.connect().execution_options(isolation_level="AUTOCOMMIT") as connection:
        connection.exec_driver_sql("ANALYZE")
        oid = connection.execute(text("SELECT oid FROM pg_database WHERE datname = current_database()"))
        number = oid.scalar_one()
    with psycopg.connect(server, autocommit=True) as link:
        link.execute("CHECKPOINT")
        row = link.execute("SHOW data_directory").fetchone()
    assert row is not None
    place = Path(str(row[0])) / "base" / str(number)
    if not place.is_dir():
        pytest.skip("the server's files are not on this machine")
    return place
