"""Pictures in the records: deleted and restored with their drill, exported and imported, without a person's name."""

from __future__ import annotations

import json
import zipfile
from hashlib import sha256
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from coldfield.app.records.keeping import export_records, forget, import_records
from coldfield.app.records.reading import find, page, remove, undo
from coldfield.errors import BadInput
from coldfield.records.database import Database
from coldfield.records.store import Store
from example_records import a_small_season, keep_picture, picture

LAID: dict[str, Any] = {
    "points": [
        {"pixel": [0.0, 0.0], "position_m": [0.0, 80.0]},
        {"pixel": [40.0, 0.0], "position_m": [60.0, 80.0]},
    ],
    "placed_by": "points",
    "matrix": [1.5, 0.0, 0.0, 0.0, -1.5, 80.0],
}


def content_of(database: Database) -> bytes:
    with database.read() as connection:
        return Store(connection, database.stamp()).file("pictures", "p1")


def test_contract_a_picture_goes_and_comes_back_with_its_drill_and_through_an_archive(
    database: Database, empty: Database, tmp_path: Path
) -> None:
    a_small_season(database)
    keep_picture(database, "p1", drill_id="fan", file_name="bowl.png", shown=0.3, **LAID)
    export_records(database, tmp_path / "all.zip")
    import_records(empty, tmp_path / "all.zip")
    assert find(empty, "pictures", "p1") == find(database, "pictures", "p1")
    assert content_of(empty) == picture()
    for record_id in [run["id"] for run in page(database, "runs")]:
        remove(database, "runs", record_id)
    deletion = remove(database, "drills", "fan")
    assert page(database, "pictures") == []
    undo(database, deletion)
    assert content_of(database) == picture()


def test_contract_a_picture_named_after_a_person_loses_the_name_with_the_person(database: Database) -> None:
    a_small_season(database)
    keep_picture(database, "p1", drill_id="fan", file_name="Yuki at the bowl.png")
    forget(database, "yuki")
    assert "Yuki" not in find(database, "pictures", "p1")["file_name"]
    assert content_of(database) == picture()


def with_exif() -> bytes:
    out, exif = BytesIO(), Image.Exif()
    exif[0x010F] = "a camera"
    Image.open(BytesIO(picture())).save(out, "PNG", exif=exif)
    return out.getvalue()


@pytest.mark.parametrize(
    ("content", "told"),
    [(with_exif(), {}), (picture(), {"width_px": 4000}), (b"GIF89a", {}), (picture(), {"placed_by": "file"})],
)
def test_contract_an_archive_cannot_bring_other_than_pixels_or_another_size(
    database: Database, empty: Database, tmp_path: Path, content: bytes, told: dict[str, Any]
) -> None:
    a_small_season(database)
    keep_picture(database, "p1", drill_id="fan", file_name="bowl.png")
    export_records(database, tmp_path / "all.zip")
    with zipfile.ZipFile(tmp_path / "all.zip") as archive:
        members = {name: archive.read(name) for name in archive.namelist()}
    manifest = json.loads(members.pop("manifest.json"))
    (record,) = json.loads(members["records/pictures.json"])
    record |= {**told, "size_bytes": len(content), "sha256": sha256(content).hexdigest()}
    members |= {"records/pictures.json": json.dumps([record]).encode(), record["file"]: content}
    manifest["sha256"] = {name: sha256(data).hexdigest() for name, data in members.items()}
    with zipfile.ZipFile(tmp_path / "other.zip", "w") as other:
        for name, data in {**members, "manifest.json": json.dumps(manifest).encode()}.items():
            other.writestr(name, data)
    with pytest.raises(BadInput):
        import_records(empty, tmp_path / "other.zip")
    assert page(empty, "drills") == []
