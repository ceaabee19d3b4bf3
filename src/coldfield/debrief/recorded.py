"""A track as a phone or watch recorded it, before anything is done to it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

MOST_POINTS = 500_000
"""More points than a day at 5 Hz; a file with more is refused."""


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
    notes: tuple[str, ...] = ()
    searcher: str | None = None
