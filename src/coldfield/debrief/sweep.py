"""Ground that signal search has covered, and the gaps it left."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from coldfield.debrief.border import SPREAD
from coldfield.debrief.snow import Snow
from coldfield.drill.site import Site

Floats = NDArray[np.float64]

CELL_M = 1.0
MOST_CELLS = 1_000_000
LEAST_GAP_M2 = 4.0
MOST_GAPS = 40


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Gap:
    """A part of the ground outside every swept strip.

    `position_m` is its innermost place, `width_m` twice the distance from there to its edge, on the
    snow; `enclosed` where swept ground lies around it, not only on one side. `exceeds_accuracy` says
    whether it is wider than two tracks' places are unsure against each other, `surely` whether it stays one
    if everybody searched for as long as the tracks allow.
    """

    position_m: tuple[float, float]
    area_m2: float
    width_m: float
    exceeds_accuracy: bool
    enclosed: bool
    surely: bool
    ring_m: tuple[tuple[float, float], ...]


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
    gaps: tuple[Gap, ...]

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
    more_paths_m: Sequence[Floats] = (),
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
        Standard error of each person's places on each axis; a gap lies between two tracks, and one up to
        2.8 times as wide may be none.
    loose_m : mapping, optional
        Length walked by each person of which it is in doubt whether it still was signal search.
    more_paths_m : sequence
        Walked pieces of which it is in doubt whether they still were signal search: they count for nothing
        but whether a gap is surely one.
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
    times = np.zeros(gx.shape, dtype=np.int16)
    shares = {}
    total = max(int(ground.sum()), 1)
    for who, paths in paths_m.items():
        mask = _within(on_snow, [terrain.to_snow(p) for p in paths], strip_width_m / 2).reshape(gx.shape)
        times += mask
        shares[who] = float((mask & ground).sum()) / total
    mean_accuracy = float(np.mean([accuracy_m[who] for who in paths_m])) if paths_m else 0.0
    maybe = _within(on_snow, [terrain.to_snow(p) for p in more_paths_m], strip_width_m / 2).reshape(gx.shape)
    gaps = _gaps(
        times,
        ground,
        xs,
        ys,
        terrain,
        cell=cell,
        strip_width_m=strip_width_m,
        accuracy_m=mean_accuracy,
        maybe=maybe,
    )
    return Swept(
        cell_m=cell,
        origin_m=origin,
        times=times,
        ground=ground,
        fraction=float(((times > 0) & ground).sum()) / total,
        fraction_uncertainty=float(
            np.hypot(
                _doubt(
                    on_snow[ground.ravel()],
                    paths_m,
                    terrain,
                    strip_width_m=strip_width_m,
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
    on_snow: Floats,
    paths_m: Mapping[str, Sequence[Floats]],
    terrain: Snow,
    *,
    strip_width_m: float,
    accuracy_m: Mapping[str, float],
) -> float:
    """How well the swept share is known, nineteen cases of twenty: from each track moved to four sides."""
    cells = on_snow[:: max(1, len(on_snow) // 1500)]
    if not len(cells):
        return 0.0
    reach = strip_width_m / 2
    swept = {
        who: _within(cells, [terrain.to_snow(p) for p in paths], reach, 1.5) for who, paths in paths_m.items()
    }
    variance = 0.0
    for who, paths in paths_m.items():
        others = np.zeros(len(cells), dtype=bool)
        for other, mask in swept.items():
            if other != who:
                others |= mask
        for axis in np.eye(2) * SPREAD * accuracy_m[who]:
            shares = [
                float(
                    (
                        others | _within(cells, [terrain.to_snow(p + sign * axis) for p in paths], reach, 1.5)
                    ).mean()
                )
                for sign in (-1.0, 1.0)
            ]
            here = float((others | swept[who]).mean())
            variance += max((shares[1] - shares[0]) ** 2 / 4.0, max(abs(s - here) for s in shares) ** 2 / 4.0)
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


def _within(
    on_snow: Floats, paths: Sequence[Floats], reach_m: float, spacing_m: float = 0.5
) -> NDArray[np.bool_]:
    from scipy.spatial import cKDTree

    dense = [_dense(path, spacing_m) for path in paths if len(path)]
    if not dense:
        return np.zeros(len(on_snow), dtype=bool)
    distance, _ = cKDTree(np.concatenate(dense)).query(on_snow, distance_upper_bound=reach_m + 1e-9)
    return np.asarray(np.isfinite(distance))


def _dense(path: Floats, spacing_m: float) -> Floats:
    """The path with a point at least each `spacing_m`."""
    if len(path) < 2:
        return path
    step = np.linalg.norm(np.diff(path, axis=0), axis=1)
    way = np.concatenate([[0.0], np.cumsum(step)])
    count = int(np.ceil(way[-1] / spacing_m)) + 1
    at = np.linspace(0.0, way[-1], max(count, 2))
    return np.column_stack([np.interp(at, way, path[:, axis]) for axis in range(path.shape[1])])


def _gaps(
    times: NDArray[np.int16],
    ground: NDArray[np.bool_],
    xs: Floats,
    ys: Floats,
    terrain: Snow,
    *,
    cell: float,
    strip_width_m: float,
    accuracy_m: float,
    maybe: NDArray[np.bool_],
) -> tuple[Gap, ...]:
    from scipy import ndimage

    unswept = ground & (times == 0)
    labels, count = ndimage.label(unswept, structure=np.ones((3, 3)))
    if count == 0:
        return ()
    inside = ndimage.distance_transform_edt(np.pad(unswept, 1), sampling=cell)[1:-1, 1:-1]
    stretch = 1.0 / np.cos(terrain.slope_rad)
    pockets = _pockets(times > 0, strip_width_m / 2 / cell) & unswept
    gaps = []
    for number, box in enumerate(ndimage.find_objects(labels), start=1):
        mine = labels[box] == number
        area = float(mine.sum()) * cell * cell * stretch
        if area < LEAST_GAP_M2:
            continue
        depth = np.where(mine, inside[box], 0.0)
        row, column = np.unravel_index(int(depth.argmax()), depth.shape)
        width = 2.0 * float(depth.max()) - cell
        position = (float(xs[box[1].start + column]), float(ys[box[0].start + row]))
        gaps.append(
            Gap(
                position_m=position,
                area_m2=area,
                width_m=max(width, cell),
                exceeds_accuracy=width > 2.0 * np.sqrt(2.0) * accuracy_m,
                enclosed=bool((pockets[box] & mine).sum() > 0.5 * mine.sum()),
                surely=bool((maybe[box] & mine).sum() < 0.3 * mine.sum()),
                ring_m=_ring(mine, xs[box[1]], ys[box[0]], cell),
            )
        )
    gaps.sort(key=lambda gap: -gap.area_m2)
    return tuple(gaps[:MOST_GAPS])


def _pockets(swept: NDArray[np.bool_], radius_cells: float) -> NDArray[np.bool_]:
    """Cells that closing the swept ground by a radius would take in."""
    from scipy import ndimage

    margin = int(np.ceil(radius_cells)) + 2
    padded = np.pad(swept, margin)
    grown = ndimage.distance_transform_edt(~padded) <= radius_cells
    closed = ndimage.distance_transform_edt(grown) > radius_cells
    return np.asarray(closed[margin:-margin, margin:-margin])


def _ring(mask: NDArray[np.bool_], xs: Floats, ys: Floats, cell: float) -> tuple[tuple[float, float], ...]:
    """The outer outline of a patch of cells, corners in plan."""
    import shapely

    boxes = []
    for row, y in zip(mask, ys, strict=True):
        edges = np.flatnonzero(np.diff(np.concatenate([[False], row, [False]]).astype(np.int8)))
        for a, b in edges.reshape(-1, 2):
            boxes.append(shapely.box(xs[a] - cell / 2, y - cell / 2, xs[b - 1] + cell / 2, y + cell / 2))
    parts = shapely.get_parts(shapely.unary_union(boxes))
    largest = parts[int(np.argmax(shapely.area(parts)))]
    outline = shapely.simplify(shapely.get_exterior_ring(largest), cell * 0.75)
    return tuple((float(x), float(y)) for x, y in shapely.get_coordinates(outline)[:-1])
