"""A track as a phone or watch recorded it, before any processing."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from coldfield.message import Message

MOST_POINTS = 200_000
"""More than two days at 1 Hz; a file, or a zip of files, with more points is refused. Setting."""

MOST_TRACKS = 200
"""More than the people in any drill; a file, or a zip of files, with more tracks is refused. Setting."""

EARLIEST_UNIX_S = 315_532_800.0
"""1980-01-01: the satellite clock from which recorders take their time begins in that month."""

LATEST_UNIX_S = 4_102_444_800.0
"""2100-01-01; the same limit as for splits and records. Setting."""

MOST_SPAN_S = 86_400.0
"""A recording of one run spans no more than a day. Setting."""

FARTHEST_SITE_M = 1e6
"""Coordinates in the site frame beyond this cannot belong to a drill. Setting."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Recorded:
    """Points in the order of the file.

    `unix_s`, shape (n,), is in seconds since 1970 UTC, or in seconds on a clock of its own if
    `clock` is 'own'; NaN for a point without a time. `place`, shape (n, 2), is latitude and
    longitude in rad, or east and north in m if `frame` is 'site'; NaN for a coordinate that could
    not be read. `segment`, shape (n,), numbers the file's segments. `simulated` is true if the file
    says that nobody walked it. `notes` lists what the reader noticed. `searcher` is the id of the
    person if it was given; names are then ignored.
    """

    file: str
    name: str
    unix_s: NDArray[np.float64]
    place: NDArray[np.float64]
    segment: NDArray[np.int64]
    frame: Literal["wgs84", "site"] = "wgs84"
    clock: Literal["utc", "own"] = "utc"
    simulated: bool = False
    notes: tuple[Message, ...] = ()
    searcher: str | None = None
