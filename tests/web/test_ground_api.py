"""The ground through the API: a boundary from a file, an elevation grid kept, drawn and screened."""

from __future__ import annotations

import json
from typing import Any

import numpy as np
import pytest
from pyproj import Geod
from starlette.testclient import TestClient

from example_records import drill
from spoken_answers import in_english

CORNERS = [[8.1, 61.2], [8.101, 61.2], [8.1012, 61.2007], [8.1, 61.2007]]
FACING_SOUTH_DEG = 12.0


def geojson(ring: list[list[float]] = CORNERS) -> bytes:
    area = {"type": "Feature", "properties": {}, "geometry": {"type": "Polygon", "coordinates": [ring]}}
    cairn = {
        "type": "Feature",
        "properties": {"name": "cairn"},
        "geometry": {"type": "Point", "coordinates": ring[0]},
    }
    return json.dumps({"type": "FeatureCollection", "features": [area, cairn]}).encode()


def grid(cell: float = 10.0, n: int = 120, cliff: bool = False) -> bytes:
    """A slope of 12 degrees that faces south, in metres of the site; with a cliff 300 m to the north."""
    middle = (np.arange(n) - n / 2) * cell
    height = 1180.0 + np.tan(np.radians(FACING_SOUTH_DEG)) * middle[:, None] + np.zeros(n)
    if cliff:
        height += 1.5 * np.clip(middle[:, None] - 300.0, 0.0, 100.0)
    head = f"ncols {n}\nnrows {n}\nxllcenter {middle[0]}\nyllcenter {middle[0]}\ncellsize {cell}\n"
    return (head + "\n".join(" ".join(f"{v:.3f}" for v in row) for row in height[::-1])).encode()


def kept(client: TestClient, content: bytes, **query: Any) -> Any:
    client.put("/api/drills/fan", json={"document": drill()})
    return client.put(
        "/api/drills/fan/grids/g1", content=content, params={"file_name": "bowl.asc", "crs": "site", **query}
    )


def test_independent_route_a_boundary_has_its_geodesic_sides_and_keeps_a_near_origin(
    client: TestClient,
) -> None:
    own = client.post("/api/boundary", content=geojson(), params={"file_name": "bowl.geojson"}).json()["site"]
    origin = {"latitude_deg": 61.19, "longitude_deg": 8.09, "elevation_m": 1180.0}
    near = client.post(
        "/api/boundary", content=geojson(), params={"file_name": "bowl.geojson", **origin}
    ).json()["site"]
    assert near["origin"] == origin
    lon, lat = np.array(CORNERS).T
    # PROJ's geodesic, scaled from the ellipsoid to the ground by 1 + h/R, R = 6.38e6 m; centimetres are kept.
    _, _, geodesic = Geod(ellps="WGS84").inv(lon, lat, np.roll(lon, -1), np.roll(lat, -1))
    for site, height in ((own, 0.0), (near, 1180.0)):
        ring = np.array(site["boundary_m"])
        sides = np.linalg.norm(np.roll(ring, -1, axis=0) - ring, axis=1)
        np.testing.assert_allclose(sides, geodesic * (1 + height / 6.38e6), atol=0.03)
        assert site["anchors"] == [{"name": "cairn", "position_m": site["boundary_m"][0]}]
    far = {"latitude_deg": 46.0, "longitude_deg": 8.0}
    answer = client.post("/api/boundary", content=geojson(), params={"file_name": "b", **far}).json()["site"]
    assert answer == own


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "is empty"),
        (b"<gpx></gpx>", "no track or route"),
        (geojson([[8.1, 61.2], [8.101, 61.2]]), "at least 3 corners"),
        (geojson([CORNERS[0], CORNERS[2], CORNERS[1], CORNERS[3]]), "crosses or touches itself"),
    ],
)
def test_contract_a_file_that_is_no_ground_is_told_in_words(
    client: TestClient, content: bytes, words: str
) -> None:
    answer = client.post("/api/boundary", content=content, params={"file_name": "bowl.geojson"})
    assert answer.status_code == 422
    assert words in "\n".join(answer.json()["faults"])
    assert all(line.startswith("bowl.geojson") for line in answer.json()["faults"])


