"""Elevation grids: ESRI ASCII by itself, GeoTIFF by the optional extra 'elevation'."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from math import isfinite
from typing import Any

import numpy as np
from numpy.typing import NDArray

from coldfield.drill.utm import utm
from coldfield.errors import BadInput
from coldfield.files.json_text import decode_text

MOST_BYTES = 150_000_000
MOST_CELLS = 16_000_000
_EXTRA = "install the extra 'elevation' (rasterio) for it"
_KEYS = ("ncols", "nrows", "xllcorner", "xllcenter", "yllcorner", "yllcenter", "cellsize", "nodata_value")

Project = Callable[
    [NDArray[np.float64], NDArray[np.float64]], tuple[NDArray[np.float64], NDArray[np.float64]]
]
"""Latitude and longitude, rad, WGS84 -> x and y of the grid's own system."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ElevationFile:
    """Heights as a file gives them: x (nx,) and y (ny,) of cell centres, ascending, in its own system.

    `crs` names that system: 'site' for metres of the site frame, else an 'EPSG:...' code, or a WKT
    text; None where the file does not tell. `height_m` (ny, nx) has `nan` where nothing is known.
    """

    x: NDArray[np.float64]
    y: NDArray[np.float64]
    height_m: NDArray[np.float64]
    crs: str | None


def read_elevation(data: bytes, source: str) -> ElevationFile:
    """Return the elevation grid in a file: a GeoTIFF by its first bytes, else ESRI ASCII.

    Raises
    ------
    BadInput
        If the file is neither, is broken or too large, or is a GeoTIFF and the extra is missing.
    """
    if len(data) > MOST_BYTES:
        raise BadInput(
            f"is larger than {MOST_BYTES / 1e6:.0f} MB; cut it to the ground round the site", source
        )
    if data[:4] in (b"II*\x00", b"MM\x00*", b"II+\x00", b"MM\x00+"):
        return _geotiff(data, source)
    return read_ascii_grid(decode_text(data, source, most_bytes=MOST_BYTES), source)


def read_ascii_grid(text: str, source: str) -> ElevationFile:
    """Return an ESRI ASCII grid; every header line is checked, and the number of heights.

    Raises
    ------
    BadInput
        With each fault of the header, else the first of the body.
    """
    lines = text.split("\n")
    header, faults, body = _header(lines)
    nx, ny = (_count(header, key, faults) for key in ("ncols", "nrows"))
    cell = _number(header, "cellsize", faults)
    x0, y0 = (_corner(header, axis, faults) for axis in "xy")
    nodata = _number(header, "nodata_value", faults) if "nodata_value" in header else -9999.0
    if cell <= 0.0:
        faults.append("cellsize: must be above 0")
    if nx * ny > MOST_CELLS:
        faults.append(f"has {nx} by {ny} cells; at most {MOST_CELLS / 1e6:.0f} million are read")
    if faults:
        raise BadInput(faults, source)
    height = _heights(lines[body:], body, nx, ny, source)
    height[height == nodata] = np.nan
    x = np.asarray(x0 + cell * (np.arange(nx) + (0.5 if "xllcorner" in header else 0.0)), dtype=np.float64)
    y = np.asarray(y0 + cell * (np.arange(ny) + (0.5 if "yllcorner" in header else 0.0)), dtype=np.float64)
    return ElevationFile(x=x, y=y, height_m=_checked(height[::-1], source), crs=None)


def _header(lines: list[str]) -> tuple[dict[str, str], list[str], int]:
    header: dict[str, str] = {}
    faults: list[str] = []
    for number, line in enumerate(lines):
        words = line.split()
        if not words:
            continue
        if not words[0][0].isalpha() or words[0].lower() == "nan":
            return header, faults, number
        key = words[0].lower()
        if key not in _KEYS:
            faults.append(f"line {number + 1}: '{words[0][:40]}' is no key of an ESRI ASCII grid")
        elif key in header:
            faults.append(f"line {number + 1}: {key} stands there twice")
        elif len(words) != 2:
            faults.append(f"line {number + 1}: {key} must have one value")
        else:
            header[key] = words[1]
        if len(faults) >= 5:
            break
    return header, faults, len(lines)


def _number(header: dict[str, str], key: str, faults: list[str]) -> float:
    if key not in header:
        faults.append(f"{key}: is missing")
        return 1.0
    try:
        value = float(header[key])
    except ValueError:
        value = float("nan")
    if not isfinite(value) and key != "nodata_value":
        faults.append(f"{key}: '{header[key][:40]}' is not a number")
        return 1.0
    return value


def _count(header: dict[str, str], key: str, faults: list[str]) -> int:
    if key in header and not re.fullmatch(r"[0-9]{1,9}", header[key]):
        faults.append(f"{key}: '{header[key][:40]}' is not a whole number")
        return 3
    value = int(_number(header, key, faults))
    if key in header and value < 3:
        faults.append(f"{key}: must be at least 3, not {value}")
    return value


