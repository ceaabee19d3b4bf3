"""Parallel lanes of one heading: one walk along each strip of the ground, and what they leave out.

All geometry is in flat axes, in which lengths are lengths on the snow, turned so that the lanes run
along x.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import LineString, Polygon, box
from shapely.geometry.base import BaseGeometry

from coldfield.search.lanes.coverage import left_out
from coldfield.search.lanes.walkable import INSET_M, Points, Walkable

COVER_FACTOR = 0.99
"""Ends and spurs are cut to this share of half a width, to allow for circles drawn as polygons."""

SHORTEST_M = 2.0
"""A strip that a single place would cover still gets a walk of this length, if it is that long."""

_ROUNDS = 8


@dataclass(frozen=True, slots=True, kw_only=True)
class Strip:
    """One walk from left to right, a line (k, 2), m, along a piece of one band of the ground."""

    line_m: Points
    band: int
    piece: Polygon


def strip_count(height_m: float, width_m: float) -> int:
    """Return how many strips of at most `width_m` lie side by side in `height_m`."""
    return max(1, ceil(height_m / width_m - 1e-7))


def middle_lines(ground: BaseGeometry, edges_m: NDArray[np.float64]) -> list[LineString]:
    """Return the straight line through the middle of each band: n lines over the ground from n + 1 edges."""
    left, _, right, _ = ground.bounds
    middle = 0.5 * (edges_m[:-1] + edges_m[1:])
    return [LineString([(left - 1.0, y), (right + 1.0, y)]) for y in middle]


def even_edges(ground: BaseGeometry, width_m: float) -> NDArray[np.float64]:
    """Return the borders between bands of equal width over the ground: values of y, (n + 1,), m."""
    _, low, _, high = ground.bounds
    return np.linspace(low, high, strip_count(high - low, width_m) + 1)


def strips(
    walkable: Walkable, ground: BaseGeometry, edges_m: NDArray[np.float64], half_m: float
) -> list[Strip]:
    """Return the walks that cover the walkable ground, band by band from low y to high y.

    Bands lie between edges (n + 1,).

    Within a band each piece of ground is walked from its leftmost to its rightmost place. The walk
    follows the middle of the band where that is ground, and otherwise takes the shortest way along the
    edge. Each place of the piece then lies within half a band of the walk, straight up or down, if each
    x cuts the piece only once. Ends are cut back as long as all ground ahead is within `half_m`.
    """
    found = []
    area = walkable.area if ground.covers(walkable.area) else shapely.intersection(walkable.area, ground)
    for band, middle in enumerate(middle_lines(area, edges_m)):
        left, _, right, _ = area.bounds
        window = box(left - 1.0, edges_m[band], right + 1.0, edges_m[band + 1])
        for piece in shapely.get_parts(shapely.intersection(area, window)):
            if isinstance(piece, Polygon) and piece.area > 0.0:
                line = _walk_of_piece(walkable, piece, middle)
                found.append(Strip(line_m=line, band=band, piece=piece))
    if len(found) == 1:
        return found
    reach = COVER_FACTOR * half_m - (walkable.rim_m if walkable.rim_m > INSET_M else 0.0)
    return [Strip(line_m=cut_back(s.line_m, s.piece, reach), band=s.band, piece=s.piece) for s in found]


def _walk_of_piece(walkable: Walkable, piece: Polygon, middle: LineString) -> Points:
    corners = shapely.get_coordinates(piece.exterior)
    tips = corners[np.argmin(corners[:, 0])], corners[np.argmax(corners[:, 0])]
    cut = [shapely.get_coordinates(c) for c in shapely.get_parts(shapely.intersection(piece, middle))]
    stops = sorted((c[np.argsort(c[:, 0])] for c in cut if len(c) > 1), key=lambda c: float(c[0, 0]))
    places = [tips[0], *(p for c in stops for p in (c[0], c[-1])), tips[1]]
    return through(walkable, np.array(places))


def through(walkable: Walkable, places_m: Points) -> Points:
    """Return the shortest walk through places in their order, shape (k, 2), without repeats."""
    straight = walkable.straight(places_m[:-1], places_m[1:])
    walk = [places_m[:1]]
    for i, free in enumerate(straight):
        step = places_m[i : i + 2] if free else walkable.path(places_m[i], places_m[i + 1])
        walk.append(step[1:])
    return without_repeats(np.concatenate(walk))


def without_repeats(line_m: Points) -> Points:
    """Return a line (k, 2) without places that repeat the one before; at least one place stays."""
    keep = np.ones(len(line_m), dtype=bool)
    keep[1:] = np.linalg.norm(np.diff(line_m, axis=0), axis=-1) > 1e-9
    return line_m[keep]


def cut_back(line_m: Points, piece: Polygon, reach_m: float) -> Points:
    """Return the walk (k, 2), cut at both ends as far as all ground of the piece stays within reach."""
    rings = [shapely.get_coordinates(r) for r in (piece.exterior, *piece.interiors)]
    sides = np.concatenate([np.stack([r[:-1], r[1:]], axis=1) for r in rings])
    along = lengths_along(line_m)
    first = _furthest_cut(line_m, along, sides, reach_m, sign=1.0)
    last = along[-1] - _furthest_cut(line_m[::-1], along[-1] - along[::-1], sides, reach_m, sign=-1.0)
    if last - first < SHORTEST_M:
        middle = 0.5 * (first + last)
        first, last = max(0.0, middle - SHORTEST_M / 2), min(along[-1], middle + SHORTEST_M / 2)
    inside = line_m[(along > first) & (along < last)]
    ends = places_along(line_m, along, np.array([first, last]))
    return np.vstack([ends[:1], inside, ends[1:]])


def lengths_along(line_m: Points) -> NDArray[np.float64]:
    """Return the length from the start to each corner of a line (k, 2): shape (k,), m."""
    step = np.diff(line_m, axis=0)
    return np.concatenate([[0.0], np.cumsum(np.hypot(step[:, 0], step[:, 1]))])


def places_along(line_m: Points, along: NDArray[np.float64], at_m: NDArray[np.float64]) -> Points:
    """Return the places at given lengths along a line, (n, 2); `along` comes from `lengths_along`."""
    return np.stack([np.interp(at_m, along, line_m[:, k]) for k in (0, 1)], axis=-1)


def _furthest_cut(
    line_m: Points, along: NDArray[np.float64], sides: Points, reach_m: float, *, sign: float
) -> float:
    """Return how much of the start of the line can be cut off, to about a centimetre."""
    low, high = 0.0, float(along[-1])
    for _ in range(3):
        trial = np.linspace(low, high, 17)
        fails = np.flatnonzero(~_in_reach(places_along(line_m, along, trial), sides, reach_m, sign))
        if not len(fails):
            return high
        if fails[0] == 0:
            return 0.0
        low, high = float(trial[fails[0] - 1]), float(trial[fails[0]])
    return low


def _in_reach(ends_m: Points, sides: Points, reach_m: float, sign: float) -> NDArray[np.bool_]:
    """Return for each end whether the ground on its outer side (sign 1: to the left) is within reach."""
    x = sign * (sides[None, :, :, 0] - ends_m[:, None, None, 0])
    y = sides[None, :, :, 1] - ends_m[:, None, None, 1]
    far = (x <= 0.0) & (x * x + y * y > reach_m * reach_m)
    crossing = (x[..., 0] < 0.0) != (x[..., 1] < 0.0)
    run = np.where(crossing, x[..., 0] - x[..., 1], 1.0)
    height = y[..., 0] + x[..., 0] / run * (y[..., 1] - y[..., 0])
    return np.asarray(~(far.any(axis=(1, 2)) | (crossing & (np.abs(height) > reach_m)).any(axis=1)))


def mended(walkable: Walkable, ground: BaseGeometry, walks: list[Strip], half_m: float) -> list[Strip]:
    """Return the walks, with spurs and further walks added until nothing reachable is left out."""
    walks = list(walks)
    for _ in range(_ROUNDS):
        parts = left_out([w.line_m for w in walks], ground, half_m)
        if not parts:
            break
        for part in parts:
            _mend(walkable, walks, part, COVER_FACTOR * half_m)
    return walks


def _mend(walkable: Walkable, walks: list[Strip], part: BaseGeometry, reach_m: float) -> None:
    shapes = [LineString(w.line_m) if len(w.line_m) > 1 else shapely.Point(w.line_m[0]) for w in walks]
    which = int(np.argmin(shapely.distance(shapes, part)))
    corners = shapely.get_coordinates(part)
    turned_x = corners[np.argmin(corners[:, 0])], corners[np.argmax(corners[:, 0])]
    ends = [walkable.nearest(p) for p in turned_x]
    if np.ptp(corners, axis=0).max() > 2.0 * reach_m:
        line = through(walkable, np.array(ends))
        walks.append(Strip(line_m=line, band=walks[which].band, piece=walks[which].piece))
        return
    goal = walkable.nearest(shapely.get_coordinates(part.centroid)[0])
    old = walks[which].line_m
    foot, index = _foot(old, goal)
    spur = _shortened(walkable.path(foot, goal), corners, reach_m)
    if len(spur) < 2:
        return
    if index == len(old) - 1 and np.allclose(foot, old[-1]):
        line = np.vstack([old, spur[1:]])
    elif np.allclose(foot, old[0]):
        line = np.vstack([spur[:0:-1], old])
    else:
        line = np.vstack([old[: index + 1], spur, spur[-2::-1], old[index + 1 :]])
    walks[which] = Strip(line_m=without_repeats(line), band=walks[which].band, piece=walks[which].piece)


def _foot(line_m: Points, goal_m: Points) -> tuple[Points, int]:
    """Return the place on the line that is nearest to the goal, and the index of the corner before it."""
    if len(line_m) == 1:
        return line_m[0], 0
    a, b = line_m[:-1], line_m[1:]
    step = b - a
    share = np.clip(((goal_m - a) * step).sum(axis=1) / (step**2).sum(axis=1), 0.0, 1.0)
    feet = a + share[:, None] * step
    nearest = int(np.argmin(np.linalg.norm(feet - goal_m, axis=1)))
    return feet[nearest], nearest + int(share[nearest] == 1.0)


def _shortened(spur_m: Points, corners: Points, reach_m: float) -> Points:
    """Return the spur up to the first place from which all corners are within reach, otherwise all of it."""
    along = lengths_along(spur_m)
    steps = np.linspace(0.0, along[-1], 60)
    places = places_along(spur_m, along, steps)
    furthest = np.linalg.norm(places[:, None] - corners[None], axis=-1).max(axis=1)
    enough = np.flatnonzero(furthest <= reach_m)
    if not len(enough):
        return without_repeats(spur_m)
    kept = spur_m[along < steps[enough[0]]]
    return without_repeats(np.vstack([kept, places[enough[0]]]))
