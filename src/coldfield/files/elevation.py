"""Elevation grids: ESRI ASCII built in, GeoTIFF with the optional extra 'elevation'."""

from __future__ import annotations

import io
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from math import isfinite
from typing import Any

import numpy as np
from numpy.typing import NDArray

from coldfield.drill.utm import utm
from coldfield.errors import BadInput
from coldfield.files.csv_text import refuse_other_than_utf8
from coldfield.files.geotiff import opened_geotiff
from coldfield.files.places import line
from coldfield.message import Message, message, number, size

MOST_BYTES = 150_000_000
MOST_CELLS = 16_000_000
MOST_CELL = 1e6
FARTHEST = 1e9
"""The largest cell, and the farthest corner, in units of the grid's own system. Settings."""

_PIECE = 1 << 20
_SOME = 100_000
_LONGEST_WORD = 100
_HEADER_BYTES = 64_000
_KEYS = ("ncols", "nrows", "xllcorner", "xllcenter", "yllcorner", "yllcenter", "cellsize", "nodata_value")

Project = Callable[
    [NDArray[np.float64], NDArray[np.float64]], tuple[NDArray[np.float64], NDArray[np.float64]]
]
"""Latitude and longitude, rad, WGS84 -> x and y of the grid's own system."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ElevationFile:
    """Heights in a file: x (nx,) and y (ny,) of cell centres, ascending, in its own system.

    `crs` names that system: 'site' for metres of the site frame, otherwise an 'EPSG:...' code or a WKT
    text; None if the file does not say. `height_m` (ny, nx) is `nan` where it is unknown.
    """

    x: NDArray[np.float64]
    y: NDArray[np.float64]
    height_m: NDArray[np.float64]
    crs: str | None


def read_elevation(data: bytes, source: str) -> ElevationFile:
    """Return the elevation grid in a file: a GeoTIFF by its first bytes, otherwise ESRI ASCII.

    Raises
    ------
    BadInput
        If the file is neither, is damaged or too large, or is a GeoTIFF and the extra is missing.
    """
    if len(data) > MOST_BYTES:
        raise BadInput(message("fault.larger_than_ground", most=size(MOST_BYTES)), source)
    if data[:4] in (b"II*\x00", b"MM\x00*", b"II+\x00", b"MM\x00+"):
        return _geotiff(data, source)
    refuse_other_than_utf8(data, source)
    if not data.strip():
        raise BadInput(message("fault.empty"), source)
    return read_ascii_grid(data, source)


def read_ascii_grid(text: str | bytes, source: str) -> ElevationFile:
    """Return an ESRI ASCII grid; every header line and the number of heights are checked.

    The heights are read piece by piece, so a file needs no more memory than its cells.

    Raises
    ------
    BadInput
        With each fault of the header, otherwise the first one of the body.
    """
    data = text.encode() if isinstance(text, str) else text
    header, faults, body = _header(data)
    nx, ny = (_count(header, key, faults) for key in ("ncols", "nrows"))
    cell = _number(header, "cellsize", faults)
    x0, y0 = (_corner(header, axis, faults) for axis in "xy")
    nodata = _number(header, "nodata_value", faults) if "nodata_value" in header else -9999.0
    if cell <= 0.0:
        faults.append(message("fault.above", low=number(0.0)).at("cellsize"))
    if cell > MOST_CELL or max(abs(x0), abs(y0)) > FARTHEST:
        faults.append(message("fault.larger_than_earth").at(message("place.grid_corner")))
    if nx * ny > MOST_CELLS:
        faults.append(message("fault.too_many_grid_cells", columns=nx, rows=ny, most=MOST_CELLS))
    if faults:
        raise BadInput(faults, source)
    height = _heights(data, body, nx, ny, source)
    height[height == nodata] = np.nan
    _flip(height)
    x = np.asarray(x0 + cell * (np.arange(nx) + (0.5 if "xllcorner" in header else 0.0)), dtype=np.float64)
    y = np.asarray(y0 + cell * (np.arange(ny) + (0.5 if "yllcorner" in header else 0.0)), dtype=np.float64)
    return ElevationFile(x=x, y=y, height_m=_checked(height, source), crs=None)


def _header(data: bytes) -> tuple[dict[str, str], list[Message], int]:
    """The values of the header, its faults, and where the heights start."""
    header: dict[str, str] = {}
    faults: list[Message] = []
    file = io.BytesIO(data)
    start = count = 0
    while start < _HEADER_BYTES and (text := file.readline(_HEADER_BYTES)):
        count += 1
        words = text.decode("utf-8", errors="replace").split()
        if not words:
            start = file.tell()
            continue
        if not words[0][0].isalpha() or words[0].lower() == "nan":
            break
        start = file.tell()
        key = words[0].lower()
        if key not in _KEYS:
            faults.append(message("fault.no_grid_key", key=words[0][:40]).at(line(count)))
        elif key in header:
            faults.append(message("fault.grid_key_twice", key=key).at(line(count)))
        elif len(words) != 2:
            faults.append(message("fault.grid_key_values", key=key).at(line(count)))
        else:
            header[key] = words[1]
        if len(faults) >= 5:
            break
    return header, faults, start


def _number(header: dict[str, str], key: str, faults: list[Message]) -> float:
    if key not in header:
        faults.append(message("fault.missing").at(key))
        return 1.0
    try:
        value = float(header[key])
    except ValueError:
        value = float("nan")
    if not isfinite(value) and key != "nodata_value":
        faults.append(message("fault.not_a_number", text=header[key][:40]).at(key))
        return 1.0
    return value


def _count(header: dict[str, str], key: str, faults: list[Message]) -> int:
    if key in header and not re.fullmatch(r"[0-9]{1,9}", header[key]):
        faults.append(message("fault.not_a_whole_number", text=header[key][:40]).at(key))
        return 3
    value = int(_number(header, key, faults))
    if key in header and value < 3:
        faults.append(message("fault.at_least_not", low=number(3), found=number(value)).at(key))
    return value


def _corner(header: dict[str, str], axis: str, faults: list[Message]) -> float:
    given = [key for key in (f"{axis}llcorner", f"{axis}llcenter") if key in header]
    if len(given) != 1:
        one, other = f"{axis}llcorner", f"{axis}llcenter"
        both = message("fault.both_given", one=one, other=other)
        faults.append(both if given else message("fault.both_missing", one=one, other=other))
        return 0.0
    return _number(header, given[0], faults)


def _heights(data: bytes, start: int, nx: int, ny: int, source: str) -> NDArray[np.float64]:
    height = np.empty(nx * ny, dtype=np.float64)
    count = 0
    for at, words in _words(data, start):
        try:
            # Heights beyond the number in the header are only counted.
            some = np.array(words if count < height.size else words[:1], dtype=np.float64)
        except ValueError:
            raise BadInput(_wrong_word(data, at, words), source) from None
        part = height[count : count + len(some)]
        part[:] = some[: len(part)]
        count += len(words)
    if count != height.size:
        raise BadInput(message("fault.heights", n=count, columns=nx, rows=ny, need=nx * ny), source)
    return height.reshape(ny, nx)


def _words(data: bytes, start: int) -> Iterator[tuple[int, list[bytes]]]:
    """Yield (start, words) of the body, some hundred thousand at a time."""
    while start < len(data):
        end = min(start + _PIECE, len(data))
        # A word cut by the end of the piece is read to its end.
        while end < len(data) and end - start < _PIECE + _LONGEST_WORD and not data[end - 1 : end].isspace():
            end += 1
        words = data[start:end].split()
        if words:
            yield start, words
        start = end


def _wrong_word(data: bytes, at: int, words: list[bytes]) -> Message:
    index = next((i for i, word in enumerate(words) if not _is_number(word)), 0)
    where = at
    for word in words[: index + 1]:
        where = data.index(word, where) + len(word)
    text = words[index].decode("utf-8", errors="replace")[:40]
    return message("fault.not_a_height", text=text).at(line(data.count(b"\n", 0, where) + 1))


def _flip(rows: NDArray[np.float64]) -> None:
    """Reverse the order of rows in place."""
    for i in range(len(rows) // 2):
        rows[[i, -1 - i]] = rows[[-1 - i, i]]


def _is_number(word: bytes) -> bool:
    try:
        float(word)
    except ValueError:
        return False
    return True


def _checked(height: NDArray[np.float64], source: str) -> NDArray[np.float64]:
    low, high = float(np.fmin.reduce(height, axis=None)), float(np.fmax.reduce(height, axis=None))
    if np.isnan(low):
        raise BadInput(message("fault.no_height"), source)
    if low < -500.0 or high > 9000.0:
        raise BadInput(message("fault.heights_beyond", low=number(low), high=number(high)), source)
    return height


def _geotiff(data: bytes, source: str) -> ElevationFile:
    with opened_geotiff(
        data,
        source,
        lacking=message("fault.geotiff_needs_extra"),
        broken=lambda why: message("fault.not_geotiff", why=why),
    ) as dataset:
        return _dataset(dataset, source)


def _dataset(dataset: Any, source: str) -> ElevationFile:
    t = dataset.transform
    faults: list[Message] = []
    if dataset.count != 1:
        faults.append(message("fault.bands", n=dataset.count))
    elif np.dtype(dataset.dtypes[0]).kind not in "iuf":
        faults.append(message("fault.no_plain_numbers"))
    crs = _system(dataset, faults)
    if t.b or t.d or t.a <= 0 or t.e >= 0:
        faults.append(message("fault.grid_turned"))
    elif not (max(t.a, -t.e) <= MOST_CELL and min(t.a, -t.e) > 1e-9 and max(abs(t.c), abs(t.f)) <= FARTHEST):
        faults.append(message("fault.grid_beyond_earth"))
    if dataset.width * dataset.height > MOST_CELLS:
        columns, rows = dataset.width, dataset.height
        faults.append(message("fault.too_many_grid_cells", columns=columns, rows=rows, most=MOST_CELLS))
    tile = dataset.block_shapes[0] if dataset.count else (1, 1)
    if tile[0] * tile[1] > MOST_CELLS:
        faults.append(message("fault.tiles", columns=tile[1], rows=tile[0]))
    if min(dataset.width, dataset.height) < 3:
        faults.append(message("fault.few_cells"))
    if faults:
        raise BadInput(faults, source)
    height = _band(dataset, rows=max(tile[0], _PIECE // dataset.width))
    x = t.c + t.a * (np.arange(dataset.width) + 0.5)
    y = t.f + t.e * (np.arange(dataset.height) + 0.5)
    return ElevationFile(x=x, y=y[::-1], height_m=_checked(height, source), crs=crs)


def _system(dataset: Any, faults: list[Message]) -> str:
    """The name of the grid's coordinate system; '' and a fault if it has none that can be read."""
    try:
        found = dataset.crs
        if not found:
            faults.append(message("fault.no_crs"))
            return ""
        code = found.to_epsg()
        wkt = str(found.to_wkt())
    except Exception:  # a name that is no text, a code that nobody gave: the library tells in many ways
        faults.append(message("fault.crs_unreadable"))
        return ""
    return f"EPSG:{code}" if code else wkt