def test_contract_a_grid_is_kept_as_it_came_and_listed_with_its_drill(client: TestClient) -> None:
    first = kept(client, grid())
    assert (first.status_code, first.json()["file_name"]) == (201, "bowl.asc")
    assert kept(client, grid()).status_code == 200
    listed = client.get("/api/grids", params={"drill_id": "fan"}).json()["items"]
    assert [one["id"] for one in listed] == ["g1"]
    assert client.get("/api/grids/g1/file").content == grid()


def test_independent_route_an_even_slope_is_drawn_with_its_own_slope_and_contours(client: TestClient) -> None:
    kept(client, grid())
    told = client.post("/api/grids/g1/ground", json={"drill": drill()}).json()
    assert told["slope_max_deg"] == pytest.approx(FACING_SOUTH_DEG, abs=0.01)
    assert told["plane"]["aspect_deg"] == pytest.approx(180.0, abs=0.01)
    # The window extends 150 m beyond a site of 60 by 80 m; the height rises by tan(12 deg) per metre north,
    # which gives the contours.
    step = told["contours"]["step_m"] / np.tan(np.radians(FACING_SOUTH_DEG))
    norths = [line[0][1] for one in told["contours"]["lines"] for line in one["lines_m"]]
    np.testing.assert_allclose(np.diff(norths), step, atol=0.11)
    slope = told["slope"]
    assert slope["origin_m"] == [-150.0, -150.0]
    assert len(slope["deg"]) == slope["columns"] * slope["rows"]
    assert set(slope["deg"]) == {12}


def test_contract_steep_ground_above_is_a_warning_and_a_small_grid_cannot_tell(client: TestClient) -> None:
    kept(client, grid(cliff=True))
    told = client.post("/api/grids/g1/ground", json={"drill": drill()}).json()
    assert told["verdict"] == "warning"
    assert told["steep_cells"] > 0
    assert any("north" in reason for reason in in_english(told["reasons"]))
    assert any("never a clearance" in note for note in in_english(told["notes"]))
    small = grid(n=30)
    client.put("/api/drills/fan/grids/g2", content=small, params={"file_name": "small.asc", "crs": "site"})
    assert client.post("/api/grids/g2/ground", json={"drill": drill()}).json()["verdict"] == "cannot tell"


@pytest.mark.parametrize(
    ("content", "query", "words"),
    [
        (b"hello", {}, "bowl.asc"),
        (grid(), {"crs": "EPSG:32632"}, "does not cover the site"),
        (grid(n=5), {}, "does not cover the site"),
    ],
)
def test_contract_a_grid_that_cannot_lie_under_the_site_is_not_kept(
    client: TestClient, content: bytes, query: dict[str, str], words: str
) -> None:
    answer = kept(client, content, **query)
    assert answer.status_code == 422
    assert words in "\n".join(answer.json()["faults"])
    assert client.get("/api/grids").json()["items"] == []


def test_contract_a_grid_without_a_system_asks_for_one(client: TestClient) -> None:
    client.put("/api/drills/fan", json={"document": drill()})
    answer = client.put("/api/drills/fan/grids/g1", content=grid(), params={"file_name": "bowl.asc"})
    assert answer.status_code == 422
    assert "coordinate system" in answer.json()["faults"][0]


def test_contract_a_site_moved_off_its_grid_is_told(client: TestClient) -> None:
    kept(client, grid())
    site = {**drill()["site"], "boundary_m": [[5, 5], [900, 5], [900, 80]]}
    answer = client.post("/api/grids/g1/ground", json={"drill": drill(site=site, burials=[])})
    assert answer.status_code == 422
    assert "does not cover the site" in answer.json()["faults"][0]
