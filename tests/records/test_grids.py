"""Elevation grids in the records: kept unchanged, deleted and restored with their drill, read from old archives."""

from __future__ import annotations

import json
import zipfile
from hashlib import sha256
from pathlib import Path

from coldfield.app.ground.on_record import grid_file
from coldfield.app.records.keeping import export_records, forget, import_records
from coldfield.app.records.reading import find, page, remove, undo
from coldfield.records.database import Database
from example_records import GRID, a_small_season, keep_grid


def test_contract_a_grid_goes_and_comes_back_with_its_drill(database: Database) -> None:
    a_small_season(database)
    keep_grid(database, "grid-1", drill_id="fan", file_name="bowl.asc", crs="site")
    for record_id in [run["id"] for run in page(database, "runs")]:
        remove(database, "runs", record_id)
    deletion = remove(database, "drills", "fan")
    assert page(database, "grids") == []
    undo(database, deletion)
    assert grid_file(database, "grid-1")[1] == GRID


def test_contract_a_grid_named_after_a_person_loses_the_name_with_the_person(database: Database) -> None:
    a_small_season(database)
    keep_grid(database, "grid-1", drill_id="fan", file_name="Yuki bowl.asc", crs="site")
    forget(database, "yuki")
    assert "Yuki" not in find(database, "grids", "grid-1")["file_name"]


def test_contract_an_archive_from_before_there_were_grids_is_read(
    database: Database, empty: Database, tmp_path: Path
) -> None:
    a_small_season(database)
    export_records(database, tmp_path / "new.zip")
    with (
        zipfile.ZipFile(tmp_path / "new.zip") as new,
        zipfile.ZipFile(tmp_path / "old.zip", "w") as old,
    ):
        members = {name: new.read(name) for name in new.namelist() if name != "records/grids.json"}
        manifest = json.loads(members.pop("manifest.json"))
        manifest["sha256"] = {name: sha256(data).hexdigest() for name, data in members.items()}
        for name, data in members.items():
            old.writestr(name, data)
        old.writestr("manifest.json", json.dumps(manifest))
    counts = import_records(empty, tmp_path / "old.zip")
    assert counts["grids"] == 0
    assert counts["drills"] == len(page(empty, "drills")) > 0
