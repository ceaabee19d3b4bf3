"""Gaps left by signal search, and how certain they are."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from coldfield.debrief.ground.swept_ways import Searched, swept_in
from coldfield.debrief.snow import Snow
from coldfield.debrief.written import Many, OrFalse, OrTrue, OrZero, Point, Written

Floats = NDArray[np.float64]

LEAST_GAP_M2 = 4.0
MOST_GAPS = 40

SURE = 0.98
"""A gap is certain if this share of the variants leaves most of its middle unswept. Setting."""

MIDDLE_CELLS = 16


@dataclass(frozen=True, slots=True, kw_only=True)
class GroundGap(Written):
    """A part of the ground outside every swept strip.

    `position_m` is its innermost place, `width_m` twice the distance from there to its edge, on the snow;
    `enclosed` means that swept ground surrounds it. `exceeds_accuracy` says whether it is wider than the
    relative uncertainty of two tracks. `surely` is stricter: in 98 of 100 variants most of its middle stays
    unswept. `needed` is False if the first signal of the last set came before the search reached this ground,
    which nobody needed to search any more.
    """

    position_m: Point
    area_m2: OrZero = 0.0
    width_m: OrZero = 0.0
    exceeds_accuracy: OrTrue = True
    enclosed: OrFalse = False
    surely: OrFalse = False
    needed: OrTrue = True
    ring_m: Many[Point] = ()


@dataclass(frozen=True, slots=True, eq=False)
class Walked:
    """Walked pieces on the snow, indexed for distances; `tree` is None if nothing was walked."""

    tree: Any

    @staticmethod
    def of(paths_m: Sequence[Floats], terrain: Snow, spacing_m: float = 0.5) -> Walked:
        """Return pieces in plan, each (n, 2), with a point at least every `spacing_m`."""
        from scipy.spatial import cKDTree

        dense = [_dense(terrain.to_snow(path), spacing_m) for path in paths_m if len(path)]
        return Walked(cKDTree(np.concatenate(dense)) if dense else None)

    def within(self, on_snow: Floats, reach_m: float) -> NDArray[np.bool_]:
        """Return which places on the snow are within `reach_m` of a piece."""
        if self.tree is None:
            return np.zeros(len(on_snow), dtype=bool)
        distance, _ = self.tree.query(on_snow, distance_upper_bound=reach_m + 1e-9)
        return np.asarray(np.isfinite(distance))


def _dense(path: Floats, spacing_m: float) -> Floats:
    if len(path) < 2:
        return path
    step = np.linalg.norm(np.diff(path, axis=0), axis=1)
    way = np.concatenate([[0.0], np.cumsum(step)])
    count = int(np.ceil(way[-1] / spacing_m)) + 1
    at = np.linspace(0.0, way[-1], max(count, 2))
    return np.column_stack([np.interp(at, way, path[:, axis]) for axis in range(path.shape[1])])


def gaps_of(
    times: NDArray[np.int16],
    ground: NDArray[np.bool_],
    xs: Floats,
    ys: Floats,
    terrain: Snow,
    *,
    cell_m: float,
    reach_m: float,
    apart_m: float,
    ways: Sequence[Searched],
    before: NDArray[np.bool_] | None = None,
) -> tuple[GroundGap, ...]:
    """Return the gaps of a raster, largest first.

    Parameters
    ----------
    times : ndarray, shape (rows, columns)
        How many people swept each cell.
    ground : ndarray of bool
        Cells that count.
    xs, ys : ndarray
        Centres of columns and rows, m.
    terrain : Plane or GridSnow
        The snow.
    cell_m : float
        Size of a cell.
    reach_m : float
        Half the strip width.
    apart_m : float
        A gap wider than this exceeds the relative uncertainty of two tracks.
    ways : sequence of Searched
        The possible paths of each person.
    before : ndarray of bool, optional
        Cells swept before the first signal of the last set, if every set was heard. Ground not surrounded by
        them was not needed any more. If None, all ground is needed.
    """
    from scipy import ndimage

    unswept = ground & (times == 0)
    labels, count = ndimage.label(unswept, structure=np.ones((3, 3)))
    if count == 0:
        return ()
    inside = ndimage.distance_transform_edt(np.pad(unswept, 1), sampling=cell_m)[1:-1, 1:-1]
    stretch = 1.0 / np.cos(terrain.slope_rad)
    pockets = _pockets(times > 0, reach_m / cell_m) & unswept
    passed = unswept if before is None else _pockets(before, reach_m / cell_m) & unswept
    gaps = []
    for number, box in enumerate(ndimage.find_objects(labels), start=1):
        mine = labels[box] == number
        area = float(mine.sum()) * cell_m * cell_m * stretch
        if area < LEAST_GAP_M2:
            continue
        depth = np.where(mine, inside[box], 0.0)
        row, column = np.unravel_index(int(depth.argmax()), depth.shape)
        width = 2.0 * float(depth.max()) - cell_m
        wide = bool(width > apart_m)
        enclosed = bool((pockets[box] & mine).sum() > 0.5 * mine.sum())
        rows, columns = np.nonzero(depth > 0.5 * depth.max())
        middle = np.column_stack([xs[box[1]][columns], ys[box[0]][rows]])
        gaps.append(
            GroundGap(
                position_m=(float(xs[box[1].start + column]), float(ys[box[0].start + row])),
                area_m2=area,
                width_m=max(width, cell_m),
                exceeds_accuracy=wide,
                enclosed=enclosed,
                surely=wide and enclosed and _unswept_share(middle, ways, terrain, reach_m) >= SURE,
                needed=bool((passed[box] & mine).sum() > 0.5 * mine.sum()),
                ring_m=_ring(mine, xs[box[1]], ys[box[0]], cell_m),
            )
        )
    gaps.sort(key=lambda gap: -gap.area_m2)
    return tuple(gaps[:MOST_GAPS])


def _unswept_share(middle: Floats, ways: Sequence[Searched], terrain: Snow, reach_m: float) -> float:
    """Return the share of the variants in which most of these places stay unswept."""
    # Sample by the golden ratio, because even steps could stay in one column of the raster.
    spread = np.mod(np.arange(min(MIDDLE_CELLS, len(middle))) * (np.sqrt(5.0) - 1.0) / 2.0, 1.0)
    cells = middle[np.unique((spread * len(middle)).astype(int))]
    return float((swept_in(ways, terrain.to_snow(cells), reach_m).mean(axis=1) <= 0.5).mean())


def _pockets(swept: NDArray[np.bool_], radius_cells: float) -> NDArray[np.bool_]:
    """Return the cells that a morphological closing of the swept ground by a radius would add."""
    from scipy import ndimage

    margin = int(np.ceil(radius_cells)) + 2
    padded = np.pad(swept, margin)
    grown = ndimage.distance_transform_edt(~padded) <= radius_cells
    closed = ndimage.distance_transform_edt(grown) > radius_cells
    return np.asarray(closed[margin:-margin, margin:-margin])


def _ring(mask: NDArray[np.bool_], xs: Floats, ys: Floats, cell: float) -> tuple[tuple[float, float], ...]:
    """Return the outer outline of a patch of cells, corners in plan."""
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