def _band(dataset: Any, *, rows: int) -> NDArray[np.float64]:
    """The heights, southernmost row first, `nan` where unknown; read some rows at a time."""
    from rasterio.windows import Window

    height = np.empty((dataset.height, dataset.width), dtype=np.float64)
    for first in range(0, dataset.height, rows):
        part = height[first : first + rows]
        window = Window(0, first, dataset.width, len(part))
        dataset.read(1, window=window, out=part)
        part *= dataset.scales[0]
        part += dataset.offsets[0]
        part[dataset.read_masks(1, window=window) == 0] = np.nan
    _flip(height)
    return height


def projection(crs: str, source: str) -> Project:
    """Return the function that turns WGS84 positions into x and y of a system.

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
        from rasterio._err import CPLE_BaseError
        from rasterio.crs import CRS
        from rasterio.errors import CRSError, RasterioError
        from rasterio.warp import transform
    except ImportError:
        raise BadInput(message("fault.crs_needs_extra", crs=crs[:60]), source) from None
    unknown = BadInput(message("fault.not_a_crs", crs=crs[:60]), source)
    try:
        target, earth = CRS.from_user_input(crs), CRS.from_epsg(4326)
    except (CRSError, ValueError, OverflowError):
        raise unknown from None

    def project(
        lat: NDArray[np.float64], lon: NDArray[np.float64]
    ) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        shape, lat, lon = lat.shape, np.degrees(lat).ravel(), np.degrees(lon).ravel()
        flat = np.empty((2, lat.size))
        try:
            # Some at a time, because the library takes and returns lists.
            for first in range(0, lat.size, _SOME):
                some = slice(first, first + _SOME)
                flat[:, some] = transform(earth, target, lon[some], lat[some])[:2]
        except (RasterioError, CPLE_BaseError, ValueError):
            raise unknown from None
        flat[~np.isfinite(flat)] = np.nan
        return flat[0].reshape(shape), flat[1].reshape(shape)

    return project
