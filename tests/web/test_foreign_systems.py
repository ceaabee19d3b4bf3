"""A GeoTIFF with an unusual, unknown or missing coordinate system is read or clearly refused, by command and API."""

from __future__ import annotations

import json
import struct
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner
from fastapi.testclient import TestClient

from coldfield.cli.main import group
from coldfield.errors import BadInput
from example_records import DRILL
from reader_fuzz import geotiff

OWN = "+proj=tmerc +lat_0=61.2 +lon_0=8.1 +k=1 +x_0={x} +y_0={y} +ellps=WGS84 +units=m +no_defs"


def a_name_that_is_no_text() -> bytes:
    whole = geotiff()
    assert b"WGS 84 / UTM zone 32N" in whole
    return whole.replace(b"WGS 84 / UTM zone 32N", b"WGS \xff\xfe / \xc3\x28M zone 32N")


def a_code(number: int) -> bytes:
    # GeoTIFF 1.1 (OGC 19-008r4), 7.5: key 3072 (ProjectedCRSGeoKey), in place, one value.
    known, other = struct.pack("<4H", 3072, 0, 1, 32632), struct.pack("<4H", 3072, 0, 1, number)
    whole = geotiff()
    assert whole.count(known) == 1
    return whole.replace(known, other)


def a_system_of_its_own() -> bytes:
    from coldfield.drill.utm import utm

    # A transverse Mercator centred on the site, shifted so that the grid's corners stay the same.
    x, y = utm(np.radians(61.2), np.radians(8.1), zone=32, south=False)
    return geotiff(crs=OWN.format(x=float(x), y=float(y)))


FILES: dict[str, tuple[Callable[[], bytes], str | None]] = {
    "a name that is no text": (a_name_that_is_no_text, None),
    "a code nobody gave": (lambda: a_code(30_001), "is not a coordinate system; name it like EPSG:32633"),
    "the code 0": (lambda: a_code(0), "coordinate system"),
    "no system": (lambda: geotiff(crs=None), "has no coordinate system"),
    "a system of its own": (a_system_of_its_own, None),
    "a system of another place": (lambda: geotiff(crs=OWN.format(x=0, y=0)), "does not cover the site"),
}


def by_command(folder: Path, content: bytes, *options: str) -> tuple[str, Any]:
    """Return the text of the refusal, or '' and the answer."""
    (folder / "bowl.tif").write_bytes(content)
    (folder / "drill.json").write_text(json.dumps(DRILL))
    words = [
        "ground",
        str(folder / "drill.json"),
        "--elevation",
        str(folder / "bowl.tif"),
        "--json",
        *options,
    ]
    result = CliRunner().invoke(group, words)
    if result.exception is None:
        return "", json.loads(result.stdout)
    assert isinstance(result.exception, BadInput), result.exc_info
    return str(result.exception), None


def by_route(client: TestClient, content: bytes, **query: str) -> tuple[str, Any]:
    client.put("/api/drills/fan", json={"document": DRILL})
    asked = {"file_name": "bowl.tif", **query}
    answer = client.put("/api/drills/fan/grids/g1", content=content, params=asked)
    if answer.status_code == 422:
        return "\n".join(answer.json()["faults"]), None
    assert answer.status_code == 201, answer.text
    told = client.post("/api/grids/g1/ground", json={"drill": DRILL})
    assert told.status_code == 200, told.text
    return "", told.json()


@pytest.mark.parametrize("name", list(FILES))
def test_contract_both_doors_say_the_same_of_an_odd_system(
    client: TestClient, tmp_path: Path, name: str
) -> None:
    make, refusal = FILES[name]
    content = make()
    (there, told), (here, shown) = by_command(tmp_path, content), by_route(client, content)
    assert bool(there) == bool(here)
    if there:
        assert (refusal or "coordinate system") in there
        assert (refusal or "coordinate system") in here
    else:
        assert refusal is None
        assert shown["slope_mean_deg"] == pytest.approx(told["slope_mean_deg"], abs=0.1)


@pytest.mark.parametrize(
    "crs", ["EPSG:30001", "EPSG:99999999999999999999", "nonsense", "+proj=none", "EPSG:"]
)
def test_contract_a_system_that_is_told_and_does_not_exist_is_refused_at_both_doors(
    client: TestClient, tmp_path: Path, crs: str
) -> None:
    there, _ = by_command(tmp_path, geotiff(), "--crs", crs)
    here, _ = by_route(client, geotiff(), crs=crs)
    assert "is not a coordinate system; name it like EPSG:32633" in there
    assert "is not a coordinate system; name it like EPSG:32633" in here
