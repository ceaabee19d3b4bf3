"""Lanes for a phone's map app: GPX 1.1 and GeoJSON (RFC 7946), in WGS84."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from xml.etree import ElementTree as ET

import numpy as np

from coldfield.drill.frame import SiteFrame
from coldfield.message import duration, length
from coldfield.search.lanes.plan import Lane
from coldfield.words import word

GPX_NAMESPACE = "http://www.topografix.com/GPX/1/1"
_DIGITS = 8
"""Decimals of a degree: 1.1 mm."""


def lanes_gpx(lanes: Sequence[Lane], frame: SiteFrame, *, names: Mapping[str, str], title: str) -> str:
    """Return lanes as GPX 1.1: one track per searcher, and its start as a named waypoint.

    Parameters
    ----------
    lanes : sequence of Lane
        Lines in the site frame, m.
    frame : SiteFrame
        The frame of the lines.
    names : mapping
        Searcher id -> name; without a name the id is used.
    title : str
        Name of the whole file.

    Raises
    ------
    BadInput
        If the site has no map position yet.
    """
    ET.register_namespace("", GPX_NAMESPACE)
    root = ET.Element(_tag("gpx"), {"version": "1.1", "creator": "coldfield"})
    ET.SubElement(ET.SubElement(root, _tag("metadata")), _tag("name")).text = title
    placed = [(lane, names.get(lane.searcher, lane.searcher), _degrees(lane, frame)) for lane in lanes]
    for _, name, places in placed:
        _point(root, "wpt", places[0], word("term.lane_start", name=name))
    for lane, name, places in placed:
        track = ET.SubElement(root, _tag("trk"))
        ET.SubElement(track, _tag("name")).text = word("term.lane", name=name)
        ET.SubElement(track, _tag("desc")).text = _words(lane)
        segment = ET.SubElement(track, _tag("trkseg"))
        for place in places:
            _point(segment, "trkpt", place)
    ET.indent(root)
    return '<?xml version="1.0" encoding="UTF-8"?>\n' + ET.tostring(root, encoding="unicode") + "\n"


def lanes_geojson(lanes: Sequence[Lane], frame: SiteFrame, *, names: Mapping[str, str], title: str) -> str:
    """Return lanes as a GeoJSON FeatureCollection: a LineString and a start Point per searcher.

    Parameters, names and errors as in `lanes_gpx`.
    """
    features = []
    for lane in lanes:
        name = names.get(lane.searcher, lane.searcher)
        line = [[lon, lat] for lat, lon in _degrees(lane, frame)]
        told = {
            "searcher": lane.searcher,
            "length_m": round(lane.length_m, 1),
            "seconds": round(lane.seconds),
        }
        features.append(_feature("LineString", line, {"name": word("term.lane", name=name), **told}))
        start = {"name": word("term.lane_start", name=name), "searcher": lane.searcher}
        features.append(_feature("Point", line[0], start))
    whole = {"type": "FeatureCollection", "name": title, "features": features}
    return json.dumps(whole, ensure_ascii=False, indent=1) + "\n"


def _feature(kind: str, coordinates: object, properties: Mapping[str, object]) -> dict[str, object]:
    geometry = {"type": kind, "coordinates": coordinates}
    return {"type": "Feature", "properties": dict(properties), "geometry": geometry}


def _degrees(lane: Lane, frame: SiteFrame) -> list[tuple[float, float]]:
    latitude, longitude = frame.on_earth(lane.line_m)
    pairs = zip(np.degrees(latitude).tolist(), np.degrees(longitude).tolist(), strict=True)
    return [(round(lat, _DIGITS), round(lon, _DIGITS)) for lat, lon in pairs]


def _words(lane: Lane) -> str:
    return word("note.lane", length=length(lane.length_m, 0), time=duration(lane.seconds))


def _point(parent: ET.Element, tag: str, place: tuple[float, float], name: str | None = None) -> None:
    lat, lon = (f"{value:.{_DIGITS}f}" for value in place)
    point = ET.SubElement(parent, _tag(tag), {"lat": lat, "lon": lon})
    if name is not None:
        ET.SubElement(point, _tag("name")).text = name


def _tag(name: str) -> str:
    return f"{{{GPX_NAMESPACE}}}{name}"
