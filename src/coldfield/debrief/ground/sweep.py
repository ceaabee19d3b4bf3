"""Ground that signal search has covered, and the gaps it left."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from coldfield.debrief.ground.gaps import GroundGap, Walked, gaps_of
from coldfield.debrief.place_doubt import SPREAD
from coldfield.debrief.snow import Snow
from coldfield.drill.site import Site

Floats = NDArray[np.float64]

CELL_M = 1.0
MOST_CELLS = 1_000_000


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Swept:
    """The swept ground on a raster of the plan.

    `times` (rows, columns) counts how many people swept a cell, from the south-west corner
    `origin_m`; `ground` (rows, columns) says which cells belong to the ground. Fractions are of the
    ground: `fraction` swept at all, `overlap_fraction` swept by two or more, `by_searcher` by each.
    """

    cell_m: float
    origin_m: tuple[float, float]
    times: NDArray[np.int16]
    ground: NDArray[np.bool_]
    fraction: float
    fraction_uncertainty: float
    overlap_fraction: float
    by_searcher: dict[str, float]
    gaps: tuple[GroundGap, ...]

    def runs(self) -> list[int]:
        """Return run lengths row by row from the south-west, starting with unswept cells."""
        flat = ((self.times > 0) & self.ground).ravel()
        edges = np.flatnonzero(np.diff(flat)) + 1
        lengths = np.diff(np.concatenate([[0], edges, [flat.size]])).tolist()
        return [0, *lengths] if flat[0] else lengths


def swept_ground(
    site: Site,
    paths_m: Mapping[str, Sequence[Floats]],
    terrain: Snow,
    *,
    strip_width_m: float,
    accuracy_m: Mapping[str, float],
    loose_m: Mapping[str, float] | None = None,
    more_paths_m: Mapping[str, Sequence[Floats]] | None = None,
    before_m: Mapping[str, Sequence[Floats]] | None = None,
    cell_m: float | None = None,
) -> Swept:
    """Return what was swept by people who walked along `paths_m` in signal search.

    Parameters
    ----------
    site : Site
        Boundary and holes.
    paths_m : mapping
        Searcher id -> walked pieces in plan, each of shape (n, 2), m.
    terrain : Plane or GridSnow
        The snow: distances count on it.
    strip_width_m : float
        A place is swept within half this width of a path.
    accuracy_m : mapping
        Standard error of each person's places on each axis.
    loose_m : mapping, optional
        Length walked by each person of which it is in doubt whether it still was signal search.
    more_paths_m : mapping, optional
        Walked pieces of each person of which it is in doubt whether they still were signal search: they
        count for nothing but whether a gap is surely one.
    before_m : mapping, optional
        Walked pieces of each person before the last first signal, where every set was heard.
    cell_m : float, optional
        Size of a cell; 1 m, or more on very large ground.

    Notes
    -----
    Every cell is judged by its centre against a path with a point each 0.5 m: a strip's edge is off
    by less than 1 cm, an area by about half a cell along its rim.
    """
    origin, xs, ys, cell = _raster(site, cell_m)
    gx, gy = np.meshgrid(xs, ys)
    centres = np.column_stack([gx.ravel(), gy.ravel()])
    ground = _on_ground(site, centres).reshape(gx.shape)
    on_snow = terrain.to_snow(centres)
    walked = {who: Walked.of(paths, terrain) for who, paths in paths_m.items()}
    reach = strip_width_m / 2
    total = max(int(ground.sum()), 1)
    masks = {who: one.within(on_snow, reach).reshape(gx.shape) for who, one in walked.items()}
    times = np.sum([np.zeros(gx.shape), *masks.values()], axis=0).astype(np.int16)
    shares = {who: float((mask & ground).sum()) / total for who, mask in masks.items()}
    more = {who: Walked.of(paths, terrain) for who, paths in (more_paths_m or {}).items()}
    tracks = [
        (SPREAD * accuracy_m[who], [one, *([more[who]] if who in more else [])])
        for who, one in walked.items()
    ]
    before = None
    if before_m is not None:
        early = [Walked.of(paths, terrain).within(on_snow, reach) for paths in before_m.values()]
        before = np.any([np.zeros(gx.size, dtype=bool), *early], axis=0).reshape(gx.shape)
    gaps = gaps_of(times, ground, xs, ys, terrain, cell_m=cell, reach_m=reach, tracks=tracks, before=before)
    return Swept(
        cell_m=cell,
        origin_m=origin,
        times=times,
        ground=ground,
        fraction=float(((times > 0) & ground).sum()) / total,
        fraction_uncertainty=float(
            np.hypot(
                _doubt(
                    centres[ground.ravel()],
                    walked,
                    {who: mask[ground] for who, mask in masks.items()},
                    terrain,
                    reach_m=reach,
                    accuracy_m=accuracy_m,
                ),
                _loose(loose_m, strip_width_m) / (total * cell * cell / np.cos(terrain.slope_rad)),
            )
        ),
        overlap_fraction=float(((times > 1) & ground).sum()) / total,
        by_searcher=shares,
        gaps=gaps,
    )


def _loose(loose_m: Mapping[str, float] | None, strip_width_m: float) -> float:
    """The area in doubt because the end of people's signal search is, m2: independent between people."""
    lengths = np.array(list((loose_m or {}).values()), dtype=np.float64)
    return float(strip_width_m * np.sqrt(np.sum(lengths**2)))


def _doubt(
    centres: Floats,
    walked: Mapping[str, Walked],
    masks: Mapping[str, NDArray[np.bool_]],
    terrain: Snow,
    *,
    reach_m: float,
    accuracy_m: Mapping[str, float],
) -> float:
    """How well the swept share is known, nineteen cases of twenty: from each track moved to four sides.

    A track moved one way is ground moved the other way.
    """
    step = max(1, len(centres) // 1500)
    cells = centres[::step]
    if not len(cells):
        return 0.0
    swept = {who: mask[::step] for who, mask in masks.items()}
    times = np.sum([np.zeros(len(cells)), *swept.values()], axis=0)
    here = float((times > 0).mean())
    variance = 0.0
    for who, one in walked.items():
        others = times - swept[who] > 0
        for axis in np.eye(2) * SPREAD * accuracy_m[who]:
            less, more = (
                float((others | one.within(terrain.to_snow(cells - sign * axis), reach_m)).mean())
                for sign in (-1.0, 1.0)
            )
            variance += max((more - less) ** 2 / 4.0, max(abs(less - here), abs(more - here)) ** 2 / 4.0)
    return 2.0 * float(np.sqrt(variance)) + 0.01


def _raster(site: Site, cell_m: float | None) -> tuple[tuple[float, float], Floats, Floats, float]:
    corners = np.array(site.boundary_m)
    low, high = corners.min(axis=0), corners.max(axis=0)
    size = high - low
    cell = cell_m or max(CELL_M, float(np.ceil(np.sqrt(size[0] * size[1] / MOST_CELLS))))
    columns, rows = (int(np.ceil(v / cell - 1e-9)) for v in size)
    xs = low[0] + cell * (np.arange(max(columns, 1)) + 0.5)
    ys = low[1] + cell * (np.arange(max(rows, 1)) + 0.5)
    return (float(low[0]), float(low[1])), xs, ys, cell


def _on_ground(site: Site, centres: Floats) -> NDArray[np.bool_]:
    import shapely

    shape = shapely.Polygon(site.boundary_m, site.holes_m)
    shapely.prepare(shape)
    return np.asarray(shapely.contains_xy(shape, centres[:, 0], centres[:, 1]))
