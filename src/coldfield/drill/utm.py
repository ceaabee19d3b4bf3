"""Universal Transverse Mercator coordinates on WGS84, as elevation grids often use them."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from coldfield.drill.frame import FLATTENING, SEMI_MAJOR_AXIS_M

SCALE = 0.9996
FALSE_EAST_M = 500_000.0
FALSE_NORTH_SOUTH_M = 10_000_000.0


def utm(
    latitude_rad: ArrayLike, longitude_rad: ArrayLike, *, zone: int, south: bool
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return easting and northing of places, m.

    Parameters
    ----------
    latitude_rad, longitude_rad : array_like, one shape
        WGS84.
    zone : int
        1 to 60; its central meridian is at -183 + 6 zone degrees.
    south : bool
        Whether northings count from 10,000 km below the equator.

    Notes
    -----
    Krueger's series to the third power of the third flattening; the error is below 1 mm within 10
    degrees of the central meridian.

    References
    ----------
    .. [1] C. F. F. Karney, "Transverse Mercator with an accuracy of a few nanometers", J. Geodesy
       85(8), 2011, 475-485, eqs. 7-12 and 35 (from memory; checked against PROJ).
    """
    lat = np.asarray(latitude_rad, dtype=np.float64)
    lon = np.asarray(longitude_rad, dtype=np.float64) - np.radians(6.0 * zone - 183.0)
    n = FLATTENING / (2.0 - FLATTENING)
    e = 2.0 * np.sqrt(n) / (1.0 + n)
    t = np.sinh(np.arctanh(np.sin(lat)) - e * np.arctanh(e * np.sin(lat)))
    xi, eta = np.arctan2(t, np.cos(lon)), np.arcsinh(np.sin(lon) / np.hypot(t, np.cos(lon)))
    series = (
        n / 2 - 2 * n**2 / 3 + 5 * n**3 / 16,
        13 * n**2 / 48 - 3 * n**3 / 5,
        61 * n**3 / 240,
    )
    y, x = xi, eta
    for j, alpha in enumerate(series, start=1):
        y = y + alpha * np.sin(2 * j * xi) * np.cosh(2 * j * eta)
        x = x + alpha * np.cos(2 * j * xi) * np.sinh(2 * j * eta)
    radius = SEMI_MAJOR_AXIS_M / (1.0 + n) * (1.0 + n**2 / 4 + n**4 / 64) * SCALE
    return np.asarray(FALSE_EAST_M + radius * x), np.asarray(
        radius * y + (FALSE_NORTH_SOUTH_M if south else 0.0)
    )