def _corner(header: dict[str, str], axis: str, faults: list[str]) -> float:
    given = [key for key in (f"{axis}llcorner", f"{axis}llcenter") if key in header]
    if len(given) != 1:
        what = "are both given" if given else "are both missing"
        faults.append(f"{axis}llcorner and {axis}llcenter {what}; give one of them")
        return 0.0
    return _number(header, given[0], faults)


def _heights(lines: list[str], first: int, nx: int, ny: int, source: str) -> NDArray[np.float64]:
    rows = []
    for number, line in enumerate(lines, start=first + 1):
        words = line.split()
        try:
            rows.append(np.array(words, dtype=np.float64))
        except ValueError:
            wrong = next(word for word in words if not _is_number(word))
            raise BadInput(f"line {number}: '{wrong[:40]}' is not a height", source) from None
    height = np.concatenate(rows) if rows else np.zeros(0)
    if len(height) != nx * ny:
        raise BadInput(f"holds {len(height)} heights; {nx} by {ny} need {nx * ny}", source)
    return height.reshape(ny, nx)


def _is_number(word: str) -> bool:
    try:
        float(word)
    except ValueError:
        return False
    return True


def _checked(height: NDArray[np.float64], source: str) -> NDArray[np.float64]:
    known = height[np.isfinite(height)]
    if not len(known):
        raise BadInput("holds no height at all", source)
    if np.isinf(height).any() or known.min() < -500.0 or known.max() > 9000.0:
        raise BadInput(
            f"heights run from {known.min():g} to {known.max():g}; metres between -500 and 9000 are meant",
            source,
        )
    return np.ascontiguousarray(height)


def _geotiff(data: bytes, source: str) -> ElevationFile:
    try:
        import rasterio
        from rasterio.errors import RasterioError
        from rasterio.io import MemoryFile
    except ImportError:
        raise BadInput(f"is a GeoTIFF: {_EXTRA}, or save it as ESRI ASCII", source) from None
    try:
        with (
            rasterio.Env(GDAL_DISABLE_READDIR_ON_OPEN="EMPTY_DIR"),
            MemoryFile(data) as memory,
            memory.open(driver="GTiff") as dataset,
        ):
            return _dataset(dataset, source)
    except RasterioError as error:
        raise BadInput(f"cannot be read as a GeoTIFF: {str(error).splitlines()[0][:120]}", source) from None


def _dataset(dataset: Any, source: str) -> ElevationFile:
    t = dataset.transform
    faults = []
    if dataset.count != 1:
        faults.append(f"has {dataset.count} bands; an elevation grid has one")
    if dataset.crs is None:
        faults.append("holds no coordinate system")
    if t.b or t.d or t.a <= 0 or t.e >= 0:
        faults.append("is turned or mirrored; save it with north up")
    if dataset.width * dataset.height > MOST_CELLS:
        faults.append(
            f"has {dataset.width} by {dataset.height} cells; at most {MOST_CELLS / 1e6:.0f} million are read"
        )
    if min(dataset.width, dataset.height) < 3:
        faults.append("has fewer than 3 by 3 cells")
    if faults:
        raise BadInput(faults, source)
    band = dataset.read(1, masked=True).astype(np.float64)
    height = np.ma.filled(band * dataset.scales[0] + dataset.offsets[0], np.nan)
    x = t.c + t.a * (np.arange(dataset.width) + 0.5)
    y = t.f + t.e * (np.arange(dataset.height) + 0.5)
    code = dataset.crs.to_epsg()
    crs = f"EPSG:{code}" if code else str(dataset.crs.to_wkt())
    return ElevationFile(x=x, y=y[::-1], height_m=_checked(height[::-1], source), crs=crs)


def projection(crs: str, source: str) -> Project:
    """Return how WGS84 positions become x and y of a system.

    WGS84 degrees (EPSG:4326) and UTM zones on WGS84 or ETRS89 (EPSG:326zz, 327zz, 258zz) are
    computed here; any other needs the extra 'elevation'.

    Raises
    ------
    BadInput
        If the system is unknown, or needs the extra and that is missing.
    """
    code = crs.upper().removeprefix("EPSG:").strip()
    if code in ("4326", "4258"):
        return lambda lat, lon: (np.degrees(lon), np.degrees(lat))
    if re.fullmatch(r"(326|327|258)\d\d", code) and 1 <= int(code[3:]) <= 60:
        zone, south = int(code[3:]), code.startswith("327")
        return lambda lat, lon: utm(lat, lon, zone=zone, south=south)
    try:
        from rasterio.crs import CRS
        from rasterio.errors import CRSError
        from rasterio.warp import transform
    except ImportError:
        raise BadInput(f"the system '{crs[:60]}' is not known without help: {_EXTRA}", source) from None
    try:
        target = CRS.from_user_input(crs)
    except CRSError:
        raise BadInput(f"'{crs[:60]}' is no coordinate system; name it like EPSG:32633", source) from None

    def project(
        lat: NDArray[np.float64], lon: NDArray[np.float64]
    ) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        flat = transform(CRS.from_epsg(4326), target, np.degrees(lon).ravel(), np.degrees(lat).ravel())
        return np.reshape(flat[0], lon.shape), np.reshape(flat[1], lat.shape)

    return project
