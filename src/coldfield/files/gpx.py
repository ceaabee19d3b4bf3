"""Recorded tracks in GPX 1.0 and 1.1, read and written.

Only track points are read (`trk`, `trkseg`, `trkpt`). Elements are recognised by their local name, so any
prefix or default namespace works. Files are treated as hostile: entity declarations and external references
are refused, and so are files beyond the limits of `coldfield.files.xml_events`.

The reader goes through the elements itself, for three reasons. The readers of defusedxml build the
whole tree in Python or use xml.sax, which takes two to four times as long. gpxpy uses the standard
library's tree, which expands entities unless lxml is installed, and stops at the first coordinate
that is not a number, where a debrief counts it and goes on. And a tree of 64 MB of hostile elements
takes gigabytes, while this reader keeps five numbers per point.

Files that this project made in the computer have a mark by which they are recognised.
"""

from __future__ import annotations

from array import array
from collections.abc import Sequence
from datetime import UTC, datetime

import numpy as np

from coldfield.drill.recorded import Recorded
from coldfield.errors import BadInput
from coldfield.files.budget import Budget
from coldfield.files.track_times import plausible
from coldfield.files.xml_events import XmlEvents
from coldfield.message import message, size

MOST_BYTES = 64_000_000
SIMULATED = "simulated: made in the computer, nobody walked this"
"""The description of a file whose tracks nobody walked; its first word is enough to recognise one."""

_NOTHING = float("nan")


def read_gpx(data: bytes, source: str, budget: Budget | None = None) -> tuple[Recorded, ...]:
    """Return the tracks of a GPX file that hold at least one point.

    Parameters
    ----------
    data : bytes
        The file, in any encoding its XML declaration names.
    source : str
        The file's name, put before faults and used as `Recorded.file`.
    budget : Budget, optional
        What is left for the archive that contains the file.

    Raises
    ------
    BadInput
        If the file is too large, is not XML, declares entities, has no track point, or has times that
        cannot be those of a run.

    Notes
    -----
    A time without a zone is read as UTC, as GPX specifies, and a note says so. Latitudes and longitudes
    that are not numbers are kept as NaN; the cleaning leaves them out and counts them.
    """
    if len(data) > MOST_BYTES:
        raise BadInput(message("fault.larger_than_run", most=size(MOST_BYTES)), source)
    budget = budget if budget is not None else Budget()
    handler = _Tracks(source, budget)
    try:
        handler.events.read(data)
    finally:
        budget.take(points=handler.points, tracks=len(handler.tracks), parts=handler.events.elements)
    if not handler.seen_gpx:
        raise BadInput(message("fault.not_gpx"), source)
    if not handler.tracks:
        nothing, route = message("fault.no_track_point"), message("fault.only_a_route")
        raise BadInput(route if handler.route_points else nothing, source)
    return tuple(handler.tracks)


def write_gpx(
    tracks: Sequence[tuple[str, Sequence[tuple[np.ndarray, np.ndarray, np.ndarray]]]],
    *,
    simulated: bool = False,
) -> str:
    """Return GPX 1.1 text of tracks: (name, pieces), a piece being times, latitudes and longitudes.

    Times are seconds since 1970 UTC, angles are in rad, each of shape (n,); every piece becomes a
    segment. With `simulated` the file gets the mark of tracks made in the computer.
    """
    from gpxpy import gpx

    out = gpx.GPX()
    out.creator = "coldfield"
    if simulated:
        out.description = SIMULATED
    for name, pieces in tracks:
        track = gpx.GPXTrack(name=name)
        for unix_s, latitude_rad, longitude_rad in pieces:
            segment = gpx.GPXTrackSegment()
            for t, lat, lon in zip(unix_s, np.degrees(latitude_rad), np.degrees(longitude_rad), strict=True):
                when = datetime.fromtimestamp(round(float(t), 3), UTC)
                segment.points.append(
                    gpx.GPXTrackPoint(round(float(lat), 8), round(float(lon), 8), time=when)
                )
            track.segments.append(segment)
        out.tracks.append(track)
    return str(out.to_xml(version="1.1"))


class _Tracks:
    """Collects track points while expat parses the file."""

    def __init__(self, source: str, budget: Budget) -> None:
        self.source = source
        self.budget = budget
        self.events = XmlEvents(source, self._start, self._end, most_elements=max(budget.parts, 0))
        self.tracks: list[Recorded] = []
        self.points = 0
        self.seen_gpx = False
        self.route_points = 0
        self._simulated = False
        self._begin_track()

    def _begin_track(self) -> None:
        self._name = ""
        self._segment = -1
        self._times = array("d")
        self._lat = array("d")
        self._lon = array("d")
        self._of_segment = array("q")
        self._lines = array("q")
        self._zoneless = self._unreadable = 0

    def _start(self, local: str, attrs: dict[str, str], path: list[str]) -> bool:
        parent = path[-1] if path else ""
        if local == "trkpt":
            self._point(attrs)
        elif local in _READ:
            return parent in _READ[local] and (local != "time" or bool(self._times))
        elif local == "trkseg":
            self._segment += 1
        elif local == "trk":
            self._begin_track()
        elif local == "rtept":
            self.route_points += 1
        elif local == "gpx" and not parent:
            self.seen_gpx = True
        return False

    def _point(self, attrs: dict[str, str]) -> None:
        self.points += 1
        fault = self.budget.too_many(self.source, points=self.points)
        if fault is not None:
            raise fault
        self._lat.append(_number(attrs.get("lat")))
        self._lon.append(_number(attrs.get("lon")))
        self._times.append(_NOTHING)
        self._of_segment.append(self._segment)
        self._lines.append(self.events.line)

    def _end(self, local: str, text: str) -> None:
        if text and local == "time":
            self._time(text)
        elif text and local == "name":
            self._name = text[:200]
        elif text and local == "desc":
            self._simulated = text.startswith(SIMULATED.partition(":")[0])
        elif local == "trk" and self._lat:
            self._end_track()

    def _time(self, text: str) -> None:
        try:
            moment = datetime.fromisoformat(text)
        except ValueError:
            self._unreadable += 1
            return
        if moment.tzinfo is None:
            self._zoneless += 1
            moment = moment.replace(tzinfo=UTC)
        self._times[-1] = moment.timestamp()

    def _end_track(self) -> None:
        fault = self.budget.too_many(self.source, tracks=len(self.tracks) + 1)
        if fault is not None:
            raise fault
        unix_s, refused = plausible(np.array(self._times), self._lines, self.source)
        notes = list(refused)
        if self._zoneless:
            notes.append(message("note.times_without_zone", n=self._zoneless))
        if self._unreadable:
            notes.append(message("note.times_unreadable", n=self._unreadable))
        self.tracks.append(
            Recorded(
                file=self.source,
                name=self._name,
                unix_s=unix_s,
                place=np.radians(np.column_stack([self._lat, self._lon])),
                segment=np.maximum(np.array(self._of_segment, dtype=np.int64), 0),
                simulated=self._simulated,
                notes=tuple(notes),
            )
        )
        self._begin_track()


_READ = {"time": ("trkpt",), "name": ("trk",), "desc": ("metadata", "gpx")}
"""Elements whose text is read, each only as a child of these; GPX 1.0 has its 'desc' in the root."""


def _number(text: str | None) -> float:
    try:
        return float(text) if text is not None else _NOTHING
    except ValueError:
        return _NOTHING
