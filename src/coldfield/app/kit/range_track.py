"""A range from a recorded track: from the set to where its signal was last stable."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from coldfield.drill.frame import SiteFrame
from coldfield.drill.recorded import Recorded
from coldfield.drill.site import Origin
from coldfield.errors import BadInput
from coldfield.files.track_file import read_track_file
from coldfield.message import message

TRACK_ERROR_M = 4.0
"""Standard error of a distance between two places of a phone, m. Setting."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TrackRange:
    """The distance from the first place of a recorded line to the last, m, and its standard error."""

    name: str
    range_m: float
    error_m: float


def track_ranges(data: bytes, name: str) -> tuple[TrackRange, ...]:
    """Return the distance from the first to the last place of each recorded line in a file.

    Raises
    ------
    BadInput
        If the file cannot be read, or no line in it has two places.
    """
    recorded, faults = read_track_file(data, name)
    if faults:
        raise BadInput(faults)
    found = [one for line in recorded for one in _ranges(line)]
    if not found:
        raise BadInput(message("fault.no_track_point"), name)
    return tuple(found)


def _ranges(line: Recorded) -> list[TrackRange]:
    known = np.isfinite(line.place).all(axis=1)
    found = []
    for segment in np.unique(line.segment[known]):
        places = line.place[known & (line.segment == segment)]
        if len(places) < 2:
            continue
        if line.frame == "wgs84":
            latitude, longitude = (float(v) for v in places[0])
            frame = SiteFrame(Origin(latitude_rad=latitude, longitude_rad=longitude, elevation_m=0.0))
            places = frame.from_wgs84(places[:, 0], places[:, 1])
        reach = float(np.linalg.norm(places[-1] - places[0]))
        found.append(TrackRange(name=line.name or line.file, range_m=reach, error_m=TRACK_ERROR_M))
    return found
