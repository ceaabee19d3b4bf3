"""Recorded tracks in GPX 1.0 and 1.1, read and written.

Only track points are read (`trk`, `trkseg`, `trkpt`); elements are told by their local name, so any
prefix or default namespace will do. Files are hostile until proved otherwise: entity declarations and
external references are refused, and so are files larger than the bounds below.

The reader is expat's own, with the refusals of defusedxml set on it, for three reasons: defusedxml's
readers build the whole tree in Python or go through xml.sax, at two to four times the time; gpxpy reads
with the standard library's tree, which expands entities unless lxml is there, and stops at the first
coordinate that is no number where a debrief counts it and goes on; and a tree of 64 MB of hostile
elements takes gigabytes, while this keeps three numbers a point.

Files that this project made up in the computer carry a mark, and are known by it when they are read.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime
from typing import NoReturn
from xml.parsers import expat

import numpy as np
from defusedxml import EntitiesForbidden

from coldfield.debrief.recorded import MOST_POINTS, Recorded
from coldfield.errors import BadInput

MOST_BYTES = 64_000_000
SIMULATED = "simulated: made in the computer, nobody walked this"
"""The description of a file whose tracks nobody walked; one that begins with its first word is taken so."""

_NOTHING = float("nan")


def read_gpx(data: bytes, source: str) -> tuple[Recorded, ...]:
    """Return the tracks of a GPX file that hold at least one point.

    Parameters
    ----------
    data : bytes
        The file, in any encoding its XML declaration names.
    source : str
        The file's name: stands in front of faults and becomes `Recorded.file`.

    Raises
    ------
    BadInput
        If the file is too large, is not XML, declares entities, or holds no track point.

    Notes
    -----
    A time without a zone is taken as UTC, as GPX says, and noted. Latitudes and longitudes that are
    not numbers are kept as NaN and left out by the cleaning, which counts them.
    """
    if len(data) > MOST_BYTES:
        raise BadInput(f"is larger than {MOST_BYTES // 1_000_000} MB; cut it to the run", source)
    handler = _Tracks(source)
    try:
        handler.parser().Parse(data, True)
    except EntitiesForbidden:
        raise BadInput("declares XML entities; a track file has none, it is not read", source) from None
    except expat.ExpatError as error:
        words = expat.ErrorString(error.code)
        raise BadInput(f"line {error.lineno}: is not well-formed XML: {words}", source) from None
    except (ValueError, LookupError) as error:
        raise BadInput(f"cannot be read as XML: {str(error)[:80]}", source) from None
    if not handler.seen_gpx:
        raise BadInput("is XML but not GPX: its first element is not 'gpx'", source)
    if not handler.tracks:
        what = "only a route (planned, not recorded)" if handler.route_points else "no track point"
        raise BadInput(f"holds {what}; export the recorded track", source)
    return tuple(handler.tracks)


def write_gpx(
    tracks: Sequence[tuple[str, Sequence[tuple[np.ndarray, np.ndarray, np.ndarray]]]],
    *,
    simulated: bool = False,
) -> str:
    """Return GPX 1.1 text of tracks: (name, pieces), a piece being times, latitudes and longitudes.

    Times are seconds since 1970 UTC, angles rad, each of shape (n,); every piece becomes a segment.
    `simulated` writes the mark of tracks that were made in the computer.
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
    """Gathers track points while expat walks through the file.

    The parser refuses entity declarations and external references as defusedxml's readers do; those
    build a tree or go through xml.sax, at two to four times the time for an hour at 1 Hz.
    """

    def __init__(self, source: str) -> None:
        self.source = source
        self.tracks: list[Recorded] = []
        self.seen_gpx = False
        self.route_points = 0
        self._simulated = False
        self._path: list[str] = []
        self._text: list[str] = []
        self._reading = False
        self._points = 0
        self._begin_track()

    def parser(self) -> expat.XMLParserType:
        """Return a parser that calls this."""
        parser = expat.ParserCreate()
        parser.buffer_text = True
        parser.StartElementHandler = self._start
        parser.EndElementHandler = self._end
        self._parser = parser
        parser.EntityDeclHandler = self._entity
        parser.UnparsedEntityDeclHandler = self._entity
        parser.ExternalEntityRefHandler = self._entity
        return parser

    def _entity(self, *what: object) -> NoReturn:
        raise EntitiesForbidden(str(what[0]), None, None, None, None, None)

    def _begin_track(self) -> None:
        self._name = ""
        self._segment = -1
        self._times: list[str | None] = []
        self._lat: list[float] = []
        self._lon: list[float] = []
        self._of_segment: list[int] = []

    def _start(self, name: str, attrs: dict[str, str]) -> None:
        local = name.rpartition(":")[2] if ":" in name else name
        path = self._path
        parent = path[-1] if path else ""
        path.append(local)
        if self._reading:  # an element inside a text: there is none in GPX
            self._read(False)
        if local == "trkpt":
            self._point(attrs)
        elif local in _READ:
            if parent in _READ[local]:
                self._read(True)
        elif local == "trkseg":
            self._segment += 1
        elif local == "trk":
            self._begin_track()
        elif local == "rtept":
            self.route_points += 1
        elif local == "gpx" and not parent:
            self.seen_gpx = True
        if len(path) > 200:
            raise BadInput("nests its elements more than 200 deep; it is not a track file", self.source)

    def _point(self, attrs: dict[str, str]) -> None:
        self._points += 1
        if self._points > MOST_POINTS:
            raise BadInput(f"holds more than {MOST_POINTS} points; cut it to the run", self.source)
        self._lat.append(_number(attrs.get("lat")))
        self._lon.append(_number(attrs.get("lon")))
        self._times.append(None)
        self._of_segment.append(self._segment)

    def _read(self, on: bool) -> None:
        self._text.clear()
        self._reading = on
        self._parser.CharacterDataHandler = self._text.append if on else None

    def _end(self, _name: str) -> None:
        local = self._path.pop()
        if self._reading:
            text = "".join(self._text).strip()
            self._read(False)
            if local == "time":
                self._times[-1] = text
            elif local == "name":
                self._name = text[:200]
            elif local == "desc":
                self._simulated = text.startswith(SIMULATED.partition(":")[0])
        if local == "trk" and self._lat:
            self._end_track()

    def _end_track(self) -> None:
        unix_s, notes = _moments(self._times)
        self.tracks.append(
            Recorded(
                file=self.source,
                name=self._name,
                unix_s=unix_s,
                place=np.radians(np.column_stack([self._lat, self._lon])),
                segment=np.maximum(np.array(self._of_segment, dtype=np.int64), 0),
                simulated=self._simulated,
                notes=notes,
            )
        )
        self._begin_track()


def _moments(texts: Sequence[str | None]) -> tuple[np.ndarray, tuple[str, ...]]:
    """Seconds since 1970 UTC of points' times, NaN where a point has none or it cannot be read; and notes."""
    unix_s: list[float] = []
    zoneless = unreadable = 0
    for text in texts:
        if text is None:
            unix_s.append(_NOTHING)
            continue
        try:
            moment = datetime.fromisoformat(text)
        except ValueError:
            unreadable += 1
            unix_s.append(_NOTHING)
            continue
        if moment.tzinfo is None:
            zoneless += 1
            moment = moment.replace(tzinfo=UTC)
        unix_s.append(moment.timestamp())
    notes = []
    if zoneless:
        notes.append(f"{zoneless} times without a zone, taken as UTC")
    if unreadable:
        notes.append(f"{unreadable} times could not be read")
    return np.array(unix_s), tuple(notes)


_READ = {"time": ("trkpt",), "name": ("trk",), "desc": ("metadata", "gpx")}
"""Elements whose text is read, each only as a child of these; GPX 1.0 has its 'desc' in the root."""


def _number(text: str | None) -> float:
    try:
        return float(text) if text is not None else _NOTHING
    except ValueError:
        return _NOTHING
