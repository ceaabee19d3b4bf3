"""Export everything to an open zip and import it: round trips, damage, an independent reader."""

from __future__ import annotations

import io
import json
import os
import subprocess
import sys
import zipfile
from pathlib import Path
from typing import Any

import pytest

from coldfield.app.drills.files import load_splits
from coldfield.app.records.keeping import export_records, import_records
from coldfield.app.records.reading import remove
from coldfield.errors import BadInput, Refused
from coldfield.files.drill_json import read_drill
from coldfield.records.database import Database
from example_records import GPX, a_small_season, drill, dump, keep_grid, keep_track, put


def a_season_with_history(database: Database) -> None:
    a_small_season(database)
    put(database, "drills", "fan", based_on=1, document=drill(name="Changed since"), site_id="bowl")
    keep_track(database, "tr-2", GPX + b"\x00\xff", run_id="run-1", file_name="pia — watch.fit")
    keep_grid(database, "grid-1", drill_id="fan", file_name="bowl.asc", crs="site")
    keep_grid(database, "grid-2", b"II*\x00\xff", drill_id="fan", file_name="bowl.tif")
    remove(database, "grids", "grid-2")
    remove(database, "splits", "sp-2")
    remove(database, "people", "yuki")


def test_property_what_goes_out_comes_back_equal(database: Database, empty: Database, tmp_path: Path) -> None:
    a_season_with_history(database)
    counts = export_records(database, tmp_path / "all.zip")
    assert import_records(empty, tmp_path / "all.zip") == counts
    assert dump(empty) == dump(database)
    export_records(empty, tmp_path / "again.zip")
    assert members(tmp_path / "again.zip") == members(tmp_path / "all.zip")


def members(path: Path) -> dict[str, Any]:
    with zipfile.ZipFile(path) as archive:
        found: dict[str, Any] = {name: archive.read(name) for name in archive.namelist()}
    found["manifest.json"] = json.loads(found["manifest.json"]) | {"made_utc": ""}
    return found


def test_contract_files_in_the_archive_are_those_other_programs_read(
    database: Database, tmp_path: Path
) -> None:
    a_season_with_history(database)
    export_records(database, tmp_path / "all.zip")
    found = members(tmp_path / "all.zip")
    assert found["tracks/tr-1.gpx"] == GPX
    assert read_drill(found["drills/fan/1.json"].decode()).name == "Two on the lower fan"
    assert read_drill(found["drills/fan/2.json"].decode()).name == "Changed since"
    (tmp_path / "splits.csv").write_bytes(found["runs/run-1/splits.csv"])
    assert [row.split for row in load_splits(tmp_path / "splits.csv").rows] == ["alarm"]


def test_contract_an_import_needs_empty_records(database: Database, tmp_path: Path) -> None:
    a_small_season(database)
    export_records(database, tmp_path / "all.zip")
    with pytest.raises(Refused, match="empty"):
        import_records(database, tmp_path / "all.zip")


def rewritten(path: Path, out: Path, *, drop: str = "", **changes: bytes) -> Path:
    """Copy an archive with some changed members."""
    with zipfile.ZipFile(path) as old, zipfile.ZipFile(out, "w") as new:
        for name in old.namelist():
            if name != drop:
                new.writestr(name, changes.get(name, old.read(name)))
        for name in set(changes) - set(old.namelist()):
            new.writestr(name, changes[name])
    return out


@pytest.mark.parametrize(
    ("how", "fault"),
    [
        ({"drop": "manifest.json"}, "has no manifest"),
        ({"drop": "tracks/tr-1.gpx"}, "is missing|not what"),
        ({"tracks/tr-1.gpx": b"another"}, "was damaged or altered"),
        ({"records/people.json": b"[]"}, "was damaged or altered"),
        ({"extra.txt": b"x"}, "is not in the manifest"),
        ({"manifest.json": b'{"format": "coldfield-records/9"}'}, "format: must be"),
        ({"manifest.json": b"[1]"}, "format: must be"),
    ],
)
def test_contract_a_damaged_archive_is_refused_whole(
    database: Database, empty: Database, tmp_path: Path, how: dict[str, Any], fault: str
) -> None:
    a_small_season(database)
    export_records(database, tmp_path / "all.zip")
    bad = rewritten(tmp_path / "all.zip", tmp_path / "bad.zip", **how)
    before = dump(empty)
    with pytest.raises(BadInput, match=fault):
        import_records(empty, bad)
    assert dump(empty) == before


