"""The snow surface under the plan: a plane through the site's origin (for a grid see `grid`)."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from coldfield.drill.site import Site


@dataclass(frozen=True, slots=True, kw_only=True)
class Plane:
    """An even slope: `aspect_rad` is the azimuth that it faces, downhill, clockwise from true north.

    Examples
    --------
    A slope of 45 degrees that faces south is 10 m higher 10 m farther north:

    >>> Plane(slope_rad=np.pi / 4, aspect_rad=np.pi).height_m([0, 10]).round(6).item()
    10.0
    """

    slope_rad: float = 0.0
    aspect_rad: float = 0.0

    @classmethod
    def of(cls, site: Site) -> Plane:
        """Return the plane that a site's slope and aspect describe."""
        return cls(slope_rad=site.slope_rad, aspect_rad=site.aspect_rad)

    def gradient(self, position_m: ArrayLike | None = None) -> NDArray[np.float64]:
        """Return the rise per metre in plan towards east and north: (2,), or at positions (..., 2)."""
        downhill = np.array([np.sin(self.aspect_rad), np.cos(self.aspect_rad)])
        rise = np.asarray(-np.tan(self.slope_rad) * downhill)
        return rise if position_m is None else np.broadcast_to(rise, np.shape(position_m))

    def normal(self, position_m: ArrayLike | None = None) -> NDArray[np.float64]:
        """Return the unit vector at right angles to the snow, up: (3,), or at positions (..., 3)."""
        gx, gy = self.gradient()
        up = np.asarray(np.array([-gx, -gy, 1.0]) / np.sqrt(1.0 + gx * gx + gy * gy))
        return up if position_m is None else np.broadcast_to(up, (*np.shape(position_m)[:-1], 3))

    def height_m(self, position_m: ArrayLike) -> NDArray[np.float64]:
        """Return the height of the snow above the origin's level at positions of shape (..., 2), m."""
        return np.asarray(np.asarray(position_m, dtype=np.float64) @ self.gradient())

    def at(self, position_m: ArrayLike, above_m: ArrayLike = 0.0) -> NDArray[np.float64]:
        """Return points in space, shape (..., 3), `above_m` metres from the snow, at right angles to it.

        Negative values are under the snow, so a burial's set is at ``at(position, -depth)``.
        """
        xy = np.asarray(position_m, dtype=np.float64)
        above = np.asarray(above_m, dtype=np.float64)
        surface = np.concatenate([xy, self.height_m(xy)[..., None]], axis=-1)
        return np.asarray(surface + above[..., None] * self.normal())

    def to_snow(self, position_m: ArrayLike) -> NDArray[np.float64]:
        """Return positions in axes on the snow (along the contour, up the fall line), (..., 2), m.

        Lengths and areas in these axes are lengths and areas on the snow.
        """
        return np.asarray(np.asarray(position_m, dtype=np.float64) @ self._axes().T)

    def to_plan(self, snow_m: ArrayLike) -> NDArray[np.float64]:
        """Return the inverse of `to_snow`: positions in plan, shape (..., 2), m."""
        return np.asarray(np.asarray(snow_m, dtype=np.float64) @ np.linalg.inv(self._axes()).T)

    def length_m(self, line_m: ArrayLike) -> float:
        """Return the length on the snow of a line given in plan, shape (n, 2), m."""
        return float(np.linalg.norm(np.diff(self.to_snow(line_m), axis=0), axis=-1).sum())

    def steps(self, line_m: ArrayLike) -> NDArray[np.float64]:
        """Return a line in plan, (k, 2), with the extra places that its height needs: none on a plane."""
        return np.asarray(line_m, dtype=np.float64)

    def steepest_rise(self) -> float:
        """Return the rise per metre straight up the fall line."""
        return float(np.tan(self.slope_rad))

    def _axes(self) -> NDArray[np.float64]:
        uphill = -np.array([np.sin(self.aspect_rad), np.cos(self.aspect_rad)])
        along = np.array([uphill[1], -uphill[0]])
        return np.stack([along, uphill / np.cos(self.slope_rad)])
