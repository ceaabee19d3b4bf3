"""Coverage on an elevation grid: lengths along the curved snow, not on a flat surface."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

from coldfield.drill.grid import Grid
from coldfield.drill.site import Site

_MOST_PLACES = 20_000
_SECTION_STEPS = 9
_NEAREST = 6


def far_ground(
    site: Site, lines_m: Sequence[NDArray[np.float64]], grid: Grid, half_m: float
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return the places farther than `half_m` from all lines, on the snow, and their share of the ground.

    Parameters
    ----------
    lines_m : sequence of ndarray (k, 2)
        Lines in plan.

    Returns
    -------
    (ndarray (n, 2), ndarray ())
        Places in plan, m, and the fraction of the snow surface that they represent.

    Notes
    -----
    About 20,000 evenly spaced places are checked, and the boundary at the same spacing. The
    distance is the length on the snow of the straight section in plan to one of the 6 nearest
    places of the lines. It is never below the true distance, so no far place counts as near. Places
    of the lines are a 40th of half a width apart, which adds at most 0.1 %.
    """
    from scipy.spatial import cKDTree

    places, weight = _ground_places(site, grid)
    line = np.concatenate([_dense(points, half_m / 40.0) for points in lines_m])
    tree = cKDTree(np.column_stack([line, grid.height_m(line)]))
    found = tree.query(np.column_stack([places, grid.height_m(places)]), k=_NEAREST)
    chord, nearest = np.asarray(found[0]), np.asarray(found[1])
    near = np.zeros(len(places), dtype=bool)
    for k in range(_NEAREST):
        open_ = np.flatnonzero(~near & (chord[:, k] <= half_m))
        if len(open_):
            length = _section_m(grid, places[open_], line[np.minimum(nearest[open_, k], len(line) - 1)])
            near[open_] = length <= half_m * (1.0 + 1e-3)
    return places[~near], np.asarray(weight[~near].sum() / weight.sum())


def greatest_stretch(site: Site, grid: Grid) -> float:
    """Return the greatest ratio of a step on the snow to the same step in the flat axes of the mean plane."""
    places, _ = _ground_places(site, grid, 4000)
    g = grid.gradient(places)
    to_plan = grid.to_plan(np.eye(2))
    steps = np.linspace(0.0, np.pi, 37)
    plan = np.stack([np.cos(steps), np.sin(steps)], axis=-1) @ to_plan
    rise = plan @ np.nan_to_num(g).T
    return float(np.sqrt((plan**2).sum(axis=1)[:, None] + rise**2).max())


def _ground_places(
    site: Site, grid: Grid, most: int = _MOST_PLACES
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    ground = shapely.Polygon(site.boundary_m, site.holes_m)
    step = float(np.sqrt(ground.area / most))
    west, south, east, north = ground.bounds
    net = np.stack(
        np.meshgrid(np.arange(west + step / 2, east, step), np.arange(south + step / 2, north, step)), axis=-1
    ).reshape(-1, 2)
    inside = net[shapely.contains_xy(ground, net)]
    rim = shapely.get_coordinates(shapely.segmentize(ground.boundary, step))
    places = np.vstack([inside, rim])
    weight = np.sqrt(1.0 + (grid.gradient(places) ** 2).sum(axis=-1))
    weight[len(inside) :] *= 1e-6
    return places, weight


def _dense(line_m: NDArray[np.float64], step_m: float) -> NDArray[np.float64]:
    return np.asarray(shapely.get_coordinates(shapely.segmentize(shapely.linestrings(line_m), step_m)))


def _section_m(grid: Grid, start_m: NDArray[np.float64], end_m: NDArray[np.float64]) -> NDArray[np.float64]:
    share = np.linspace(0.0, 1.0, _SECTION_STEPS)[:, None, None]
    way = start_m + share * (end_m - start_m)
    across = np.linalg.norm(end_m - start_m, axis=-1) / (_SECTION_STEPS - 1)
    rise = np.diff(grid.height_m(way), axis=0)
    return np.asarray(np.hypot(across, rise).sum(axis=0))
