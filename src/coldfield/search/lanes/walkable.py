"""Where people can walk on the ground, and the shortest way between two places of it."""

from __future__ import annotations

from copy import copy
from functools import cached_property

import numpy as np
import shapely
from numpy.typing import ArrayLike, NDArray
from shapely.geometry import Point, Polygon
from shapely.geometry.base import BaseGeometry

from coldfield.errors import OutOfModel
from coldfield.message import message, number

INSET_M = 0.002
"""Lanes keep this distance from the edge, so that rounding never puts a place outside."""

Points = NDArray[np.float64]


class Walkable:
    """Ground in flat axes (lengths as on the snow), without a narrow rim, in one piece.

    Parameters
    ----------
    ground : Polygon or MultiPolygon
        The ground with its holes, m; holes are not walked.
    entry_m : array_like, shape (2,)
        Where people come onto it. If holes cut the ground apart, the piece nearest to the entry is used.
    rim_m : float
        Width of the edge that is left out. Ground with very many corners is simplified within the rim;
        this makes planning fast, and ways longer by up to about twice the rim at each corner.

    Raises
    ------
    OutOfModel
        If no part of the ground is wider than two rims.
    """

    def __init__(self, ground: BaseGeometry, entry_m: ArrayLike, *, rim_m: float = INSET_M) -> None:
        inner: BaseGeometry = ground.buffer(-rim_m, join_style="mitre")
        if rim_m > INSET_M:
            inner = inner.simplify(0.8 * rim_m)
        parts = _parts(inner)
        if not parts:
            raise OutOfModel(message("fault.too_narrow", width=number(2000 * rim_m)))
        entry = Point(np.asarray(entry_m, dtype=np.float64))
        nearest = min(parts, key=lambda part: (part.distance(entry), -part.area))
        self.area: Polygon = nearest
        self.whole = len(parts) == 1
        self.rim_m = rim_m
        self.entry_m: Points = np.asarray(entry_m, dtype=np.float64)
        self.door_m: Points = _nearest(self.area, self.entry_m)
        self._ways = _Ways(nearest)
        self._turn = np.eye(2)

    def turned(self, turn_rad: float) -> Walkable:
        """Return the same ground in axes turned by `turn_rad`; the ways on it are shared."""
        c, s = np.cos(turn_rad), np.sin(turn_rad)
        view = copy(self)
        view._turn = self._turn @ np.array([[c, -s], [s, c]])
        view.area = shapely.transform(self.area, lambda xy: xy @ np.array([[c, -s], [s, c]]))
        view.entry_m, view.door_m = self.entry_m @ view._turn, self.door_m @ view._turn
        shapely.prepare(view.area)
        return view

    def nearest(self, point_m: ArrayLike) -> Points:
        """Return the place on the walkable ground, (2,), that is nearest to a point (2,), m."""
        return _nearest(self.area, point_m)

    def straight(self, start_m: Points, end_m: Points) -> NDArray[np.bool_]:
        """Return for pairs of places, shape (..., 2), whether the straight way stays on the ground."""
        return self._ways.straight(start_m @ self._turn.T, end_m @ self._turn.T)

    def path(self, start_m: Points, end_m: Points) -> Points:
        """Return the corners of the shortest way between two places, including both ends, (k, 2)."""
        between = self._ways.corners_between(start_m @ self._turn.T, end_m @ self._turn.T)
        return np.vstack([start_m, between @ self._turn, end_m])

    def distances(self, from_m: Points, to_m: Points) -> NDArray[np.float64]:
        """Return the lengths of the shortest ways between all pairs, (a, 2) and (b, 2) -> (a, b)."""
        return self._ways.distances(from_m @ self._turn.T, to_m @ self._turn.T)

    def ways_from_entry(self, to_m: Points) -> NDArray[np.float64]:
        """Return the lengths of the ways from the entry to places (n, 2): shape (n,), m.

        Each way goes straight to the edge and then on the ground.
        """
        outside = float(np.linalg.norm(self.door_m - self.entry_m))
        return np.asarray(outside + self.distances(self.door_m[None], to_m)[0])

    def path_from_entry(self, to_m: Points) -> Points:
        """Return the corners of the way from the entry to a place, starting with the entry, (k, 2)."""
        return np.vstack([self.entry_m, self.path(self.door_m, to_m)])


