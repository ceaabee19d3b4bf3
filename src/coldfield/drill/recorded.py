"""A track as a phone or watch recorded it, before anything is done to it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from coldfield.message import Message

MOST_POINTS = 200_000
"""More points than two days at 1 Hz; a file, or a zip of files, with more is refused. Setting."""

MOST_TRACKS = 200
"""More tracks than people are in any drill; a file, or a zip of files, with more is refused. Setting."""

EARLIEST_UNIX_S = 315_532_800.0
"""1980-01-01: the clock of the satellites that recorders take their time from begins in that month."""

LATEST_UNIX_S = 4_102_444_800.0
"""2100-01-01; as far as splits and records go. Setting."""

MOST_SPAN_S = 86_400.0
"""A recording of one run spans no more than a day. Setting."""

FARTHEST_SITE_M = 1e6
"""Coordinates in the site frame beyond this are no place of a drill. Setting."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Recorded:
    """Points in the order of the file.

    `unix_s`, shape (n,), is in seconds since 1970 UTC, or in seconds on a clock of its own where
    `clock` is 'own'; NaN where a point has no time. `place`, shape (n, 2), is latitude and longitude
    in rad, or east and north in m where `frame` is 'site'; NaN where a coordinate could not be read.
    `segment`, shape (n,), counts the file's own segments. `simulated` where the file says
    that nobody walked it. `notes` says what the reader met. `searcher` is the id of whose track it
    is, where that was told; names then do not count.
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
