"""Where people can walk on the ground, and the shortest way between two places of it."""

from __future__ import annotations

from functools import cached_property

import numpy as np
import shapely
from numpy.typing import ArrayLike, NDArray
from scipy.sparse.csgraph import dijkstra
from shapely.geometry import Point, Polygon
from shapely.geometry.base import BaseGeometry

from coldfield.errors import OutOfModel

INSET_M = 0.01
"""Lanes keep this far from the edge, so that places written to the millimetre lie inside."""

_MANY_CORNERS = 80
_COARSE_M = 0.3

Points = NDArray[np.float64]


class Walkable:
    """Ground in flat axes (lengths as on the snow), less a rim of a centimetre, in one piece.

    Parameters
    ----------
    ground : Polygon or MultiPolygon
        The ground with its holes, m; holes are not walked.
    entry_m : array_like, shape (2,)
        Where people come onto it. Where holes cut the ground, the piece nearest to it is taken.

    Raises
    ------
    OutOfModel
        If no part of the ground is 2 cm wide.
    """

    def __init__(self, ground: BaseGeometry, entry_m: ArrayLike) -> None:
        parts = _parts(ground.buffer(-INSET_M, join_style="mitre"))
        if not parts:
            raise OutOfModel("the ground is nowhere 2 cm wide: nobody can walk on it")
        entry = Point(np.asarray(entry_m, dtype=np.float64))
        nearest = min(parts, key=lambda part: (part.distance(entry), -part.area))
        self.area: Polygon = nearest
        self.whole = len(parts) == 1
        self.entry_m: Points = np.asarray(entry_m, dtype=np.float64)
        self.door_m: Points = self.nearest(self.entry_m)
        self._seen_in = nearest.buffer(INSET_M / 2, join_style="mitre")
        shapely.prepare(self._seen_in)
        shapely.prepare(self.area)

    def nearest(self, point_m: ArrayLike) -> Points:
        """Return the place on the walkable ground that is nearest to a point."""
        point = Point(np.asarray(point_m, dtype=np.float64))
        if self.area.covers(point):
            return np.asarray(point.coords[0])
        foot = shapely.shortest_line(self.area, point).coords[0]
        return np.asarray(foot)

    def straight(self, start_m: Points, end_m: Points) -> NDArray[np.bool_]:
        """Tell for pairs of places, shape (..., 2), whether the straight way stays on the ground."""
        a, b = np.broadcast_arrays(start_m, end_m)
        lines = shapely.linestrings(np.stack([a, b], axis=-2))
        return np.asarray(shapely.covers(self._seen_in, lines))

    def path(self, start_m: Points, end_m: Points) -> Points:
        """Return the corners of the shortest way between two places, both ends included, (k, 2)."""
        if len(self._corners) == 0 or bool(self.straight(start_m, end_m)):
            return np.array([start_m, end_m])
        _, nodes = self._corner_ways
        from_start, to_end = self._to_corners(start_m[None])[0], self._to_corners(end_m[None])[0]
        lengths, before = nodes
        total = from_start[:, None] + lengths + to_end[None, :]
        best = int(np.argmin(total))
        a, b = divmod(best, total.shape[1])
        if not np.isfinite(total[a, b]):
            raise OutOfModel("two places of the ground have no way between them that stays on it")
        chain = [b]
        while chain[-1] != a:
            chain.append(int(before[a, chain[-1]]))
        return np.vstack([start_m, self._corners[chain[::-1]], end_m])

    def distances(self, from_m: Points, to_m: Points) -> NDArray[np.float64]:
        """Return the lengths of the shortest ways between all pairs, (a, 2) and (b, 2) -> (a, b)."""
        direct = np.linalg.norm(from_m[:, None] - to_m[None], axis=-1)
        blocked = ~self.straight(from_m[:, None], to_m[None])
        if blocked.any() and len(self._corners):
            rows, columns = blocked.any(axis=1), blocked.any(axis=0)
            _, (lengths, _) = self._corner_ways
            near = self._to_corners(from_m[rows])
            far = self._to_corners(to_m[columns])
            reach = (near[:, :, None] + lengths[None]).min(axis=1)
            around = (reach[:, None, :] + far[None]).min(axis=2)
            full = np.full(direct.shape, np.inf)
            full[np.ix_(rows, columns)] = around
            direct[blocked] = full[blocked]
        return np.asarray(direct)

    def ways_from_entry(self, to_m: Points) -> NDArray[np.float64]:
        """Return the lengths of the ways from the entry, m: straight to the edge, then on the ground."""
        outside = float(np.linalg.norm(self.door_m - self.entry_m))
        return np.asarray(outside + self.distances(self.door_m[None], to_m)[0])

    def path_from_entry(self, to_m: Points) -> Points:
        """Return the corners of the way from the entry to a place, the entry first, (k, 2)."""
        return np.vstack([self.entry_m, self.path(self.door_m, to_m)])

    @cached_property
    def _corners(self) -> Points:
        """Corners that a shortest way can bend round: those that point into the ground."""
        corners = _inward_corners(self.area)
        if len(corners) > _MANY_CORNERS:
            coarse = self.area.buffer(-_COARSE_M, join_style="mitre").simplify(0.9 * _COARSE_M)
            if isinstance(coarse, Polygon) and not coarse.is_empty:
                fewer = _inward_corners(coarse)
                return fewer if 0 < len(fewer) < len(corners) else corners
        return corners

    @cached_property
    def _corner_ways(self) -> tuple[Points, tuple[NDArray[np.float64], NDArray[np.int32]]]:
        corners = self._corners
        if len(corners) == 0:
            nothing = np.zeros((0, 0))
            return corners, (nothing, nothing.astype(np.int32))
        i, j = np.triu_indices(len(corners), 1)
        weights = np.zeros((len(corners), len(corners)))
        seen = self.straight(corners[i], corners[j])
        weights[i[seen], j[seen]] = np.linalg.norm(corners[i[seen]] - corners[j[seen]], axis=-1)
        lengths, before = dijkstra(weights, directed=False, return_predecessors=True)
        return corners, (lengths, before)

    def _to_corners(self, from_m: Points) -> NDArray[np.float64]:
        corners = self._corners
        length = np.linalg.norm(from_m[:, None] - corners[None], axis=-1)
        length[~self.straight(from_m[:, None], corners[None])] = np.inf
        return np.asarray(length)


def _parts(area: BaseGeometry) -> list[Polygon]:
    return [p for p in shapely.get_parts(area) if isinstance(p, Polygon) and p.area > 0.0]


def _inward_corners(area: Polygon) -> Points:
    """Return the corners with more than half a turn of ground around them, shape (k, 2)."""
    area = shapely.orient_polygons(area, exterior_cw=False)
    found = []
    for ring in (area.exterior, *area.interiors):
        corner = shapely.get_coordinates(ring)[:-1]
        come, go = corner - np.roll(corner, 1, axis=0), np.roll(corner, -1, axis=0) - corner
        turn = come[:, 0] * go[:, 1] - come[:, 1] * go[:, 0]
        found.append(corner[turn < 0.0])
    return np.concatenate(found)
