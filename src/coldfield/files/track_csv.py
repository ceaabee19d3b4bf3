"""Recorded tracks as CSV.

The first line names the columns, in any order; comma or semicolon between them:

- ``time``: ISO 8601 with zone (``2026-02-14T10:31:05+01:00``), or ``t_s``: seconds on the recorder's own
  clock, assumed to count from the alarm unless the splits show otherwise;
- ``latitude_deg`` and ``longitude_deg`` (WGS84; ``lat`` and ``lon`` will do), or ``east_m`` and ``north_m``
  in the site frame;
- ``track`` (optional): the name of the track or person, for several people in one file;
- ``segment`` (optional): a whole number; a new one starts a new piece.

Other columns are ignored. A cell that is not a number becomes a point without a place.
"""

from __future__ import annotations

from array import array
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import datetime

import numpy as np

from coldfield.drill.recorded import Recorded
from coldfield.errors import BadInput
from coldfield.files.budget import Budget
from coldfield.files.csv_text import csv_rows, text_lines, unguarded
from coldfield.files.places import line
from coldfield.files.track_times import plausible
from coldfield.message import message

MOST_BYTES = 64_000_000
_NOTHING = float("nan")
_ALIASES = {"lat": "latitude_deg", "lon": "longitude_deg", "latitude": "latitude_deg", "lng": "longitude_deg"}
_ALIASES |= {"longitude": "longitude_deg"}
_PLACES = (("latitude_deg", "longitude_deg"), ("east_m", "north_m"))


@dataclass(slots=True)
class _Points:
    """The points of one track: numbers only."""

    time: array[float] = field(default_factory=lambda: array("d"))
    one: array[float] = field(default_factory=lambda: array("d"))
    other: array[float] = field(default_factory=lambda: array("d"))
    segment: array[int] = field(default_factory=lambda: array("q"))
    line: array[int] = field(default_factory=lambda: array("q"))


def read_track_csv(data: bytes, source: str, budget: Budget | None = None) -> tuple[Recorded, ...]:
    """Return the tracks of a CSV file, one per value of the column `track`, in order of appearance.

    Parameters
    ----------
    data : bytes
        The file.
    source : str
        Its name.
    budget : Budget, optional
        What is left for the archive that contains the file.

    Raises
    ------
    BadInput
        If the file is too large, is not UTF-8, lacks a required column, has no row, or has times that
        cannot be those of a run.
    """
    budget = budget if budget is not None else Budget()
    header_line = next((line for line in text_lines(data, source, most_bytes=MOST_BYTES) if line.strip()), "")
    delimiter = ";" if header_line.count(";") > header_line.count(",") else ","
    rows = csv_rows(
        text_lines(data, source, most_bytes=MOST_BYTES),
        source,
        delimiter=delimiter,
        most_rows=max(budget.parts, 0),
    )
    _, names = next(rows, (0, []))
    header = [_ALIASES.get(name, name) for name in (cell.strip().lower() for cell in names)]
    places, clock = _columns(header, source)
    gathered: dict[str, _Points] = {}
    try:
        _gather(rows, gathered, header, (clock, *places), budget, source)
    finally:
        points = sum(len(one.time) for one in gathered.values())
        budget.take(points=points, tracks=len(gathered), parts=points)
    if not gathered:
        raise BadInput(message("fault.no_point"), source)
    return tuple(_track(source, name, points, places, clock) for name, points in gathered.items())


def _gather(
    rows: Iterator[tuple[int, list[str]]],
    gathered: dict[str, _Points],
    header: list[str],
    names: tuple[str, str, str],
    budget: Budget,
    source: str,
) -> None:
    clock, one, other = (header.index(name) for name in names)
    track = header.index("track") if "track" in header else None
    segment = header.index("segment") if "segment" in header else None
    read_time: Callable[[str], float] = _moment if names[0] == "time" else _number
    width = len(header)
    for count, (number, row) in enumerate(rows, start=1):
        if len(row) < width:
            row += [""] * (width - len(row))
        name = unguarded(row[track].strip())[:200] if track is not None else ""
        points = gathered.get(name)
        if points is None:
            points = gathered[name] = _Points()
        fault = budget.too_many(source, points=count, tracks=len(gathered))
        if fault is not None:
            raise fault
        part = _number(row[segment]) if segment is not None else 0.0
        points.time.append(read_time(row[clock]))
        points.one.append(_number(row[one]))
        points.other.append(_number(row[other]))
        points.segment.append(int(part) if abs(part) < 1e9 else 0)
        points.line.append(number)


def _columns(header: list[str], source: str) -> tuple[tuple[str, str], str]:
    twice = [name[:40] for name in sorted(set(header)) if header.count(name) > 1]
    faults = [message("fault.column_twice", name=name).at(line(1)) for name in twice]
    places = next((pair for pair in _PLACES if all(name in header for name in pair)), None)
    if places is None:
        faults.append(message("fault.needs_place_columns").at(line(1)))
    clock = next((name for name in ("time", "t_s") if name in header), None)
    if clock is None:
        faults.append(message("fault.needs_time_column").at(line(1)))
    if faults or places is None or clock is None:
        raise BadInput(faults, source)
    return places, clock


def _track(source: str, name: str, points: _Points, places: tuple[str, str], clock: str) -> Recorded:
    unix_s, refused = plausible(np.array(points.time), points.line, source, own=clock != "time")
    place = np.column_stack([points.one, points.other])
    on_earth = places == _PLACES[0]
    unreadable = int(np.isnan(points.time).sum())
    told = (message("note.times_unusable", n=unreadable),) if unreadable else ()
    return Recorded(
        file=source,
        name=name,
        unix_s=unix_s,
        place=np.radians(place) if on_earth else place,
        segment=np.array(points.segment, dtype=np.int64),
        frame="wgs84" if on_earth else "site",
        clock="utc" if clock == "time" else "own",
        notes=(*refused, *told),
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
