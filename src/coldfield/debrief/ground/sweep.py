"""Ground covered by signal search, and its gaps."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from coldfield.debrief.ensemble import middle_of
from coldfield.debrief.ground.gaps import GroundGap, Walked, gaps_of
from coldfield.debrief.ground.swept_ways import Searched, swept_in
from coldfield.debrief.snow import Snow
from coldfield.drill.site import Site

Floats = NDArray[np.float64]

CELL_M = 1.0
MOST_CELLS = 1_000_000

LOOKED_AT = 450
"""The number of evenly spread cells that are evaluated in every variant. Setting."""

RIM = 0.02
"""Uncertainty of a share due to cell edges and to people who look aside or stop briefly. Setting."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Swept:
    """The swept ground on a raster of the plan.

    `times` (rows, columns) counts the people who swept each cell, from the south-west corner `origin_m`;
    `ground` (rows, columns) says which cells belong to the ground. Fractions are of the ground: `fraction` is
    swept at all, `overlap_fraction` by two or more people, `by_searcher` by each.
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
    ways: Sequence[Searched] = (),
    before_m: Mapping[str, Sequence[Floats]] | None = None,
    cell_m: float | None = None,
) -> Swept:
    """Return the ground swept by people who walked along `paths_m` in signal search.

    Parameters
    ----------
    site : Site
        Boundary and holes.
    paths_m : mapping
        Searcher id -> walked pieces in plan, each of shape (n, 2), m.
    terrain : Plane or GridSnow
        The snow, on which distances are measured.
    strip_width_m : float
        A place is swept within half this width of a path.
    accuracy_m : mapping
        Standard error of each person's places on each axis.
    ways : sequence of Searched
        The possible paths of each person; without any the share is that of `paths_m`, and no gap is certain.
    before_m : mapping, optional
        Walked pieces of each person before the first signal of the last set, if every set was heard.
    cell_m : float, optional
        Size of a cell; 1 m, or more on very large ground.

    Notes
    -----
    Each cell is assessed by its centre, for a path with a point every 0.5 m. The edge of a strip is wrong by
    less than 1 cm, an area by about half a cell along its edge.
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
    before = None
    if before_m is not None:
        early = [Walked.of(paths, terrain).within(on_snow, reach) for paths in before_m.values()]
        before = np.any([np.zeros(gx.size, dtype=bool), *early], axis=0).reshape(gx.shape)
    apart = 2.0 * np.sqrt(2.0) * float(np.mean([*accuracy_m.values()])) if accuracy_m else 0.0
    gaps = gaps_of(
        times,
        ground,
        xs,
        ys,
        terrain,
        cell_m=cell,
        reach_m=reach,
        apart_m=apart,
        ways=ways,
        before=before,
    )
    here = (times > 0) & ground
    moved, doubt = _over_ways(centres, ground, here, terrain, ways, reach)
    return Swept(
        cell_m=cell,
        origin_m=origin,
        times=times,
        ground=ground,
        fraction=float(np.clip(float(here.sum()) / total + moved, 0.0, 1.0)),
        fraction_uncertainty=doubt,
        overlap_fraction=float(((times > 1) & ground).sum()) / total,
        by_searcher=shares,
        gaps=gaps,
    )


def _over_ways(
    centres: Floats,
    ground: NDArray[np.bool_],
    here: NDArray[np.bool_],
    terrain: Snow,
    ways: Sequence[Searched],
    reach_m: float,
) -> tuple[float, float]:
    """Return by how much the median share over all variants differs from the paths', with its uncertainty."""
    each = max(1, int(np.sqrt(ground.sum() / LOOKED_AT)))
    some = np.zeros(ground.shape, dtype=bool)
    some[each // 2 :: each, each // 2 :: each] = True
    some &= ground
    if not ways or not some.any():
        return 0.0, RIM
    swept = swept_in(ways, terrain.to_snow(centres[some.ravel()]), reach_m).mean(axis=1)
    middle = middle_of(swept)
    return middle.value - float(here[some].mean()), middle.uncertainty + RIM


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
