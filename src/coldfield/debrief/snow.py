"""The snow of a run: the drill's plane, or an elevation grid extended beyond its edge."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

import numpy as np
from numpy.typing import ArrayLike, NDArray

from coldfield.drill.grid import Grid
from coldfield.drill.terrain import Plane

Floats = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True, eq=False)
class GridSnow:
    """An elevation grid for the debrief: a height everywhere, and lengths from points in space.

    Tracks sometimes leave the ground. Beyond the grid and in its holes, the snow continues with the slope of
    the mean plane from the nearest place of the edge, or from the mean plane.
    """

    grid: Grid

    @property
    def slope_rad(self) -> float:
        """Slope of the mean plane, used for areas."""
        return self.grid.mean.slope_rad

    def height_m(self, position_m: ArrayLike) -> Floats:
        """Return the height of the snow above the origin's at positions (..., 2), m."""
        xy = np.asarray(position_m, dtype=np.float64)
        inside = self._clipped(xy)
        height = self.grid.height_m(inside) + self.grid.mean.height_m(xy - inside)
        return np.asarray(np.where(np.isnan(height), self.grid.mean.height_m(xy), height))

    def gradient(self, position_m: ArrayLike) -> Floats:
        """Return the rise per metre in plan towards east and north at positions, shape (..., 2)."""
        xy = np.asarray(position_m, dtype=np.float64)
        rise = self.grid.gradient(self._clipped(xy))
        return np.asarray(np.where(np.isnan(rise), self.grid.mean.gradient(), rise))

    def normal(self, position_m: ArrayLike) -> Floats:
        """Return the upward unit normals of the snow, shape (..., 3)."""
        rise = self.gradient(position_m)
        up = np.concatenate([-rise, np.ones((*rise.shape[:-1], 1))], axis=-1)
        return np.asarray(up / np.linalg.norm(up, axis=-1, keepdims=True))

    def at(self, position_m: ArrayLike, above_m: ArrayLike = 0.0) -> Floats:
        """Return points in space, (..., 3), `above_m` from the snow along its normal."""
        xy = np.asarray(position_m, dtype=np.float64)
        surface = np.concatenate([xy, self.height_m(xy)[..., None]], axis=-1)
        return np.asarray(surface + np.asarray(above_m, dtype=np.float64)[..., None] * self.normal(xy))

    def to_snow(self, position_m: ArrayLike) -> Floats:
        """Return points in space on the snow, (..., 3): short steps between them are lengths on the snow."""
        xy = np.asarray(position_m, dtype=np.float64)
        return np.concatenate([xy, self.height_m(xy)[..., None]], axis=-1)

    def length_m(self, line_m: ArrayLike) -> float:
        """Return the length on the snow of a line given in plan, shape (n, 2), m."""
        points = self.to_snow(self.grid.steps(line_m))
        return float(np.linalg.norm(np.diff(points, axis=0), axis=1).sum())

    def _clipped(self, xy: Floats) -> Floats:
        low = [self.grid.east_m[0], self.grid.north_m[0]]
        high = [self.grid.east_m[-1], self.grid.north_m[-1]]
        return np.clip(xy, low, high)


Snow = Plane | GridSnow
"""The snow of a run."""


def speed_on_snow_m_s(terrain: Snow, position_m: Floats, velocity_m_s: Floats) -> Floats:
    """Return speeds on the snow, (n,), for velocities in plan, (n, 2), at places (n, 2)."""
    if isinstance(terrain, Plane):
        return np.asarray(np.linalg.norm(terrain.to_snow(velocity_m_s), axis=1))
    rise = np.sum(terrain.gradient(position_m) * velocity_m_s, axis=1)
    return np.asarray(np.sqrt(np.sum(velocity_m_s**2, axis=1) + rise**2))


class SurfaceAt:
    """Height and normal at single places, in plain numbers, for stepwise walks."""

    def __init__(self, terrain: Snow) -> None:
        self.terrain = terrain
        if isinstance(terrain, Plane):
            self.rise = [float(v) for v in terrain.gradient()]
            self.up = [float(v) for v in terrain.normal()]

    def __call__(self, x: float, y: float) -> tuple[float, list[float]]:
        """Return height, m, and normal."""
        if isinstance(self.terrain, Plane):
            return self.rise[0] * x + self.rise[1] * y, self.up
        place = np.array([x, y])
        east, north = (float(v) for v in self.terrain.gradient(place))
        size = sqrt(1.0 + east * east + north * north)
        return float(self.terrain.height_m(place)), [-east / size, -north / size, 1.0 / size]
