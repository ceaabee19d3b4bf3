import sys

import numpy as np
import pytest
import rasterio

from coldfield.errors import BadInput
from coldfield.files.elevation import projection, read_ascii_grid, read_elevation

HEAD = "ncols 4\nnrows 3\nxllcorner 500000\nyllcorner 6780000\ncellsize 10\nNODATA_value -9999\n"
BODY = "1 2 3 4\n5 6 7 8\n9 10 11 -9999\n"


def geotiff(**changes) -> bytes:
    height = np.array([[1, 2, 3, 4], [5, 6, 7, 8], [9, 10, 11, -9999]], dtype="float32")
    profile = {
        "driver": "GTiff",
        "width": 4,
        "height": 3,
        "count": 1,
        "dtype": "float32",
        "crs": "EPSG:32632",
        "transform": rasterio.Affine(10, 0, 500000, 0, -10, 6780030),
        "nodata": -9999,
    } | changes
    with rasterio.MemoryFile() as memory:
        with memory.open(**profile) as dataset:
            # The data set must be closed before its bytes are read.
            for band in range(profile["count"]):
                dataset.write(height, band + 1)
        return bytes(memory.getbuffer())


def test_independent_route_ascii_and_geotiff_and_rasterio_agree() -> None:
    # The same grid as ESRI ASCII and as GeoTIFF, both also read by rasterio (GDAL).
    text, tiff = (HEAD + BODY).encode(), geotiff()
    ours = read_elevation(text, "a.asc"), read_elevation(tiff, "a.tif")
    for grid in ours:
        np.testing.assert_array_equal(grid.height_m, [[9, 10, 11, np.nan], [5, 6, 7, 8], [1, 2, 3, 4]])
        np.testing.assert_array_equal(grid.x, [500005, 500015, 500025, 500035])
        np.testing.assert_array_equal(grid.y, [6780005, 6780015, 6780025])
    for data, ending in ((text, ".asc"), (tiff, ".tif")):
        with rasterio.MemoryFile(data, ext=ending) as memory, memory.open() as dataset:
            theirs = dataset.read(1, masked=True).astype(float).filled(np.nan)[::-1]
            left, bottom, right, top = dataset.bounds
        np.testing.assert_array_equal(theirs, ours[0].height_m)
        assert (left, right) == (ours[0].x[0] - 5, ours[0].x[-1] + 5)
        assert (bottom, top) == (ours[0].y[0] - 5, ours[0].y[-1] + 5)
    assert ours[1].crs == "EPSG:32632"


def test_contract_centres_may_be_given_instead_of_corners() -> None:
    grid = read_ascii_grid(HEAD.replace("llcorner", "llcenter") + BODY, "a.asc")
    assert (grid.x[0], grid.y[0]) == (500000.0, 6780000.0)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (BODY, "ncols: is missing"),
        (HEAD.replace("ncols 4", "ncols four") + BODY, "ncols: 'four' is not a whole number"),
        (HEAD.replace("ncols 4", "ncols -4") + BODY, "ncols: '-4' is not a whole number"),
        (HEAD.replace("ncols 4", "ncols 99999999") + BODY, "at most 16,000,000 are read"),
        (HEAD.replace("cellsize 10", "cellsize 0") + BODY, "cellsize: must be above 0"),
        (HEAD.replace("cellsize 10", "cellsize nan") + BODY, "cellsize: 'nan' is not a number"),
        (HEAD + "dx 3\n" + BODY, "'dx' is not a key"),
        (HEAD + "ncols 4\n" + BODY, "ncols occurs twice"),
        (HEAD + "xllcenter 3\n" + BODY, "are both given"),
        (HEAD + BODY + "5\n", "has 13 heights; 4 by 3 need 12"),
        (HEAD + BODY.replace("7", "seven"), "line 8: 'seven' is not a height"),
        (HEAD + BODY.replace("7", "1e30"), "metres between -500 and 9000"),
        (HEAD + BODY.replace("7", "inf"), "heights range from"),
        (HEAD + "-9999 " * 12, "has no height at all"),
    ],
)
def test_contract_a_broken_ascii_grid_is_refused_by_name(text: str, words: str) -> None:
    with pytest.raises(BadInput, match=r"a\.asc: ") as caught:
        read_ascii_grid(text, "a.asc")
    assert words in str(caught.value)


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (geotiff(count=2), "has 2 bands"),
        (geotiff(crs=None), "has no coordinate system"),
        (geotiff(transform=rasterio.Affine(10, 1, 0, 0, -10, 0)), "is rotated or mirrored"),
        (geotiff()[:120], "cannot be read as a GeoTIFF"),
        (b"\x89PNG\r\n\x1a\n" + bytes(40), "is not UTF-8"),
        (b"", "is empty"),
    ],
)
def test_contract_a_broken_geotiff_is_refused(data: bytes, words: str) -> None:
    with pytest.raises(BadInput) as caught:
        read_elevation(data, "a.tif")
    assert words in str(caught.value)


def test_contract_without_the_extra_a_geotiff_says_what_to_do(monkeypatch) -> None:
    data = geotiff()
    for name in ["rasterio", *(name for name in sys.modules if name.startswith("rasterio."))]:
        monkeypatch.setitem(sys.modules, name, None)  # a submodule loaded already would still be found
    with pytest.raises(BadInput, match="install the extra 'elevation'"):
        read_elevation(data, "a.tif")
    with pytest.raises(BadInput, match="install the extra 'elevation'"):
        projection("EPSG:2056", "a.asc")


def test_independent_route_own_utm_and_rasterio_agree_on_a_place() -> None:
    lat, lon = np.radians([61.2]), np.radians([8.1])
    own = projection("EPSG:32632", "x")(lat, lon)
    wkt = rasterio.crs.CRS.from_epsg(32632).to_wkt()
    theirs = projection(wkt, "x")(lat, lon)
    np.testing.assert_allclose(own, theirs, atol=2e-3)
    with pytest.raises(BadInput, match="is not a coordinate system"):
        projection("EPSG:0000", "x")
