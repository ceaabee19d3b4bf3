"""Pictures under a drill through the API: kept, placed by their file or by known points, with an opacity."""

from __future__ import annotations

import json
from io import BytesIO
from typing import Any

import numpy as np
import pytest
import rasterio
from PIL import Image
from pyproj import Geod, Transformer
from starlette.testclient import TestClient

from coldfield.app.debriefs.from_records import debrief_fields
from coldfield.debrief.document import DebriefDocument, DebriefedSite
from coldfield.files.bare_picture import bare_size
from coldfield.files.day_file import read_day_file
from coldfield.files.run_code import read_run_code
from coldfield.records.database import Database
from coldfield.records.store import Store
from example_records import a_small_season, drill, picture

POINTS = [
    {"pixel": [0.0, 0.0], "position_m": [0.0, 80.0]},
    {"pixel": [40.0, 0.0], "position_m": [60.0, 80.0]},
    {"pixel": [40.0, 30.0], "position_m": [60.0, 35.0]},
    {"pixel": [0.0, 30.0], "position_m": [0.0, 39.0]},
]


def kept(client: TestClient, content: bytes, file_name: str = "bowl.png", **changes: Any) -> Any:
    client.put("/api/drills/fan", json={"document": drill(**changes)})
    return client.put("/api/drills/fan/pictures/p1", content=content, params={"file_name": file_name})


def orthophoto(turn_deg: float = 0.0) -> tuple[bytes, Any]:
    """A GeoTIFF with 1 m per pixel around the example's site, in UTM 32, and its transform."""
    x, y = Transformer.from_crs(4326, 32632, always_xy=True).transform(8.1, 61.2)
    lies = (
        rasterio.Affine.translation(x - 100, y + 150)
        @ rasterio.Affine.rotation(turn_deg)
        @ rasterio.Affine.scale(1, -1)
    )
    profile = {
        "driver": "GTiff",
        "width": 300,
        "height": 280,
        "count": 3,
        "dtype": "uint8",
        "photometric": "RGB",
    }
    with rasterio.MemoryFile() as memory:
        with memory.open(**profile, crs="EPSG:32632", transform=lies) as dataset:
            dataset.write(np.full((3, 280, 300), 90, dtype=np.uint8))
        return bytes(memory.getbuffer()), lies


def test_contract_a_picture_is_kept_bare_and_laid_by_points(client: TestClient) -> None:
    answer = kept(client, picture(form="JPEG"), "C:\\photos\\Bowl from above.JPG")
    told = answer.json()
    assert (answer.status_code, told["file_name"]) == (201, "Bowl from above.jpg")
    assert (told["width_px"], told["height_px"], told["placed_by"], told["matrix"]) == (40, 30, None, None)
    assert bare_size(client.get("/api/pictures/p1/file").content) == (40, 30)
    assert [one["id"] for one in client.get("/api/pictures", params={"drill_id": "fan"}).json()["items"]] == [
        "p1"
    ]

    def tell(version: int, **body: Any) -> Any:
        return client.put("/api/pictures/p1", json=body, headers={"if-match": f'"{version}"'})

    two = tell(1, points=POINTS[:2], shown=0.4).json()
    assert (two["placed_by"], two["residual_m"], two["shown"]) == ("points", None, 0.4)
    assert two["matrix"] == [1.5, 0.0, 0.0, 0.0, -1.5, 80.0]
    four = tell(2, points=POINTS).json()
    # One corner 4 m off the rectangle: an affine map leaves a quarter of it at each, 1 m.
    assert four["residual_m"] == pytest.approx(1.0, abs=0.001)
    assert tell(2, points=[]).status_code == 412
    assert tell(3, points=[]).json()["matrix"] is None
    wrong = tell(4, points=[POINTS[0], POINTS[0]])
    assert (wrong.status_code, wrong.json()["faults"]) == (
        422,
        ["points: the known points must be different places, both in the picture and on the plan"],
    )


@pytest.mark.parametrize("turn_deg", [0.0, 25.0])
def test_independent_route_a_geotiff_lies_where_proj_says(client: TestClient, turn_deg: float) -> None:
    content, lies = orthophoto(turn_deg)
    told = kept(client, content, "ortho.tif").json()
    assert (told["placed_by"], told["file_name"]) == ("file", "ortho.jpg")
    a, b, c, d, e, f = told["matrix"]
    for azimuth_deg, metres in ((0, 0.0), (0, 150.0), (90, 120.0), (225, 60.0)):
        # PROJ's geodesic, scaled from the ellipsoid to the ground at 1,180 m.
        lon, lat, _ = Geod(ellps="WGS84").fwd(8.1, 61.2, azimuth_deg, metres / (1 + 1180 / 6.38e6))
        x, y = Transformer.from_crs(4326, 32632, always_xy=True).transform(lon, lat)
        column, row = ~lies @ (x, y)
        way = np.radians(azimuth_deg)
        expected = [metres * np.sin(way), metres * np.cos(way)]
        np.testing.assert_allclose([a * column + b * row + c, d * column + e * row + f], expected, atol=0.02)
    assert told["residual_m"] < 0.01
    shown = client.put("/api/pictures/p1", json={"shown": 0.2}, headers={"if-match": '"1"'}).json()
    assert (shown["matrix"], shown["placed_by"]) == (told["matrix"], "file")