def test_contract_a_record_that_cannot_be_used_names_its_place(
    database: Database, empty: Database, tmp_path: Path
) -> None:
    from hashlib import sha256

    a_small_season(database)
    export_records(database, tmp_path / "all.zip")
    found = members(tmp_path / "all.zip")
    people = json.loads(found["records/people.json"])
    people[1]["name"] = ""
    people[2]["colour"] = "red"
    text = json.dumps(people).encode()
    manifest = json.loads(json.dumps(found["manifest.json"]))
    manifest["sha256"]["records/people.json"] = sha256(text).hexdigest()
    changes = {"records/people.json": text, "manifest.json": json.dumps(manifest).encode()}
    bad = rewritten(tmp_path / "all.zip", tmp_path / "bad.zip", **changes)
    with pytest.raises(BadInput, match=r"records/people\.json\[1\]: name: "):
        import_records(empty, bad)
    assert dump(empty)["person"] == []


@pytest.mark.parametrize("data", [b"", b"PK\x03\x04", b"no zip at all" * 50])
def test_contract_what_is_no_zip_is_told(empty: Database, tmp_path: Path, data: bytes) -> None:
    (tmp_path / "x.zip").write_bytes(data)
    with pytest.raises(BadInput, match="not a zip file"):
        import_records(empty, tmp_path / "x.zip")


def test_property_an_archive_cut_anywhere_is_refused(
    database: Database, empty: Database, tmp_path: Path
) -> None:
    a_small_season(database)
    export_records(database, tmp_path / "all.zip")
    data = (tmp_path / "all.zip").read_bytes()
    before = dump(empty)
    for cut in range(0, len(data), max(len(data) // 25, 1)):
        (tmp_path / "cut.zip").write_bytes(data[:cut])
        with pytest.raises(BadInput):
            import_records(empty, tmp_path / "cut.zip")
    assert dump(empty) == before


def test_property_an_archive_with_flipped_bytes_is_refused_or_equal(
    database: Database, empty: Database, tmp_path: Path
) -> None:
    a_small_season(database)
    export_records(database, tmp_path / "all.zip")
    data = (tmp_path / "all.zip").read_bytes()
    for place in range(7, len(data), max(len(data) // 60, 1)):
        hurt = bytearray(data)
        hurt[place] ^= 0x55
        try:
            with empty.write(keep=False) as connection:
                from coldfield.files.records_zip import ArchiveReader
                from coldfield.records.archive_in import read_archive

                read_archive(connection, ArchiveReader(io.BytesIO(hurt), "hurt.zip"))
        except BadInput:
            pass


def test_independent_route_a_program_that_knows_only_the_description_reads_an_export(
    database: Database, tmp_path: Path
) -> None:
    a_season_with_history(database)
    export_records(database, tmp_path / "all.zip")
    reader = Path(__file__).with_name("reader_of_exports.py")
    clean = {key: value for key, value in os.environ.items() if key != "PYTHONPATH"}
    done = subprocess.run(
        [sys.executable, "-I", "-S", str(reader), str(tmp_path / "all.zip")],
        capture_output=True,
        text=True,
        timeout=60,
        check=True,
        env=clean,
    )
    seen = json.loads(done.stdout)
    assert seen["people"] == ["Bram", "Ines"]
    assert seen["runs"] == [
        {
            "name": "Run 1",
            "held_utc": "2026-02-14T09:30:00.000Z",
            "drill": "Two on the lower fan",
            "who": {"s1": "Ines", "s2": "Bram"},
            "splits": [["2026-02-14T09:30:00Z", "alarm", ""]],
            "tracks": {"ines.gpx": 2, "pia — watch.fit": None},
        }
    ]
