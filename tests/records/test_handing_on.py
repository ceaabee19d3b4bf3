"""Export one drill with its runs for a colleague, and import a colleague's drill beside existing records."""

from __future__ import annotations

import io
import zipfile
from pathlib import Path

import pytest

from coldfield.app.records.keeping import bring_records, export_records
from coldfield.app.records.reading import remove
from coldfield.errors import BadInput, UnknownRecord
from coldfield.records.archive_in import NamedRecord
from coldfield.records.database import Database
from example_records import a_small_season, drill, dump, keep_grid, put


def sent(database: Database, tmp_path: Path, drill_id: str = "fan") -> bytes:
    out = tmp_path / "sent.zip"
    out.unlink(missing_ok=True)
    export_records(database, out, drill_id=drill_id)
    return out.read_bytes()


def bring(database: Database, archive: bytes, **how: bool):
    return bring_records(database, io.BytesIO(archive), "sent.zip", **how)


def test_contract_a_drill_goes_with_its_runs_and_without_what_is_known_of_people(
    database: Database, empty: Database, tmp_path: Path
) -> None:
    a_small_season(database)
    keep_grid(database, "grid-1", drill_id="fan", file_name="bowl.asc", crs="site")
    remove(database, "splits", "sp-2")
    put(database, "drills", "other", document=drill(name="Another drill"))
    archive = sent(database, tmp_path)
    brought = bring(empty, archive)
    assert brought.drills == (NamedRecord(id="fan", name="Two on the lower fan"),)
    assert [one.id for one in brought.runs] == ["run-1"]
    here, there = dump(empty), dump(database)
    for table in ("drill_version", "observation", "original", "grid_file", "phase"):
        assert len(here[table]) == len([row for row in there[table] if "'other'" not in row])
    for table in ("person", "kit", "course", "day", "participant", "site", "deletion"):
        assert here[table] == []
    with zipfile.ZipFile(io.BytesIO(archive)) as members:
        text = b"".join(members.read(name) for name in members.namelist() if name.startswith("records/"))
    assert b"bram@" not in text
    assert b'"person_id": "' not in text


def test_contract_what_is_here_stays_and_what_is_new_comes(
    database: Database, empty: Database, tmp_path: Path
) -> None:
    a_small_season(database)
    bring(empty, sent(database, tmp_path))
    put(empty, "people", "noor", name="Noor")
    put(database, "runs", "run-9", drill_id="fan", name="Run 9")
    before = dump(empty)
    archive = sent(database, tmp_path)
    would = bring(empty, archive, rehearse=True)
    assert dump(empty) == before
    brought = bring(empty, archive)
    assert brought == would
    assert brought.new == {"runs": 1}
    assert brought.here["drills"] == 1
    assert bring(empty, archive).new == {}
    assert dump(empty)["person"] == before["person"]


def test_contract_a_whole_archive_comes_beside_others_with_what_is_deleted_still_deleted(
    database: Database, empty: Database, tmp_path: Path
) -> None:
    a_small_season(database)
    remove(database, "people", "yuki")
    export_records(database, tmp_path / "all.zip")
    put(empty, "people", "noor", name="Noor")
    brought = bring(empty, (tmp_path / "all.zip").read_bytes())
    assert brought.new["people"] == 2
    assert len(dump(empty)["person"]) == 4
    assert len(dump(empty)["deletion"]) == 1


def test_contract_a_run_on_a_version_that_is_not_here_is_told_and_nothing_kept(
    database: Database, empty: Database, tmp_path: Path
) -> None:
    a_small_season(database)
    bring(empty, sent(database, tmp_path))
    put(database, "drills", "fan", based_on=1, document=drill(name="Changed since"))
    put(database, "runs", "run-9", drill_id="fan", name="Run 9")
    before = dump(empty)
    with pytest.raises(BadInput, match=r"'Run 9' is of version 2 .* changed differently here and has 1"):
        bring(empty, sent(database, tmp_path))
    assert dump(empty) == before


def test_contract_a_drill_that_is_not_there_is_not_handed_on(database: Database, tmp_path: Path) -> None:
    a_small_season(database)
    with pytest.raises(UnknownRecord):
        sent(database, tmp_path, "nothing")
    remove(database, "drills", "fan")
    with pytest.raises(UnknownRecord):
        sent(database, tmp_path)
    assert not (tmp_path / "sent.zip").exists()