class _Ways:
    """Shortest ways within a polygon, through the corners at which a shortest way can bend."""

    def __init__(self, area: Polygon) -> None:
        self._corners = _inward_corners(area)
        self._seen_in = area.buffer(INSET_M / 2, join_style="mitre")
        shapely.prepare(self._seen_in)

    def straight(self, start_m: Points, end_m: Points) -> NDArray[np.bool_]:
        a, b = np.broadcast_arrays(start_m, end_m)
        lines = shapely.linestrings(np.stack([a, b], axis=-2))
        return np.asarray(shapely.covers(self._seen_in, lines))

    def corners_between(self, start_m: Points, end_m: Points) -> Points:
        if len(self._corners) == 0 or bool(self.straight(start_m, end_m)):
            return np.empty((0, 2))
        apart = float(np.hypot(*(end_m - start_m)))
        for reach in (2.0 * apart + 10.0, np.inf):
            length, corners = self._around(start_m, end_m, reach)
            # A shorter way cannot bend round a corner that is farther away than the length of the way.
            if length <= reach and np.isfinite(length):
                return corners
        raise OutOfModel(message("fault.no_way_between"))

    def _around(self, start_m: Points, end_m: Points, reach_m: float) -> tuple[float, Points]:
        """Return the length and corners of the shortest way that bends within reach of both ends."""
        found = []
        for place in (start_m, end_m):
            length = np.hypot(self._corners[:, 0] - place[0], self._corners[:, 1] - place[1])
            near = np.flatnonzero(length <= reach_m)
            near = near[self.straight(place, self._corners[near])] if len(near) else near
            found.append((near, length[near]))
        (starts, from_start), (ends, to_end) = found
        if not len(starts) or not len(ends):
            return np.inf, np.empty((0, 2))
        lengths, before = self._between_corners
        total = from_start[:, None] + lengths[np.ix_(starts, ends)] + to_end[None, :]
        a, b = np.unravel_index(int(np.argmin(total)), total.shape)
        if not np.isfinite(total[a, b]):
            return np.inf, np.empty((0, 2))
        chain = [int(ends[b])]
        while chain[-1] != starts[a]:
            chain.append(int(before[starts[a], chain[-1]]))
        return float(total[a, b]), np.asarray(self._corners[chain[::-1]])

    def distances(self, from_m: Points, to_m: Points) -> NDArray[np.float64]:
        direct = np.linalg.norm(from_m[:, None] - to_m[None], axis=-1)
        blocked = ~self.straight(from_m[:, None], to_m[None])
        if blocked.any() and len(self._corners):
            rows, columns = np.flatnonzero(blocked.any(axis=1)), np.flatnonzero(blocked.any(axis=0))
            lengths, _ = self._between_corners
            near, far = self._to_corners(from_m[rows]), self._to_corners(to_m[columns])
            around = np.full(direct.shape, np.inf)
            for row, reach in zip(rows, near, strict=True):
                seen = np.isfinite(reach)
                to_corner = (reach[seen, None] + lengths[seen]).min(axis=0, initial=np.inf)
                around[row, columns] = (to_corner + far).min(axis=1)
            direct[blocked] = around[blocked]
        return np.asarray(direct)

    @cached_property
    def _between_corners(self) -> tuple[NDArray[np.float64], NDArray[np.int32]]:
        from scipy.sparse.csgraph import dijkstra

        corners = self._corners
        i, j = np.triu_indices(len(corners), 1)
        weights = np.zeros((len(corners), len(corners)))
        seen = self.straight(corners[i], corners[j])
        weights[i[seen], j[seen]] = np.linalg.norm(corners[i[seen]] - corners[j[seen]], axis=-1)
        lengths, before = dijkstra(weights, directed=False, return_predecessors=True)
        return lengths, before

    def _to_corners(self, from_m: Points) -> NDArray[np.float64]:
        corners = self._corners
        length = np.linalg.norm(from_m[:, None] - corners[None], axis=-1)
        length[~self.straight(from_m[:, None], corners[None])] = np.inf
        return np.asarray(length)


def _nearest(area: Polygon, point_m: ArrayLike) -> Points:
    point = Point(np.asarray(point_m, dtype=np.float64))
    if area.covers(point):
        return np.asarray(point.coords[0])
    return np.asarray(shapely.shortest_line(area, point).coords[0])


def _parts(area: BaseGeometry) -> list[Polygon]:
    return [p for p in shapely.get_parts(area) if isinstance(p, Polygon) and p.area > 0.0]


def _inward_corners(area: Polygon) -> Points:
    """Return the corners with more than 180 degrees of ground around them, shape (k, 2)."""
    area = shapely.orient_polygons(area, exterior_cw=False)
    found = []
    for ring in (area.exterior, *area.interiors):
        corner = shapely.get_coordinates(ring)[:-1]
        come, go = corner - np.roll(corner, 1, axis=0), np.roll(corner, -1, axis=0) - corner
        turn = come[:, 0] * go[:, 1] - come[:, 1] * go[:, 0]
        found.append(corner[turn < 0.0])
    return np.concatenate(found)
