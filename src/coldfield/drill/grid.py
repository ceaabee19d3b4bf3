"""The snow surface as an elevation grid: interpolated heights, slope, contours."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike, NDArray

from coldfield.drill.terrain import Plane
from coldfield.errors import OutOfModel
from coldfield.message import message

Floats = NDArray[np.float64]
_LEVEL = Plane()


@dataclass(frozen=True, kw_only=True, eq=False)
class Grid:
    """Heights at the nodes of a regular grid in the site frame, `nan` where they are unknown.

    Parameters
    ----------
    east_m, north_m : ndarray, shapes (nx,) and (ny,)
        Coordinates of the columns and rows, ascending, evenly spaced, m.
    elevation_m : ndarray, shape (ny, nx)
        Elevation, m; the first row is the southernmost.
    base_m : float
        Elevation that counts as height 0: that of the grid at the site's origin.
    mean : Plane
        The even slope used in place of the grid where a flat surface is needed (`to_snow`).

    Raises
    ------
    OutOfModel
        If the grid is smaller than 3 by 3 or uneven, or if the shapes do not match.

    Notes
    -----
    Between the nodes the height is bilinear, so the surface has no steps. The gradient is Horn's at
    the nodes and bilinear between them. Methods return `nan` outside the grid.

    References
    ----------
    .. [1] B. K. P. Horn, "Hill shading and the reflectance map", Proc. IEEE 69(1), 1981, 14-47
       (kernel from memory).

    Examples
    --------
    A slope of 45 degrees that faces south:

    >>> north, east = np.meshgrid(np.arange(0.0, 50.0, 10.0), np.arange(0.0, 40.0, 10.0), indexing="ij")
    >>> grid = Grid.over(np.arange(0.0, 40.0, 10.0), np.arange(0.0, 50.0, 10.0), 1000.0 + north)
    >>> grid.height_m([[5.0, 25.0]]).tolist(), np.degrees(grid.slope_at([15.0, 25.0])).round(6).item()
    ([25.0], 45.0)
    """

    east_m: Floats
    north_m: Floats
    elevation_m: Floats
    base_m: float = 0.0
    mean: Plane = _LEVEL

    def __post_init__(self) -> None:
        if min(len(self.east_m), len(self.north_m)) < 3:
            raise OutOfModel(message("fault.grid_too_small"))
        if self.elevation_m.shape != (len(self.north_m), len(self.east_m)):
            raise OutOfModel(message("fault.grid_shape"))
        for places in (self.east_m, self.north_m):
            steps = np.diff(places)
            if not (steps > 0.0).all() or np.ptp(steps) > 1e-6 * steps.mean():
                raise OutOfModel(message("fault.grid_steps"))

    @classmethod
    def over(cls, east_m: ArrayLike, north_m: ArrayLike, elevation_m: ArrayLike) -> Grid:
        """Return a grid whose height is 0 at the site's origin, or at its lowest place if the
        origin is outside.

        Lines `east_m` (k,) and `north_m` (l,), elevations (l, k), all in m.
        """
        grid = cls(
            east_m=np.asarray(east_m, dtype=np.float64),
            north_m=np.asarray(north_m, dtype=np.float64),
            elevation_m=np.asarray(elevation_m, dtype=np.float64),
        )
        if not np.isfinite(grid.elevation_m).any():
            raise OutOfModel(message("fault.no_height"))
        base = float(grid.height_m([0.0, 0.0]))
        return replace(grid, base_m=base if np.isfinite(base) else float(np.nanmin(grid.elevation_m)))

    def fitted(self, position_m: ArrayLike) -> Grid:
        """Return the grid with the least-squares plane through places (n, 2) as its `mean`."""
        xy = np.asarray(position_m, dtype=np.float64)
        height = self.height_m(xy)
        known = np.isfinite(height)
        if known.sum() < 3:
            raise OutOfModel(message("fault.grid_no_height_there"))
        sides = np.column_stack([xy[known], np.ones(int(known.sum()))])
        gx, gy, _ = np.linalg.lstsq(sides, height[known], rcond=None)[0]
        aspect = float(np.arctan2(-gx, -gy) % (2.0 * np.pi))
        return replace(self, mean=Plane(slope_rad=float(np.arctan(np.hypot(gx, gy))), aspect_rad=aspect))

    @property
    def cell_m(self) -> float:
        """The longer side of a cell, m."""
        return float(max(self.east_m[1] - self.east_m[0], self.north_m[1] - self.north_m[0]))

    def height_m(self, position_m: ArrayLike) -> Floats:
        """Return the height above `base_m` at positions of shape (..., 2), m."""
        return self._between(self.elevation_m, position_m) - self.base_m

    def gradient(self, position_m: ArrayLike) -> Floats:
        """Return the rise per metre in plan towards east and north at positions, shape (..., 2)."""
        gx, gy = self.horn
        return np.stack([self._between(gx, position_m), self._between(gy, position_m)], axis=-1)

    def normal(self, position_m: ArrayLike) -> Floats:
        """Return the unit vectors at right angles to the snow, pointing up, shape (..., 3)."""
        g = self.gradient(position_m)
        up = np.concatenate([-g, np.ones((*g.shape[:-1], 1))], axis=-1)
        return np.asarray(up / np.linalg.norm(up, axis=-1, keepdims=True))

    def slope_at(self, position_m: ArrayLike) -> Floats:
        """Return the slope at positions of shape (..., 2), rad."""
        return np.asarray(np.arctan(np.linalg.norm(self.gradient(position_m), axis=-1)))

    def at(self, position_m: ArrayLike, above_m: ArrayLike = 0.0) -> Floats:
        """Return points in space, shape (..., 3), `above_m` metres from the snow, at right angles to it."""
        xy = np.asarray(position_m, dtype=np.float64)
        surface = np.concatenate([xy, self.height_m(xy)[..., None]], axis=-1)
        return np.asarray(surface + np.asarray(above_m)[..., None] * self.normal(xy))

    def to_snow(self, position_m: ArrayLike) -> Floats:
        """Return positions (..., 2) in axes on the mean plane; lengths are as exact as that plane."""
        return self.mean.to_snow(position_m)

    def to_plan(self, snow_m: ArrayLike) -> Floats:
        """Return the inverse of `to_snow`, in the same shape (..., 2)."""
        return self.mean.to_plan(snow_m)

    def steps(self, line_m: ArrayLike) -> Floats:
        """Return a line in plan, (k, 2), with places added at most half a cell apart."""
        line = np.asarray(line_m, dtype=np.float64)
        if len(line) < 2:
            return line
        step = 0.5 * min(self.east_m[1] - self.east_m[0], self.north_m[1] - self.north_m[0])
        count = np.maximum(1, np.ceil(np.hypot(*np.diff(line, axis=0).T) / step)).astype(int)
        leg = np.repeat(np.arange(len(count)), count)
        share = (np.arange(len(leg)) - np.repeat(np.cumsum(count) - count, count)) / count[leg]
        return np.vstack([line[leg] + share[:, None] * (line[leg + 1] - line[leg]), line[-1:]])

    def length_m(self, line_m: ArrayLike) -> float:
        """Return the length on the snow of a line given in plan, shape (n, 2), m."""
        xy = self.steps(line_m)
        return float(np.sqrt((np.diff(xy, axis=0) ** 2).sum(axis=1) + np.diff(self.height_m(xy)) ** 2).sum())

    def steepest_rise(self) -> float:
        """Return an upper bound of the rise per metre in any direction anywhere on the grid."""
        across = np.abs(np.diff(self.elevation_m, axis=1)) / (self.east_m[1] - self.east_m[0])
        along = np.abs(np.diff(self.elevation_m, axis=0)) / (self.north_m[1] - self.north_m[0])
        return float(np.hypot(np.nanmax(across), np.nanmax(along)))

    @cached_property
    def horn(self) -> tuple[Floats, Floats]:
        """Rise per metre towards east and north at the nodes of the grid, (ny, nx) each.

        At the rim of the grid the outermost row or column is repeated, which halves the slope
        across the rim. Next to unknown places the gradient is unknown.
        """
        z = np.pad(self.elevation_m, 1, mode="edge")
        west, middle, east = z[:, :-2], z[:, 1:-1], z[:, 2:]
        dx, dy = 8.0 * (self.east_m[1] - self.east_m[0]), 8.0 * (self.north_m[1] - self.north_m[0])
        columns = east - west
        gx = (columns[:-2] + 2.0 * columns[1:-1] + columns[2:]) / dx
        rows = west + 2.0 * middle + east
        gy = (rows[2:] - rows[:-2]) / dy
        return gx, gy

    def slope_rad(self) -> Floats:
        """Return the slope at the nodes of the grid, (ny, nx), rad."""
        return np.asarray(np.arctan(np.hypot(*self.horn)))

    def contours(self, step_m: float) -> list[tuple[float, Floats]]:
        """Return contour lines as (elevation, line (k, 2) in plan), every `step_m` metres."""
        from contourpy import contour_generator

        low, high = np.nanmin(self.elevation_m), np.nanmax(self.elevation_m)
        levels = np.arange(np.ceil(low / step_m), np.floor(high / step_m) + 1.0) * step_m
        drawn = contour_generator(self.east_m, self.north_m, np.ma.masked_invalid(self.elevation_m))
        return [(float(v), np.asarray(line)) for v in levels for line in drawn.lines(float(v))]

    def _between(self, values: Floats, position_m: ArrayLike) -> Floats:
        xy = np.asarray(position_m, dtype=np.float64)
        column = (xy[..., 0] - self.east_m[0]) / (self.east_m[1] - self.east_m[0])
        row = (xy[..., 1] - self.north_m[0]) / (self.north_m[1] - self.north_m[0])
        ny, nx = values.shape
        inside = (column >= 0) & (column <= nx - 1) & (row >= 0) & (row <= ny - 1)
        i = np.clip(np.nan_to_num(column).astype(int), 0, nx - 2)
        j = np.clip(np.nan_to_num(row).astype(int), 0, ny - 2)
        s, t = column - i, row - j
        south = values[j, i] * (1 - s) + values[j, i + 1] * s
        north = values[j + 1, i] * (1 - s) + values[j + 1, i + 1] * s
        return np.asarray(np.where(inside, south * (1 - t) + north * t, np.nan))


Terrain = Plane | Grid
"""The snow surface that a plan can have."""
