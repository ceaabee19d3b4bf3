"""Flat axes for laying lanes: lengths as on the snow, turned so that lanes run along x."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from numpy.typing import ArrayLike, NDArray
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from coldfield.drill.grid import Terrain
from coldfield.drill.site import Site
from coldfield.search.lanes.pace import level_metres
from coldfield.search.lanes.walkable import Points


@dataclass(frozen=True, kw_only=True)
class Flat:
    """The snow laid flat and turned by `turn_rad`, counterclockwise."""

    terrain: Terrain
    turn_rad: float = 0.0

    def laid(self, position_m: ArrayLike) -> Points:
        """Return plan positions, (..., 2), in flat axes, m."""
        return np.asarray(np.asarray(position_m, dtype=np.float64) @ np.linalg.inv(self._to_plan))

    def plan(self, flat_m: ArrayLike) -> Points:
        """Return the inverse of `laid`, in the same shape (..., 2)."""
        return np.asarray(np.asarray(flat_m, dtype=np.float64) @ self._to_plan)

    def turned(self, turn_rad: float) -> Flat:
        """Return the same snow in axes turned further, counterclockwise."""
        return Flat(terrain=self.terrain, turn_rad=self.turn_rad + turn_rad)

    def polygon(self, site: Site) -> Polygon:
        """Return the ground of a site in flat axes."""
        return Polygon(self.laid(site.boundary_m), [self.laid(hole) for hole in site.holes_m])

    def heading_rad(self) -> float:
        """Return the azimuth of the lanes in plan, clockwise from true north, from 0 up to pi."""
        east, north = self._to_plan[0]
        azimuth = float(np.arctan2(east, north) % np.pi)
        return azimuth if azimuth < np.pi - 1e-9 else 0.0

    @cached_property
    def _to_plan(self) -> NDArray[np.float64]:
        c, s = np.cos(self.turn_rad), np.sin(self.turn_rad)
        return np.array([[c, s], [-s, c]]) @ self.terrain.to_plan(np.eye(2))


@dataclass(frozen=True, slots=True, kw_only=True)
class Pace:
    """Walking times on the ground for a level speed of 1 m/s; `factor` is the speed factor of the surface."""

    flat: Flat
    factor: float = 1.0

    def seconds(self, start_m: Points, end_m: Points) -> NDArray[np.float64]:
        """Return the times of straight legs in flat axes, (n, 2) and (n, 2) -> (n,), s."""
        return self._plan_seconds(self.flat.plan(start_m), self.flat.plan(end_m))

    def of_line(self, line_m: Points) -> float:
        """Return the time to walk a line given in flat axes, (k, 2), from its first place, s."""
        if len(line_m) < 2:
            return 0.0
        places = self.flat.terrain.steps(self.flat.plan(line_m))
        return float(self._plan_seconds(places[:-1], places[1:]).sum())

    def _plan_seconds(self, start_m: Points, end_m: Points) -> NDArray[np.float64]:
        across = np.hypot(end_m[..., 0] - start_m[..., 0], end_m[..., 1] - start_m[..., 1])
        rise = self.flat.terrain.height_m(end_m) - self.flat.terrain.height_m(start_m)
        return level_metres(across, rise) / self.factor


def turned(polygon: BaseGeometry, turn_rad: float) -> BaseGeometry:
    """Return a polygon of flat axes in axes turned by `turn_rad`."""
    c, s = np.cos(turn_rad), np.sin(turn_rad)
    return shapely.transform(polygon, lambda xy: xy @ np.array([[c, -s], [s, c]]))
