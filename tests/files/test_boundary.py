import json

import numpy as np
import pytest
from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st
from pyproj import Geod

from amount import examples
from coldfield.cli.main import group
from coldfield.errors import BadInput
from coldfield.files.boundary import read_boundary
from coldfield.files.drill_json import read_drill

CORNERS = [[8.1, 61.2], [8.101, 61.2], [8.1012, 61.2007], [8.1, 61.2007]]


def _geojson(ring=CORNERS, **other) -> bytes:
    polygon = {"type": "Polygon", "coordinates": [[*ring, ring[0]]], **other}
    cairn = {
        "type": "Feature",
        "properties": {"name": "cairn"},
        "geometry": {"type": "Point", "coordinates": [8.1005, 61.2003]},
    }
    area = {"type": "Feature", "properties": {}, "geometry": polygon}
    return json.dumps({"type": "FeatureCollection", "features": [area, cairn]}).encode()


def _gpx(points=CORNERS, version="1/1") -> bytes:
    track = "".join(f'<trkpt lat="{lat}" lon="{lon}"><ele>1200</ele></trkpt>' for lon, lat in points)
    return (
        f'<gpx xmlns="http://www.topografix.com/GPX/{version}"><wpt lat="61.2003" lon="8.1005"><name>cairn</name></wpt>'
        f"<trk><trkseg>{track}</trkseg></trk></gpx>"
    ).encode()


@pytest.mark.parametrize("data", [_geojson(), _gpx(), _gpx(version="1/0"), b"\xef\xbb\xbf" + _gpx()])
def test_contract_ground_and_anchor_are_read_from_both_formats(data: bytes) -> None:
    boundary = read_boundary(data, "bowl")
    assert boundary.outer == tuple((lat, lon) for lon, lat in CORNERS)
    assert boundary.places == (("cairn", (61.2003, 8.1005)),)


def test_independent_route_sides_of_a_new_drill_have_the_geodesic_length(tmp_path) -> None:
    # PROJ's geodesic, scaled from the ellipsoid to the ground at 1200 m by 1 + h/R, R = 6.38e6 m.
    path, out = tmp_path / "bowl.gpx", tmp_path / "bowl.json"
    path.write_bytes(_gpx())
    result = CliRunner().invoke(group, ["new", str(path), "--out", str(out), "--searchers", "3"])
    assert result.exit_code == 0, result.output
    drill = read_drill(out.read_text())
    ring = np.array(drill.site.boundary_m)
    sides = np.linalg.norm(np.roll(ring, -1, axis=0) - ring, axis=1)
    lon, lat = np.array(CORNERS).T
    _, _, geodesic = Geod(ellps="WGS84").inv(lon, lat, np.roll(lon, -1), np.roll(lat, -1))
    np.testing.assert_allclose(sides, geodesic * (1 + 1200 / 6.38e6), atol=0.015)  # rounded to centimetres
    assert drill.site.origin.elevation_m == 1200
    assert [a.name for a in drill.site.anchors] == ["cairn"]
    assert len(drill.searchers) == 3


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "is empty"),
        (b"<gpx>", "not well-formed XML"),
        (b"<kml></kml>", "not GPX"),
        (b'<!DOCTYPE g [<!ENTITY a "b">]><gpx>&a;</gpx>', "declares XML entities"),
        (_gpx(CORNERS[:2]), "has 2 points"),
        (_gpx([["x", 1], *CORNERS]), "trkpt 1: must be [longitude, latitude]"),
        (_geojson([[lat, lon + 90] for lon, lat in CORNERS]), "longitude comes first"),
        (b'{"type": "FeatureCollection", "features": []}', "contains no Polygon"),
        (b'{"type": "Polygon", "coordinates": 3}', "coordinates: must be a list of rings"),
        (b'{"type": "Polygon", "coordinates": [[[0, 0], [1, 1], "x"]]}', "coordinates[0][2]: must be"),
        (b'{"type": "MultiPolygon", "coordinates": [[], []]}', "several polygons"),
    ],
)
def test_contract_files_that_are_no_ground_are_refused_with_the_remedy(data: bytes, words: str) -> None:
    with pytest.raises(BadInput) as caught:
        read_boundary(data, "bowl")
    assert words in str(caught.value)


def test_contract_crossing_ground_is_refused_by_the_command(tmp_path) -> None:
    path = tmp_path / "bad.json"
    path.write_bytes(_geojson([CORNERS[0], CORNERS[2], CORNERS[1], CORNERS[3]]))
    result = CliRunner().invoke(group, ["new", str(path)])
    assert isinstance(result.exception, BadInput)
    assert "crosses or touches itself" in str(result.exception)


@given(
    st.binary(max_size=120)
    | st.text(max_size=80).map(lambda t: b"<gpx>" + t.encode(errors="replace") + b"</gpx>")
)
@examples(80)
def test_property_any_bytes_are_read_or_refused(data: bytes) -> None:
    try:
        read_boundary(data, "x")
    except BadInput as error:
        assert error.texts()


@given(
    st.recursive(
        st.none() | st.floats() | st.text(max_size=3), lambda c: st.lists(c, max_size=4), max_leaves=12
    )
)
@examples(80)
def test_property_any_coordinates_are_read_or_refused(coordinates) -> None:
    data = json.dumps({"type": "Polygon", "coordinates": coordinates}).encode()
    try:
        read_boundary(data, "x")
    except BadInput as error:
        assert error.texts()
