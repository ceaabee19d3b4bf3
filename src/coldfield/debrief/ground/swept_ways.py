"""Which places were swept, in every possible variant of the walks, as a compiled loop."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from coldfield.beacon.compiled import compiled

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

CORNER_S = 4
"""A walk counts as straight between places this many seconds apart, which cuts corners by less than 0.5 m."""


@dataclass(frozen=True, slots=True, eq=False)
class Searched:
    """One person's places on the snow, (w, n, 2 or 3), at even time steps, and the steps with searching.

    `searching` (w, n) refers to the step from each place to the next.
    """

    place_m: Floats
    searching: Flags


def swept_in(ways: Sequence[Searched], cells_m: Floats, reach_m: float) -> Flags:
    """Return which places on the snow, (c, 2 or 3), were within reach of a searching person, (w, c)."""
    count = len(ways[0].place_m) if ways else 1
    order = np.argsort(cells_m[:, 0])
    cells, swept = _in_space(cells_m[order]), np.zeros((count, len(cells_m)), dtype=np.bool_)
    for one in ways:
        _sweep(_in_space(one.place_m), one.searching, cells, reach_m * reach_m, swept)
    found = np.empty_like(swept)
    found[:, order] = swept
    return found


def _in_space(on_snow: Floats) -> Floats:
    """Return places with three coordinates; on a plane two are enough."""
    lacking = 3 - on_snow.shape[-1]
    return np.pad(on_snow, [(0, 0)] * (on_snow.ndim - 1) + [(0, lacking)]) if lacking else on_snow.copy()


@compiled(__name__)
def _sweep(place: Floats, searching: Flags, cells: Floats, square: float, swept: Flags) -> None:
    """Mark the cells (c, 3), in order of x, within the root of `square` of the searched steps, in (w, c)."""
    reach = np.sqrt(square)
    for w in range(place.shape[0]):
        for i in range(place.shape[1] - 1):
            if not searching[w, i]:
                continue
            ax, ay, az = place[w, i, 0], place[w, i, 1], place[w, i, 2]
            dx, dy, dz = place[w, i + 1, 0] - ax, place[w, i + 1, 1] - ay, place[w, i + 1, 2] - az
            size = dx * dx + dy * dy + dz * dz
            left, right = min(ax, ax + dx) - reach, max(ax, ax + dx) + reach
            for c in range(np.searchsorted(cells[:, 0], left), cells.shape[0]):
                if cells[c, 0] > right:
                    break
                if swept[w, c]:
                    continue
                px, py, pz = cells[c, 0] - ax, cells[c, 1] - ay, cells[c, 2] - az
                along = 0.0
                if size > 0.0:
                    along = min(max((px * dx + py * dy + pz * dz) / size, 0.0), 1.0)
                px, py, pz = px - along * dx, py - along * dy, pz - along * dz
                if px * px + py * py + pz * pz <= square:
                    swept[w, c] = True
