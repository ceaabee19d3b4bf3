"""Recorded tracks for tests: the files in tests/data/tracks, and invented walks."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from numpy.typing import ArrayLike

from coldfield.drill import Origin, Site
from coldfield.drill.frame import SiteFrame
from coldfield.drill.recorded import Recorded

DATA = Path(__file__).parent / "data" / "tracks"
VARDHOLM = Origin(latitude_rad=np.radians(61.2), longitude_rad=np.radians(8.1), elevation_m=1180.0)
BOWL = Site(origin=VARDHOLM, boundary_m=((0, 0), (60, 0), (60, 80), (0, 80)), entry_m=(30, 0))
NOON = 1_771_061_400.0
"""14 February 2026, 09:30 UTC."""


def site_at(recorded: Recorded) -> Site:
    """Return a small site whose origin is the first place of a track."""
    lat, lon = recorded.place[0]
    origin = Origin(latitude_rad=float(lat), longitude_rad=float(lon), elevation_m=0.0)
    return Site(origin=origin, boundary_m=((0, 0), (50, 0), (50, 50), (0, 50)), entry_m=(0, 0))


def walk(t_s: ArrayLike, position_m: ArrayLike, *, file: str = "ines.gpx", name: str = "") -> Recorded:
    """Return a recorded track in Vardholm Bowl from times since NOON and places in its frame."""
    t = np.asarray(t_s, dtype=np.float64) + NOON
    lat, lon = SiteFrame(VARDHOLM).to_wgs84(position_m)
    return Recorded(
        file=file,
        name=name,
        unix_s=t,
        place=np.column_stack([lat, lon]),
        segment=np.zeros(t.size, dtype=np.int64),
    )


def straight(seconds: int, *, speed_m_s: float = 1.2) -> tuple[np.ndarray, np.ndarray]:
    """Return times and places of a walk due north from (30, 0)."""
    t = np.arange(seconds + 1.0)
    return t, np.column_stack([np.full(t.size, 30.0), speed_m_s * t])


def gpx(tracks: list[tuple[str, list[tuple[object, object, object]]]], *, head: str = "") -> bytes:
    """Return GPX 1.1 bytes of (name, [(latitude, longitude, time text)])."""
    out = ['<?xml version="1.0"?>', head, '<gpx version="1.1" xmlns="http://www.topografix.com/GPX/1/1">']
    for name, points in tracks:
        out.append(f"<trk><name>{name}</name><trkseg>")
        for lat, lon, when in points:
            time = f"<time>{when}</time>" if when is not None else ""
            out.append(f'<trkpt lat="{lat}" lon="{lon}"><ele>1180</ele>{time}</trkpt>')
        out.append("</trkseg></trk>")
    return "\n".join([*out, "</gpx>"]).encode()
