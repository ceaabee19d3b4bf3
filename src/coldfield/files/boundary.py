"""The ground of a new drill from a map program: a polygon in GeoJSON, a track or route in GPX."""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite
from typing import Any

from coldfield.errors import BadInput
from coldfield.files.json_text import decode_text, parse_json

MOST_BYTES = 5_000_000
MOST_CORNERS = 5000

Place = tuple[float, float]
"""Latitude and longitude, degrees, WGS84."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Boundary:
    """A boundary as a map program draws it: corners in degrees, named places, elevation where given."""

    outer: tuple[Place, ...]
    holes: tuple[tuple[Place, ...], ...] = ()
    places: tuple[tuple[str, Place], ...] = ()
    elevation_m: float | None = None


def read_boundary(data: bytes, source: str) -> Boundary:
    """Return the boundary in a GeoJSON or GPX file; which of the two it is tells its first character.

    Parameters
    ----------
    data : bytes
        The file.
    source : str
        Its name, put before each fault.

    Raises
    ------
    BadInput
        If the file is neither, holds no ground or more than one, or has coordinates out of range.
    """
    if len(data) > MOST_BYTES:
        raise BadInput(
            f"is larger than {MOST_BYTES / 1e6:.0f} MB; draw the boundary with fewer points", source
        )
    if data.lstrip(b"\xef\xbb\xbf \t\r\n").startswith(b"<"):
        return _gpx(data, source)
    return _geojson(parse_json(decode_text(data, source), source), source)


def _geojson(value: Any, source: str) -> Boundary:
    polygons: list[Any] = []
    places: list[tuple[str, Place]] = []
    faults: list[str] = []
    for where, geometry, name in _geometries(value, "", ""):
        kind, coordinates = geometry.get("type"), geometry.get("coordinates")
        if kind == "Polygon":
            polygons.append((where, coordinates))
        elif kind == "MultiPolygon" and isinstance(coordinates, list) and len(coordinates) == 1:
            polygons.append((where, coordinates[0]))
        elif kind == "MultiPolygon":
            faults.append(f"{where}: has several polygons; keep the one that is searched")
        elif kind == "Point" and name:
            place, fault = _place(coordinates, f"{where}.coordinates")
            faults += [fault] if fault else []
            places += [(name, place)] if place else []
    if not polygons and not faults:
        faults.append("holds no Polygon; draw the ground as an area")
    if len(polygons) > 1:
        faults.append(f"holds {len(polygons)} polygons; keep the one that is searched")
    rings: list[tuple[Place, ...]] = []
    for where, coordinates in polygons[:1]:
        for i, ring in enumerate(coordinates if isinstance(coordinates, list) else []):
            corners, wrong = _ring(ring, f"{where}.coordinates[{i}]".lstrip("."))
            rings.append(corners)
            faults += wrong
        if not rings and not faults:
            faults.append(f"{where}.coordinates: must be a list of rings".lstrip("."))
    if faults:
        raise BadInput(faults[:50], source)
    return Boundary(outer=rings[0], holes=tuple(rings[1:]), places=tuple(places))


def _geometries(value: Any, where: str, name: str) -> list[tuple[str, dict[str, Any], str]]:
    """Return (path, geometry, name) of every geometry in a GeoJSON object (RFC 7946)."""
    if not isinstance(value, dict):
        return []
    dot = f"{where}." if where else ""
    kind = value.get("type")
    if kind == "FeatureCollection" and isinstance(value.get("features"), list):
        return [
            found
            for i, feature in enumerate(value["features"])
            for found in _geometries(feature, f"{dot}features[{i}]", "")
        ]
    if kind == "Feature":
        properties = value.get("properties")
        own = properties.get("name") if isinstance(properties, dict) else None
        return _geometries(value.get("geometry"), f"{dot}geometry", str(own) if own else "")
    if kind == "GeometryCollection" and isinstance(value.get("geometries"), list):
        return [
            (f"{dot}geometries[{i}]", g, name)
            for i, g in enumerate(value["geometries"])
            if isinstance(g, dict)
        ]
    return [(where, value, name)]


def _ring(ring: Any, where: str) -> tuple[tuple[Place, ...], list[str]]:
    if not isinstance(ring, list) or len(ring) < 3:
        return (), [f"{where}: must have at least 3 corners"]
    if len(ring) > MOST_CORNERS:
        return (), [f"{where}: has {len(ring)} corners; at most {MOST_CORNERS} are read"]
    corners: list[Place] = []
    faults: list[str] = []
    for i, pair in enumerate(ring):
        place, fault = _place(pair, f"{where}[{i}]")
        corners += [place] if place else []
        faults += [fault] if fault else []
    return _open(corners), faults


def _place(pair: Any, where: str) -> tuple[Place | None, str | None]:
    where = where.lstrip(".")
    numbers = isinstance(pair, list) and len(pair) >= 2 and all(type(v) in (int, float) for v in pair[:2])
    if not numbers or not all(isfinite(v) for v in pair[:2]):
        return None, f"{where}: must be [longitude, latitude] in degrees"
    lon, lat = float(pair[0]), float(pair[1])
    if abs(lat) > 89 or abs(lon) > 180:
        swapped = " (longitude comes first)" if abs(lon) <= 89 < abs(lat) <= 180 else ""
        return None, f"{where}: longitude {lon:g}, latitude {lat:g} is not a place that can be used{swapped}"
    return (lat, lon), None


def _open(corners: list[Place]) -> tuple[Place, ...]:
    return tuple(corners[:-1] if len(corners) > 3 and corners[0] == corners[-1] else corners)


def _gpx(data: bytes, source: str) -> Boundary:
    from xml.etree.ElementTree import ParseError

    from defusedxml import DefusedXmlException
    from defusedxml.ElementTree import fromstring

    try:
        root = fromstring(data, forbid_dtd=True)
    except ParseError as error:
        raise BadInput(f"is not well-formed XML: {error}", source) from None
    except (DefusedXmlException, ValueError, LookupError):
        raise BadInput("declares XML entities or an unknown encoding; it is not read", source) from None
    if _local(root.tag) != "gpx":
        raise BadInput("is XML but not GPX: its first element is not 'gpx'", source)
    lines = [e for e in root.iter() if _local(e.tag) in ("trk", "rte")]
    if len(lines) != 1:
        what = "no track or route" if not lines else f"{len(lines)} tracks or routes"
        raise BadInput(f"holds {what}; keep the one that runs round the ground", source)
    faults: list[str] = []
    corners, heights = _points(lines[0], ("trkpt", "rtept"), faults)
    waypoints, _ = _points(root, ("wpt",), faults)
    names = [_text(e, "name") for e in root.iter() if _local(e.tag) == "wpt"]
    if len(corners) < 3 and not faults:
        faults.append(f"has {len(corners)} points; a boundary needs at least 3 corners")
    if len(corners) > MOST_CORNERS:
        faults.append(f"has {len(corners)} points; at most {MOST_CORNERS} are read")
    if faults:
        raise BadInput(faults[:50], source)
    return Boundary(
        outer=_open(corners),
        places=tuple((name, place) for name, place in zip(names, waypoints, strict=True) if name),
        elevation_m=sum(heights) / len(heights) if heights else None,
    )


def _local(tag: object) -> str:
    return str(tag).rpartition("}")[2]


def _text(element: Any, name: str) -> str:
    return next(((child.text or "").strip() for child in element if _local(child.tag) == name), "")


def _points(element: Any, tags: tuple[str, ...], faults: list[str]) -> tuple[list[Place], list[float]]:
    places: list[Place] = []
    heights: list[float] = []
    for number, point in enumerate((e for e in element.iter() if _local(e.tag) in tags), start=1):
        try:
            pair = [float(point.get("lon", "nan")), float(point.get("lat", "nan"))]
        except ValueError:
            pair = [float("nan")] * 2
        place, fault = _place(pair, f"{tags[0]} {number}")
        faults += [fault] if fault else []
        places += [place] if place else []
        try:
            heights.append(float(_text(point, "ele")))
        except ValueError:
            continue
    return places, [h for h in heights if isfinite(h) and -500 <= h <= 9000]
