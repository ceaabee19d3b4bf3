"""Lengths along recorded and cleaned tracks."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike, NDArray

from coldfield.drill.frame import FLATTENING, SEMI_MAJOR_AXIS_M

Floats = NDArray[np.float64]

STANDING_M_S = 0.1
"""A person slower than this over 10 s stands. Setting."""

STANDING_PER_WHITE = 0.08
"""Added per metre of white noise, m/s, because its remainder after smoothing looks like walking. Setting."""

MEAN_RADIUS_M = 6_371_008.8
"""Mean radius of the WGS84 ellipsoid, (2a + b)/3."""


def great_circle_m(
    latitude_rad: ArrayLike, longitude_rad: ArrayLike, lat0_rad: float, lon0_rad: float
) -> Floats:
    """Return distances, m, shape of the input, from one place on a sphere of mean radius.

    Within 0.6 % of the ellipsoid; used only to recognise a different valley.
    """
    lat, lon = np.asarray(latitude_rad, dtype=np.float64), np.asarray(longitude_rad, dtype=np.float64)
    h = np.sin((lat - lat0_rad) / 2) ** 2 + np.cos(lat) * np.cos(lat0_rad) * np.sin((lon - lon0_rad) / 2) ** 2
    return np.asarray(2 * MEAN_RADIUS_M * np.arcsin(np.sqrt(np.clip(h, 0.0, 1.0))))


def recorded_length_m(place: ArrayLike, segment: ArrayLike, frame: str = "wgs84") -> float:
    """Return the length of recorded points in plan, m: the sum of steps within segments.

    Parameters
    ----------
    place : array_like, shape (n, 2)
        Latitude and longitude, rad, or east and north, m, if `frame` is 'site'; finite.
    segment : array_like, shape (n,)
        Steps from one segment to the next do not count.
    frame : str
        'wgs84' or 'site'.

    Notes
    -----
    Steps on WGS84 with the two radii of curvature at their middle latitude: within 1e-6 of the
    geodesic for steps up to 1 km. On the ellipsoid, not at the site's height (0.02 % longer at 1,200 m).
    """
    points = np.asarray(place, dtype=np.float64)
    same = np.diff(np.asarray(segment)) == 0
    step = np.diff(points, axis=0)
    if frame == "wgs84":
        middle = (points[1:, 0] + points[:-1, 0]) / 2
        e2 = FLATTENING * (2 - FLATTENING)
        w2 = 1 - e2 * np.sin(middle) ** 2
        across = (step[:, 1] + np.pi) % (2 * np.pi) - np.pi
        north = step[:, 0] * SEMI_MAJOR_AXIS_M * (1 - e2) / w2**1.5
        east = across * SEMI_MAJOR_AXIS_M * np.cos(middle) / np.sqrt(w2)
        step = np.column_stack([east, north])
    return float(np.linalg.norm(step[same], axis=1).sum())


def interpolate(
    unix_s: Floats, position_m: Floats, velocity_m_s: Floats, at_unix_s: Floats
) -> tuple[Floats, Floats]:
    """Return places and velocities, shape (m, 2), between the points of a piece: cubic Hermite.

    `unix_s` (n,) is increasing, `position_m` and `velocity_m_s` are (n, 2); the requested times must be
    within. Between two states of a smoothed path driven by white acceleration, the cubic is the mean path.
    """
    i = np.clip(np.searchsorted(unix_s, at_unix_s, side="right") - 1, 0, len(unix_s) - 2)
    h = (unix_s[i + 1] - unix_s[i])[:, None]
    u = ((at_unix_s - unix_s[i]) / h[:, 0])[:, None]
    p0, p1, v0, v1 = position_m[i], position_m[i + 1], velocity_m_s[i] * h, velocity_m_s[i + 1] * h
    place = (
        (1 + 2 * u) * (1 - u) ** 2 * p0
        + u * (1 - u) ** 2 * v0
        + u * u * (3 - 2 * u) * p1
        + u * u * (u - 1) * v1
    )
    slope = 6 * u * (u - 1) * (p0 - p1) + (1 - u) * (1 - 3 * u) * v0 + u * (3 * u - 2) * v1
    return place, slope / h


def standing(position_m: Floats, white_m: float) -> NDArray[np.bool_]:
    """Return when a person stands, shape (n,), from places at every second on the snow, shape (n, 2).

    Standing means a mean speed over the surrounding 10 s below 0.1 m/s plus 0.08 m/s per metre of white
    noise: 0.18 m/s for a usual phone. A slow walk near a burial counts as walking.
    """
    n = len(position_m)
    late, early = np.minimum(np.arange(n) + 5, n - 1), np.maximum(np.arange(n) - 5, 0)
    way = np.linalg.norm(position_m[late] - position_m[early], axis=1)
    limit = STANDING_M_S + STANDING_PER_WHITE * white_m
    return np.asarray(way < limit * np.maximum(late - early, 1))


def length_without_standing_m(
    unix_s: Floats,
    position_m: Floats,
    velocity_m_s: Floats,
    to_snow: Callable[[Floats], Floats],
    *,
    white_m: float,
) -> float:
    """Return the length of a cleaned piece on the snow, m, without the stretches of standing.

    `unix_s` (n,), `position_m` and `velocity_m_s` (n, 2) in plan; `to_snow` turns plan into axes in
    which lengths are lengths on the snow. Measured on a line with a corner at every second.
    """
    seconds = max(round(float(unix_s[-1] - unix_s[0])), 1)
    moments = np.linspace(unix_s[0], unix_s[-1], seconds + 1)
    place, _ = interpolate(unix_s, position_m, velocity_m_s, moments)
    on_snow = to_snow(place)
    step = np.linalg.norm(np.diff(on_snow, axis=0), axis=1)
    still = standing(on_snow, white_m)
    return float(step[~(still[1:] & still[:-1])].sum())