def test_contract_a_georeferenced_picture_needs_a_place_on_earth_and_the_ground_in_it(
    client: TestClient,
) -> None:
    site = drill()["site"]
    nowhere = {**site, "origin": {"latitude_deg": 0, "longitude_deg": 0, "elevation_m": 0}}
    elsewhere = {**site, "origin": {"latitude_deg": 61.3, "longitude_deg": 8.1, "elevation_m": 0}}
    for name, other, words in (
        ("a", nowhere, "no map position"),
        ("b", elsewhere, "does not show the ground"),
    ):
        client.put(f"/api/drills/{name}", json={"document": drill(site=other)})
        answer = client.put(
            f"/api/drills/{name}/pictures/p", content=orthophoto()[0], params={"file_name": "ortho.tif"}
        )
        assert answer.status_code == 422
        assert words in answer.text


def test_contract_too_many_pixels_are_refused_in_words_and_nothing_is_kept(client: TestClient) -> None:
    out = BytesIO()
    Image.new("L", (4001, 4000)).save(out, "PNG")
    answer = kept(client, out.getvalue())
    assert answer.status_code == 422
    assert "4,001 by 4,000 pixels" in answer.json()["faults"][0]
    assert client.get("/api/pictures").json()["items"] == []


def test_contract_the_picture_goes_along_to_the_phone_but_not_into_codes(
    client: TestClient, database: Database
) -> None:
    a_small_season(database)
    anchors = [{"name": "cairn", "position_m": [0, 0]}, {"name": "pole", "position_m": [60, 0]}]
    site = {**drill()["site"], "anchors": anchors}
    client.put("/api/drills/fan", json={"document": drill(site=site)}, headers={"if-match": '"1"'})
    assert "<image" not in client.get("/drills/fan/setup.html").text
    client.put("/api/drills/fan/pictures/p1", content=picture(), params={"file_name": "bowl.png"})
    body = {"points": POINTS[:2], "shown": 0.4}
    client.put("/api/pictures/p1", json=body, headers={"if-match": '"1"'})
    for of in ("runs/run-1", "drills/fan"):
        (run,) = read_day_file(client.get(f"/api/{of}/for-phone").content).runs
        assert run.picture is not None
        assert (run.picture.width_px, run.picture.height_px, run.picture.shown) == (40, 30, 0.4)
        assert run.picture.matrix == [1.5, 0.0, 0.0, 0.0, -1.5, 80.0]
        codes = read_run_code((client.get(f"/api/{of}/codes").json()["fragment"],))
        assert codes.picture is None
    page = client.get("/drills/fan/setup.html")
    assert "<image" in page.text
    assert "img-src data:" in page.headers["content-security-policy"]
    # If hidden, it is not used anywhere.
    client.put("/api/pictures/p1", json={**body, "shown": 0.0}, headers={"if-match": '"2"'})
    (run,) = read_day_file(client.get("/api/runs/run-1/for-phone").content).runs
    assert run.picture is None


def test_contract_the_picture_is_in_the_debrief_as_one_file(client: TestClient, database: Database) -> None:
    a_small_season(database)
    ground = DebriefedSite(boundary_m=((0.0, 0.0), (60.0, 0.0), (60.0, 80.0)))
    with database.write() as connection:
        store = Store(connection, database.stamp())
        fields = debrief_fields(store, "run-1", DebriefDocument(site=ground))
        store.put("debriefs", "told", fields, based_on=None)
    mark = '<script type="application/json" id="debrief-picture">'
    assert mark not in client.get("/debriefs/told").text
    client.put("/api/drills/fan/pictures/p1", content=picture(), params={"file_name": "bowl.png"})
    client.put("/api/pictures/p1", json={"points": POINTS[:2]}, headers={"if-match": '"1"'})
    _, _, after = client.get("/debriefs/told").text.partition(mark)
    told = json.loads(after.partition("</script>")[0])
    assert told["matrix"] == [1.5, 0.0, 0.0, 0.0, -1.5, 80.0]
    assert told["address"].startswith("data:image/webp;base64,")
