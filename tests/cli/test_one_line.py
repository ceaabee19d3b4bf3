"""If a command on records fails, it prints one line that names the file at fault."""

from __future__ import annotations

import os
import random
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from coldfield.app.records.data import Data, writing
from coldfield.app.records.keeping import backup, export_records
from coldfield.records.folder import Folder
from coldfield.web.app import create_app
from example_records import a_small_season, dump, put
from warm_commands import command

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="limits what a process may write")

COMMANDS = ("backup", "restore", "export", "import", "forget", "serve")


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with records in `data`, a backup and an archive of others beside it."""
    place = tmp_path_factory.mktemp("made")
    with writing(Data(Folder(place / "data")), who="a test") as database:
        a_small_season(database)
        for number in range(60):
            # Incompressible text.
            notes = random.Random(number).randbytes(4500).hex()
            put(database, "people", f"p{number}", name="Noor", notes=notes)
        export_records(database, place / "large.zip")
    with writing(Data(Folder(place / "other")), who="a test") as database:
        put(database, "people", "noor", name="Noor")
        export_records(database, place / "given.zip")
    backup(Data(Folder(place / "other")), place / "given.db")
    return place


@pytest.fixture
def place(made: Path, tmp_path: Path) -> Path:
    shutil.copytree(made, tmp_path / "place")
    return tmp_path / "place"


def run(name: str, place: Path, *arguments: object, most_bytes: int | None = None) -> tuple[int, str]:
    """Run a command, optionally with a limit on file sizes; return its exit code and fault lines."""
    given: dict[str, list[object]] = {
        "restore": [place / "given.db"],
        "export": [place / "out.zip"],
        "import": [place / "given.zip"],
        "forget": ["ines", "--yes"],
        "serve": ["--port", "0"],
    }
    listed = arguments or given.get(name, [])
    ended = command(name, "--data", place / "data", *listed, most_bytes=most_bytes)
    return ended.code, ended.faults


def one_line(told: tuple[int, str]) -> str:
    code, said = told
    assert code == 2, said
    assert said.count("\n") == 1, said
    assert said.startswith("coldfield: ")
    return said.removeprefix("coldfield: ").strip()


def whole(place: Path) -> bool:
    with writing(Data(Folder(place / "data")), who="a test") as database:
        return len(dump(database)["person"]) == 63


def left(place: Path) -> set[str]:
    found = {str(path.relative_to(place)) for path in place.rglob("*") if path.is_file()}
    return found - {
        "data/lock",
        "data/lock-readers",
        "other/lock",
        "other/lock-readers",
        "other/coldfield.db",
    }


BEFORE = {"data/coldfield.db", "given.db", "given.zip", "large.zip"}


@pytest.mark.parametrize(
    ("name", "target"),
    [("backup", "copy.db"), ("export", "out.zip"), ("backup", None), ("restore", "data/.coldfield.db")],
)
def test_contract_a_full_disk_is_told_of_the_target(place: Path, name: str, target: str | None) -> None:
    arguments = [place / target] if target and name != "restore" else []
    said = one_line(run(name, place, *arguments, most_bytes=50_000))
    assert "cannot be written" in said
    assert str(place / (target or "data/backups")) in said
    assert left(place) == BEFORE
    assert whole(place)


def test_contract_an_import_and_a_forgetting_on_a_full_disk_keep_nothing(place: Path) -> None:
    assert "nothing of this change was kept" in one_line(run("forget", place, most_bytes=50_000))
    assert whole(place)
    shutil.rmtree(place / "data")
    with writing(Data(Folder(place / "data")), who="a test") as database:
        empty = dump(database)
    said = one_line(run("import", place, place / "large.zip", most_bytes=100_000))
    assert "nothing of this change was kept" in said
    with writing(Data(Folder(place / "data")), who="a test") as database:
        assert dump(database) == empty
    assert left(place) == BEFORE


@pytest.mark.parametrize("name", COMMANDS)
def test_contract_a_disk_that_takes_not_one_byte_is_told_as_full(place: Path, name: str) -> None:
    # There is no space even for the lock file or SQLite's index.
    said = one_line(run(name, place, most_bytes=0))
    assert "the disk is full" in said or "cannot be written" in said
    assert "damaged" not in said
    assert whole(place)
    assert left(place) == BEFORE


@pytest.mark.parametrize("number", ["0001", "0004", "0011"])
@pytest.mark.parametrize("name", [name for name in COMMANDS if name != "backup"])
def test_contract_a_schema_number_that_its_tables_do_not_have_is_told(
    place: Path, name: str, number: str
) -> None:
    target = place / ("given.db" if name == "restore" else "data/coldfield.db")
    with closing(sqlite3.connect(target)) as link, link:
        link.execute("UPDATE alembic_version SET version_num = ?", (number,))
    said = one_line(run(name, place))
    assert f"do not match the schema {number}" in said
    assert (str(target) in said) == (name == "restore")
    assert left(place) == BEFORE
    if name == "restore":
        assert whole(place)


@pytest.mark.parametrize("name", ["restore", "export"])
def test_contract_the_newest_schema_without_one_of_its_columns_is_told(place: Path, name: str) -> None:
    target = place / ("given.db" if name == "restore" else "data/coldfield.db")
    with closing(sqlite3.connect(target)) as link, link:
        link.execute("ALTER TABLE kit RENAME COLUMN label TO called")
    assert "(no kit.label)" in one_line(run(name, place))
    assert left(place) == BEFORE


def read_only_mount(folder: Path) -> Callable[[], None] | None:
    """Make a folder read-only, even for root; return a function that undoes it, or None if not permitted."""
    ways = (
        (["mount", "-t", "tmpfs", "-o", "ro,size=1m", "tmpfs", str(folder)], ["umount", str(folder)]),
        (["chattr", "+i", str(folder)], ["chattr", "-i", str(folder)]),
    )
    for do, undo in ways:
        if shutil.which(do[0]) and subprocess.run(do, capture_output=True, check=False).returncode == 0:
            return lambda undo=undo: subprocess.run(undo, check=True)
    if os.geteuid() != 0:
        folder.chmod(0o500)
        return lambda: folder.chmod(0o700)
    return None


@pytest.mark.parametrize("name", ["backup", "export"])
def test_contract_a_folder_that_may_not_be_written_is_told(place: Path, name: str) -> None:
    (place / "fixed").mkdir()
    undo = read_only_mount(place / "fixed")
    if undo is None:
        # Without permission to mount, use a folder below a file, which cannot be written either.
        (place / "fixed").rmdir()
        (place / "fixed").symlink_to("/proc/self")
    try:
        said = one_line(run(name, place, place / "fixed" / "made"))
    finally:
        if undo is not None:
            undo()
    assert said.startswith(f"{place / 'fixed' / 'made'} cannot be written")
    assert "choose another place" in said
    assert whole(place)


@pytest.mark.parametrize("kind", ["a file", "a link to nothing"])
@pytest.mark.parametrize(("name", "folder"), [("backup", "backups"), ("restore", "kept")])
def test_contract_a_file_where_a_folder_belongs_is_told(
    place: Path, name: str, folder: str, kind: str
) -> None:
    if kind == "a file":
        (place / "data" / folder).touch()
    else:
        (place / "data" / folder).symlink_to("nowhere")
    said = one_line(run(name, place))
    assert str(place / "data" / folder) in said
    assert whole(place)


@pytest.mark.parametrize("name", COMMANDS)
def test_contract_a_data_folder_that_is_a_file_is_told(place: Path, name: str) -> None:
    shutil.rmtree(place / "data")
    (place / "data").touch()
    code, said = run(name, place)
    assert code == 2
    assert "Traceback" not in said
    assert str(place / "data") in said


@pytest.mark.parametrize("name", COMMANDS)
@pytest.mark.parametrize("kind", ["a folder", "a link to nothing", "a pipe"])
def test_contract_records_that_are_no_file_are_told(place: Path, name: str, kind: str) -> None:
    path = place / "data" / "coldfield.db"
    path.unlink()
    if kind == "a folder":
        path.mkdir()
    elif kind == "a pipe":
        os.mkfifo(path)
    else:
        path.symlink_to("nowhere/there.db")
    if name == "restore" and kind != "a folder":
        # The output file exists afterwards.
        assert run(name, place)[0] == 0
        assert path.is_file()
    else:
        one_line(run(name, place))


@pytest.mark.parametrize("name", COMMANDS)
@pytest.mark.parametrize(
    ("change", "words"),
    [
        ("UPDATE alembic_version SET version_num = 'abc'", "not: abc"),
        ("UPDATE alembic_version SET version_num = '0000'", "not: 0000"),
        ("UPDATE alembic_version SET version_num = ''", "schema number"),
        ("UPDATE alembic_version SET version_num = '0003 '", "schema number"),
        ("UPDATE alembic_version SET version_num = x'00ff'", "schema number"),
        ("DELETE FROM alembic_version", "not: none"),
        ("INSERT INTO alembic_version VALUES ('0001')", "schema number"),
        ("ALTER TABLE alembic_version RENAME COLUMN version_num TO number", "not: none"),
        ("DROP TABLE alembic_version", "another program"),
        ("UPDATE alembic_version SET version_num = '9999'", "newer Coldfield"),
    ],
)
def test_contract_a_schema_that_no_program_made_is_told(
    place: Path, name: str, change: str, words: str
) -> None:
    hurt = place / ("given.db" if name == "restore" else "data/coldfield.db")
    with closing(sqlite3.connect(hurt)) as link:
        link.execute("PRAGMA journal_mode = DELETE")
        link.execute(change)
        link.commit()
    before = hurt.read_bytes()
    if name == "backup":
        # A copy is a copy, whatever is in it; restoring it is refused.
        assert run(name, place)[0] == 0
    else:
        said = one_line(run(name, place))
        assert (words in said) or (name == "restore" and str(hurt) in said)
        assert name != "restore" or str(hurt) in said
    with closing(sqlite3.connect(hurt)) as link:
        link.execute("PRAGMA journal_mode = DELETE")
    assert len(hurt.read_bytes()) == len(before)


@pytest.mark.parametrize("name", ["backup", "export", "serve", "forget"])
def test_contract_records_lost_beside_their_copies_are_not_made_anew(place: Path, name: str) -> None:
    copy = backup(Data(Folder(place / "data")))
    (place / "data" / "coldfield.db").unlink()
    said = one_line(run(name, place))
    assert f"coldfield restore {copy}" in said
    assert run("restore", place, copy)[0] == 0
    assert whole(place)


def test_contract_a_damaged_backup_and_damaged_records_are_told_of_the_right_file(place: Path) -> None:
    for hurt in (place / "given.db", place / "data" / "coldfield.db"):
        with hurt.open("r+b") as file:
            file.seek(4096 * 3)
            file.write(b"\xa5" * 4096 * 4)
    assert one_line(run("restore", place)).startswith(f"{place / 'given.db'}: is damaged")
    said = one_line(run("backup", place, place / "copy.db"))
    assert "the records file is damaged" in said
    assert not (place / "copy.db").exists()


@pytest.mark.parametrize("name", ["restore", "import"])
def test_contract_what_is_read_and_is_no_file_is_told(place: Path, name: str) -> None:
    for given in (place / "none", place / "given.db" / "below", Path("/dev/null")):
        said = one_line(run(name, place, given))
        assert said.startswith(f"{given}: ")
    assert whole(place)


def test_contract_a_backup_through_the_service_is_told_too(place: Path) -> None:
    (place / "data" / "backups").touch()
    folder = Folder(place / "data")
    with writing(Data(folder), who="a test") as database:
        client = TestClient(create_app(database, data=Data(folder)), base_url="http://127.0.0.1")
        answer = client.post("/api/backups")
    assert answer.status_code == 503
    assert "is a file where a folder is needed" in answer.json()["detail"]
