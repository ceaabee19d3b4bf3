"""Between the site frame (metres east and north of the origin) and WGS84 latitude and longitude."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from coldfield.drill.site import Origin
from coldfield.errors import BadInput, OutOfModel
from coldfield.message import message

SEMI_MAJOR_AXIS_M = 6378137.0
FLATTENING = 1.0 / 298.257223563
_E2 = FLATTENING * (2.0 - FLATTENING)


class SiteFrame:
    """The plane at right angles to the ellipsoid's vertical at the origin: x east, y north, z up.

    Lengths are measured at the origin's elevation, not on the ellipsoid below it: at 1,200 m the two
    differ by 9 cm in 500 m.

    Parameters
    ----------
    origin : Origin
        Latitude and longitude, rad; elevation above the ellipsoid, m.

    Raises
    ------
    OutOfModel
        If the origin is not finite or lies within 1 degree of a pole.

    References
    ----------
    .. [1] NIMA TR8350.2, *Department of Defense World Geodetic System 1984*, 3rd ed., tables 3.1
       and 3.3 for the two ellipsoid constants (from memory).

    Examples
    --------
    >>> from math import radians
    >>> frame = SiteFrame(Origin(latitude_rad=radians(61.2), longitude_rad=radians(8.1), elevation_m=1180))
    >>> latitude, longitude = frame.to_wgs84([[0, 0], [60, 80]])
    >>> np.degrees(latitude).round(6).tolist()
    [61.2, 61.200718]
    >>> np.abs(frame.from_wgs84(latitude, longitude)).round(3).tolist()
    [[0.0, 0.0], [60.0, 80.0]]
    """

    def __init__(self, origin: Origin) -> None:
        lat, lon = origin.latitude_rad, origin.longitude_rad
        if not np.isfinite([lat, lon, origin.elevation_m]).all() or abs(lat) > np.radians(89.0):
            raise OutOfModel(message("fault.origin_at_pole"))
        self.origin = origin
        sin_lat, cos_lat, sin_lon, cos_lon = np.sin(lat), np.cos(lat), np.sin(lon), np.cos(lon)
        self._axes = np.array(
            [
                [-sin_lon, cos_lon, 0.0],
                [-sin_lat * cos_lon, -sin_lat * sin_lon, cos_lat],
                [cos_lat * cos_lon, cos_lat * sin_lon, sin_lat],
            ]
        )
        self._zero = _earth_centred(np.array(lat), np.array(lon), np.array(origin.elevation_m))

    def from_wgs84(self, latitude_rad: ArrayLike, longitude_rad: ArrayLike) -> NDArray[np.float64]:
        """Return site positions, m, shape (..., 2), of places at about the origin's elevation.

        A place 100 m higher than the origin and 500 m away comes out 8 mm too near: less than 1 cm,
        and far less than the error of a phone's position.
        """
        lat = np.asarray(latitude_rad, dtype=np.float64)
        lon = np.asarray(longitude_rad, dtype=np.float64)
        elevation = np.full(np.broadcast_shapes(lat.shape, lon.shape), self.origin.elevation_m)
        offset = _earth_centred(lat, lon, elevation) - self._zero
        return np.asarray((offset @ self._axes.T)[..., :2])

    def to_wgs84(self, position_m: ArrayLike) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Return latitude and longitude, rad, of site positions of shape (..., 2), m."""
        xy = np.asarray(position_m, dtype=np.float64)
        if xy.shape[-1:] != (2,):
            raise ValueError("position_m must have east and north as its last axis, of length 2")
        earth = self._zero + xy @ self._axes[:2]
        lon = np.arctan2(earth[..., 1], earth[..., 0])
        p = np.hypot(earth[..., 0], earth[..., 1])
        # Fixed point iteration on the latitude; each step contracts by e^2 = 0.0067, so six reach 1e-13 rad.
        lat = np.arctan2(earth[..., 2], p * (1.0 - _E2))
        for _ in range(6):
            n = SEMI_MAJOR_AXIS_M / np.sqrt(1.0 - _E2 * np.sin(lat) ** 2)
            lat = np.arctan2(earth[..., 2] + _E2 * n * np.sin(lat), p)
        return np.asarray(lat), np.asarray(lon)

    def refuse_nowhere(self, source: str | None = None) -> None:
        """Raise an error if the site has no map position; `source` is the drill's file.

        Raises
        ------
        BadInput
            It names the key to set in the drill file.
        """
        if self.origin.nowhere:
            raise BadInput(message("fault.nowhere").at("site.origin"), source)

    def on_earth(self, position_m: ArrayLike) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Return `to_wgs84` of places (..., 2) that are written to a file or drawn on another site's plan.

        Raises
        ------
        BadInput
            If the site has no map position.
        """
        self.refuse_nowhere()
        return self.to_wgs84(position_m)


def _earth_centred(
    lat: NDArray[np.float64], lon: NDArray[np.float64], elevation_m: NDArray[np.float64]
) -> NDArray[np.float64]:
    n = SEMI_MAJOR_AXIS_M / np.sqrt(1.0 - _E2 * np.sin(lat) ** 2)
    across = (n + elevation_m) * np.cos(lat)
    return np.stack(
        [across * np.cos(lon), across * np.sin(lon), (n * (1.0 - _E2) + elevation_m) * np.sin(lat)], axis=-1
    )
