"""Recorded tracks as CSV.

The first line names the columns, in any order; comma or semicolon between them:

- ``time``: ISO 8601 with zone (``2026-02-14T10:31:05+01:00``), or ``t_s``: seconds on the recorder's own
  clock, taken as seconds from the alarm until the splits tell otherwise;
- ``latitude_deg`` and ``longitude_deg`` (WGS84; ``lat`` and ``lon`` will do), or ``east_m`` and ``north_m``
  in the site frame;
- ``track`` (optional): the name of the track or person, for several people in one file;
- ``segment`` (optional): a whole number; a new one starts a new piece.

Other columns are left alone. A cell that is not a number becomes a point without a place.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Callable
from datetime import datetime

import numpy as np

from coldfield.debrief.recorded import MOST_POINTS, Recorded
from coldfield.errors import BadInput
from coldfield.files.json_text import decode_text

MOST_BYTES = 64_000_000
_NOTHING = float("nan")
_ALIASES = {"lat": "latitude_deg", "lon": "longitude_deg", "latitude": "latitude_deg", "lng": "longitude_deg"}
_ALIASES |= {"longitude": "longitude_deg"}
_PLACES = (("latitude_deg", "longitude_deg"), ("east_m", "north_m"))


def read_track_csv(data: bytes, source: str) -> tuple[Recorded, ...]:
    """Return the tracks of a CSV file, one per value of the column `track`, in order of appearance.

    Raises
    ------
    BadInput
        If the file is too large, is not UTF-8, lacks a column it needs or holds no row.
    """
    text = decode_text(data, source, most_bytes=MOST_BYTES)
    first = text.lstrip().splitlines()[0]
    delimiter = ";" if first.count(";") > first.count(",") else ","
    try:
        rows = list(csv.reader(io.StringIO(text.lstrip()), delimiter=delimiter, strict=True))
    except csv.Error as error:
        raise BadInput(f"is not CSV: {error}", source) from None
    header = [_ALIASES.get(name, name) for name in (cell.strip().lower() for cell in rows[0])]
    places, clock = _columns(header, source)
    if len(rows) - 1 > MOST_POINTS:
        raise BadInput(f"holds more than {MOST_POINTS} points; cut it to the run", source)
    at = {name: header.index(name) for name in header}
    read_time: Callable[[str], float] = _moment if clock == "time" else _number
    gathered: dict[str, list[tuple[float, float, float, int]]] = {}
    for row in rows[1:]:
        if not any(cell.strip() for cell in row):
            continue
        cells = [*row, *([""] * (len(header) - len(row)))]
        name = cells[at["track"]].strip() if "track" in at else ""
        segment = _number(cells[at["segment"]]) if "segment" in at else 0.0
        point = (read_time(cells[at[clock]]), *(_number(cells[at[place]]) for place in places))
        gathered.setdefault(name[:200], []).append(
            (point[0], point[1], point[2], int(segment) if abs(segment) < 1e9 else 0)
        )
    if not gathered:
        raise BadInput("holds no point below its line of column names", source)
    return tuple(_track(source, name, points, places, clock) for name, points in gathered.items())


def _columns(header: list[str], source: str) -> tuple[tuple[str, str], str]:
    faults = [f"line 1: column '{name[:40]}' stands twice" for name in set(header) if header.count(name) > 1]
    places = next((pair for pair in _PLACES if all(name in header for name in pair)), None)
    if places is None:
        faults.append("line 1: needs the columns latitude_deg and longitude_deg, or east_m and north_m")
    clock = next((name for name in ("time", "t_s") if name in header), None)
    if clock is None:
        faults.append("line 1: needs a column time (ISO 8601 with zone) or t_s (seconds)")
    if faults or places is None or clock is None:
        raise BadInput(faults, source)
    return places, clock


def _track(
    source: str,
    name: str,
    points: list[tuple[float, float, float, int]],
    places: tuple[str, str],
    clock: str,
) -> Recorded:
    table = np.array(points, dtype=np.float64)
    on_earth = places == _PLACES[0]
    unreadable = int(np.isnan(table[:, 0]).sum())
    return Recorded(
        file=source,
        name=name,
        unix_s=table[:, 0],
        place=np.radians(table[:, 1:3]) if on_earth else table[:, 1:3],
        segment=table[:, 3].astype(np.int64),
        frame="wgs84" if on_earth else "site",
        clock="utc" if clock == "time" else "own",
        notes=(f"{unreadable} times could not be read or have no zone",) if unreadable else (),
    )


def _number(text: str) -> float:
    try:
        return float(text)
    except ValueError:
        return _NOTHING


def _moment(text: str) -> float:
    try:
        moment = datetime.fromisoformat(text.strip())
    except ValueError:
        return _NOTHING
    return moment.timestamp() if moment.tzinfo is not None else _NOTHING
