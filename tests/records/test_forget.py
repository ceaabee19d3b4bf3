"""Forgetting a person removes all of their data and none of others'."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from coldfield.app.records.data import Data
from coldfield.app.records.keeping import backup, export_records, forget, who_is
from coldfield.app.records.reading import find, page, remove
from coldfield.errors import UnknownRecord
from coldfield.records.database import Database
from coldfield.records.folder import Folder
from coldfield.records.kinds import KINDS
from coldfield.records.store import Store
from example_records import GPX, a_small_season, drill, keep_track, put


def a_debrief(database: Database, debrief_id: str, run_id: str, document: dict[str, Any]) -> None:
    form = KINDS["debriefs"].form(run_id=run_id, made_by={"coldfield": "0"}, document=document)
    with database.write() as connection:
        Store(connection, database.stamp()).put("debriefs", debrief_id, form.fields(), based_on=None)


@pytest.fixture
def season(database: Database) -> Database:
    return filled(database)


def filled(database: Database) -> Database:
    a_small_season(database)
    keep_track(
        database, "bram", GPX.replace(b"Ines", b"Bram"), run_id="run-1", searcher="s2", file_name="bram.gpx"
    )
    keep_track(database, "loose", GPX, run_id="run-1", file_name="activity.gpx")
    put(database, "drills", "other", document=drill(name="Ines's own drill"))
    put(database, "runs", "run-2", drill_id="other", notes="Ines watched; Inesita searched")
    put(database, "people", "noor", name="Noor", notes="reach her through ines@hollow-larch.example")
    a_debrief(database, "db-1", "run-1", {"findings": [{"text": "Ines turned late"}]})
    a_debrief(database, "db-2", "run-2", {"findings": [{"text": "nobody turned late"}]})
    return database


def test_contract_nothing_of_a_forgotten_person_stays_in_the_file(
    on_sqlite: Database, folder: Folder
) -> None:
    forget(filled(on_sqlite), "ines")
    for path in folder.path.glob("coldfield.db*"):
        text = path.read_bytes()
        assert b"Ines" not in text.replace(b"Inesita", b""), path.name
        assert b"ines@hollow" not in text
        assert b"ines.gpx" not in text


def test_contract_nothing_of_a_forgotten_person_leaves_in_an_export(season: Database, tmp_path: Path) -> None:
    import zipfile

    forget(season, "ines")
    export_records(season, tmp_path / "all.zip")
    with zipfile.ZipFile(tmp_path / "all.zip") as archive:
        text = b"".join(archive.read(name) for name in archive.namelist())
    assert b"Ines" not in text.replace(b"Inesita", b"")


def test_contract_forgetting_says_what_it_did(season: Database) -> None:
    told = forget(season, "ines").document()
    assert told["removed"] == {
        "tracks, with their files": 2,
        "debriefs made from them; make them again from what is left": 1,
        "entries in courses": 1,
        "entry of the person": 1,
    }
    assert told["made_anonymous"] == {
        "drill versions": 2,
        "runs": 1,
        "pieces of kit, without owner now": 1,
        "notes and names that mentioned the person": 4,
    }
    assert told["to_look_at"] == []


def test_contract_what_others_need_stays(season: Database) -> None:
    forget(season, "ines")
    run = find(season, "runs", "run-1")
    assert run["searchers"] == [
        {"searcher": "s1", "person_id": None},
        {"searcher": "s2", "person_id": "bram"},
    ]
    assert [track["id"] for track in page(season, "tracks")] == ["bram"]
    assert [one["id"] for one in page(season, "debriefs")] == ["db-2"]
    assert find(season, "splits", "sp-2")["note"] == "(forgotten person) struck at the second hole"
    assert find(season, "runs", "run-2")["notes"] == "(forgotten person) watched; Inesita searched"
    assert find(season, "people", "noor")["notes"] == "reach her through (forgotten person)"
    names = [one["name"] for one in find(season, "drills", "fan")["document"]["searchers"]]
    assert names == ["Searcher 1", "Bram"]


def test_contract_a_rehearsed_forgetting_tells_the_same_and_changes_nothing(season: Database) -> None:
    would = forget(season, "ines", rehearse=True)
    assert find(season, "people", "ines")["name"] == "Ines"
    assert would == forget(season, "ines")


def test_contract_deleted_records_are_forgotten_too(season: Database) -> None:
    deletion = remove(season, "people", "ines")
    remove(season, "runs", "run-1")
    forget(season, "ines")
    with season.read() as connection:
        left = Store(connection, "").deletions()
    assert deletion not in [one.id for one in left]
    assert [one.kind for one in left] == ["runs"]


def test_contract_a_namesake_keeps_theirs(season: Database) -> None:
    put(season, "people", "ines-2", name="ines", notes="another Ines")
    told = forget(season, "ines").document()
    assert find(season, "people", "ines-2")["name"] == "ines"
    assert find(season, "runs", "run-2")["notes"].startswith("Ines watched")
    assert find(season, "splits", "sp-2")["note"].startswith("(forgotten person)")
    assert any("run run-2" in line for line in told["to_look_at"])
    assert any("person ines-2" in line for line in told["to_look_at"])


def test_contract_an_id_that_is_the_name_goes_too(database: Database) -> None:
    document = drill()
    document["searchers"][0] |= {"id": "Ines"}
    put(database, "people", "p1", name="Ines")
    put(database, "drills", "d", document=document)
    put(database, "runs", "r", drill_id="d", searchers=[{"searcher": "Ines", "person_id": "p1"}])
    put(database, "splits", "s", run_id="r", split="airway_clear", searcher="Ines", since_alarm_s=1.0)
    forget(database, "p1")
    assert find(database, "splits", "s")["searcher"] == "searcher-1"
    assert find(database, "runs", "r")["searchers"] == [{"searcher": "searcher-1", "person_id": None}]
    assert find(database, "drills", "d")["document"]["searchers"][0]["id"] == "searcher-1"


def test_contract_copies_that_still_hold_the_person_are_named(on_sqlite: Database, folder: Folder) -> None:
    a_small_season(on_sqlite)
    path = backup(Data(folder))
    assert forget(on_sqlite, "ines", folder=folder).copies_that_still_hold_the_person == (str(path),)


def test_contract_who_is_meant_must_be_clear(season: Database) -> None:
    assert who_is(season, "INES") == "ines"
    put(season, "people", "x", name="Ines")
    assert who_is(season, "ines") == "ines"
    with pytest.raises(UnknownRecord, match="ines, x"):
        who_is(season, "Ines")
    with pytest.raises(UnknownRecord):
        who_is(season, "Nobody")
