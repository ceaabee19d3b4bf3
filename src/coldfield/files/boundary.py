"""The ground of a new drill from a map program: a polygon in GeoJSON, a track or route in GPX."""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite
from typing import Any

from coldfield.errors import BadInput
from coldfield.files.json_text import decode_text, parse_json
from coldfield.files.xml_events import XmlEvents
from coldfield.message import Message, message, number, size

MOST_BYTES = 5_000_000
MOST_CORNERS = 5000
MOST_FAULTS = 50
MOST_ELEMENTS = 500_000

Place = tuple[float, float]
"""Latitude and longitude, degrees, WGS84."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Boundary:
    """A boundary drawn in a map program: corners in degrees, named places, elevation if given."""

    outer: tuple[Place, ...]
    holes: tuple[tuple[Place, ...], ...] = ()
    places: tuple[tuple[str, Place], ...] = ()
    elevation_m: float | None = None


def read_boundary(data: bytes, source: str) -> Boundary:
    """Return the boundary in a GeoJSON or GPX file; the first character shows which of the two it is.

    Parameters
    ----------
    data : bytes
        The file.
    source : str
        Its name, put before each fault.

    Raises
    ------
    BadInput
        If the file is neither, has no ground or more than one, or has coordinates out of range.
    """
    if len(data) > MOST_BYTES:
        raise BadInput(message("fault.larger_boundary", most=size(MOST_BYTES)), source)
    if data.lstrip(b"\xef\xbb\xbf \t\r\n").startswith(b"<"):
        return _gpx(data, source)
    return _geojson(parse_json(decode_text(data, source), source), source)


def _geojson(value: Any, source: str) -> Boundary:
    polygons: list[Any] = []
    places: list[tuple[str, Place]] = []
    faults: list[Message] = []
    for where, geometry, name in _geometries(value):
        kind, coordinates = geometry.get("type"), geometry.get("coordinates")
        if kind == "Polygon":
            polygons.append((where, coordinates))
        elif kind == "MultiPolygon" and isinstance(coordinates, list) and len(coordinates) == 1:
            polygons.append((where, coordinates[0]))
        elif kind == "MultiPolygon":
            faults.append(_at(where, message("fault.polygons_in_one")))
        elif kind == "Point" and name:
            place, fault = _place(coordinates, f"{where}.coordinates")
            faults += [fault] if fault else []
            places += [(name, place)] if place else []
    if not polygons and not faults:
        faults.append(message("fault.no_polygon"))
    if len(polygons) > 1:
        faults.append(message("fault.several_polygons", n=len(polygons)))
    rings: list[tuple[Place, ...]] = []
    for where, coordinates in polygons[:1]:
        for i, ring in enumerate(coordinates if isinstance(coordinates, list) else []):
            corners, wrong = _ring(ring, f"{where}.coordinates[{i}]".lstrip("."))
            rings.append(corners)
            faults += wrong
        if not rings and not faults:
            faults.append(_at(f"{where}.coordinates", message("fault.no_rings")))
    if faults:
        raise BadInput(faults[:MOST_FAULTS], source)
    return Boundary(outer=rings[0], holes=tuple(rings[1:]), places=tuple(places))


def _geometries(value: Any) -> list[tuple[str, dict[str, Any], str]]:
    """Return (path, geometry, name) of every geometry in a GeoJSON object (RFC 7946)."""
    if not isinstance(value, dict):
        return []
    if value.get("type") == "FeatureCollection" and isinstance(value.get("features"), list):
        return [
            found
            for i, feature in enumerate(value["features"])
            if isinstance(feature, dict)
            for found in _of_feature(feature, f"features[{i}]")
        ]
    return _of_feature(value, "")


def _of_feature(value: dict[str, Any], where: str) -> list[tuple[str, dict[str, Any], str]]:
    """The geometries of a feature, or of whatever is in its place."""
    name = ""
    if value.get("type") == "Feature":
        properties = value.get("properties")
        own = properties.get("name") if isinstance(properties, dict) else None
        name = str(own)[:200] if isinstance(own, str | int) and own else ""
        value, where = value.get("geometry") or {}, f"{where}.geometry".lstrip(".")
        if not isinstance(value, dict):
            return []
    if value.get("type") == "GeometryCollection" and isinstance(value.get("geometries"), list):
        return [
            (f"{where}.geometries[{i}]".lstrip("."), geometry, name)
            for i, geometry in enumerate(value["geometries"])
            if isinstance(geometry, dict)
        ]
    return [(where, value, name)]


def _ring(ring: Any, where: str) -> tuple[tuple[Place, ...], list[Message]]:
    if not isinstance(ring, list) or len(ring) < 3:
        return (), [_at(where, message("fault.too_few_corners", n=3))]
    if len(ring) > MOST_CORNERS:
        return (), [_at(where, message("fault.too_many_corners", n=len(ring), most=MOST_CORNERS))]
    corners: list[Place] = []
    faults: list[Message] = []
    for i, pair in enumerate(ring):
        place, fault = _place(pair, f"{where}[{i}]")
        corners += [place] if place else []
        faults += [fault] if fault else []
    return _open(corners), faults


def _place(pair: Any, where: str) -> tuple[Place | None, Message | None]:
    numbers = isinstance(pair, list) and len(pair) >= 2 and all(type(v) in (int, float) for v in pair[:2])
    if not numbers or not all(isfinite(v) for v in pair[:2]):
        return None, _at(where, message("fault.not_lon_lat"))
    lon, lat = float(pair[0]), float(pair[1])
    if abs(lat) > 89 or abs(lon) > 180:
        if abs(lon) <= 89 < abs(lat) <= 180:
            return None, _at(where, message("fault.swapped_place", lon=number(lon), lat=number(lat)))
        return None, _at(where, message("fault.no_place", lon=number(lon), lat=number(lat)))
    return (lat, lon), None


def _at(where: str, fault: Message) -> Message:
    path = where.lstrip(".")
    return fault.at(path) if path else fault


def _open(corners: list[Place]) -> tuple[Place, ...]:
    return tuple(corners[:-1] if len(corners) > 3 and corners[0] == corners[-1] else corners)


class _Lines:
    """Collects the points of tracks and routes, and named places, while expat parses the file."""

    def __init__(self, source: str) -> None:
        self.events = XmlEvents(source, self._start, self._end, most_elements=MOST_ELEMENTS)
        self.seen_gpx = False
        self.lines = 0
        self.corners: list[Place] = []
        self.heights: list[float] = []
        self.places: list[tuple[str, Place]] = []
        self.faults: list[Message] = []
        self.points = self._waypoints = 0
        self._waypoint: Place | None = None
        self._name = ""

    def _start(self, local: str, attrs: dict[str, str], path: list[str]) -> bool:
        parent = path[-1] if path else ""
        if local == "gpx" and not parent:
            self.seen_gpx = True
        elif local in ("trk", "rte"):
            self.lines += 1
        elif local in ("trkpt", "rtept"):
            self.points += 1
            place = self._place(attrs, f"{local} {self.points}")
            self.corners += [place] if place and len(self.corners) <= MOST_CORNERS else []
        elif local == "wpt":
            self._waypoints += 1
            self._waypoint, self._name = self._place(attrs, f"wpt {self._waypoints}"), ""
        return (local == "ele" and parent in ("trkpt", "rtept")) or (local == "name" and parent == "wpt")

    def _place(self, attrs: dict[str, str], where: str) -> Place | None:
        try:
            pair = [float(attrs.get("lon", "nan")), float(attrs.get("lat", "nan"))]
        except ValueError:
            pair = [float("nan")] * 2
        place, fault = _place(pair, where)
        if fault and len(self.faults) < MOST_FAULTS:
            self.faults.append(fault)
        return place

    def _end(self, local: str, text: str) -> None:
        if local == "ele" and text and len(self.heights) <= MOST_CORNERS:
            try:
                height = float(text)
            except ValueError:
                return
            self.heights += [height] if isfinite(height) and -500 <= height <= 9000 else []
        elif local == "name" and text:
            self._name = text
        elif local == "wpt" and self._waypoint and self._name and len(self.places) < MOST_CORNERS:
            self.places.append((self._name, self._waypoint))


def _gpx(data: bytes, source: str) -> Boundary:
    found = _Lines(source)
    found.events.read(data)
    if not found.seen_gpx:
        raise BadInput(message("fault.not_gpx"), source)
    if not found.lines:
        raise BadInput(message("fault.no_line"), source)
    if found.lines > 1:
        raise BadInput(message("fault.several_lines", n=found.lines), source)
    faults = found.faults
    if found.points < 3 and not faults:
        faults.append(message("fault.too_few_points", n=found.points))
    if found.points > MOST_CORNERS:
        faults.append(message("fault.points_of_boundary", n=found.points, most=MOST_CORNERS))
    if faults:
        raise BadInput(faults, source)
    heights = found.heights
    return Boundary(
        outer=_open(found.corners),
        places=tuple(found.places),
        elevation_m=sum(heights) / len(heights) if heights else None,
    )
