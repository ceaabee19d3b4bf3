"""Contour lines round a site, at a suitable step."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from coldfield.drill.grid import Grid
from coldfield.drill.ground_screen import site_places
from coldfield.drill.site import Site

Floats = NDArray[np.float64]

AROUND = 1.0
"""How far beyond the site the ground is drawn, in sizes of the site. Setting."""

AROUND_LEAST_M = 150.0

CONTOUR_STEPS_M = (1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0)
_ON_SITE, _IN_WINDOW = 10, 60
"""About how many contours cross the site, and the most in the whole window. Settings."""


def window_round(site: Site) -> tuple[Floats, Floats]:
    """Return the south-west and the north-east corner of the window round a site, (2,) each, m."""
    ring = np.array(site.boundary_m)
    low, high = ring.min(axis=0), ring.max(axis=0)
    margin = max(AROUND_LEAST_M, AROUND * float((high - low).max()))
    return low - margin, high + margin


def contours_round(grid: Grid, site: Site) -> tuple[float, dict[float, list[Floats]]]:
    """Return a round step, m, and the contour lines of the window, (k, 2) in plan, by their elevation, m.

    About ten of them cross the site. If the ground round it is far steeper, there are fewer, so
    that at most sixty are drawn in all.
    """
    low, high = window_round(site)
    part = _window(grid, low, high)
    known = part.elevation_m[np.isfinite(part.elevation_m)]
    rise = float(np.ptp(grid.height_m(site_places(site))))
    least = max(rise / _ON_SITE, float(np.ptp(known)) / _IN_WINDOW if len(known) else 0.0)
    step = next((s for s in CONTOUR_STEPS_M if s >= least), CONTOUR_STEPS_M[-1])
    lines: dict[float, list[Floats]] = {}
    for elevation, line in part.contours(step) if len(known) else []:
        if len(line) > 1:
            lines.setdefault(elevation, []).append(np.round(line, 1))
    return step, dict(sorted(lines.items()))


def _window(grid: Grid, low: Floats, high: Floats) -> Grid:
    """Return the part of a grid in a window, with one more cell on each side where there is one."""
    east, north = (_span(places, low[k], high[k]) for k, places in enumerate((grid.east_m, grid.north_m)))
    return Grid(
        east_m=grid.east_m[east],
        north_m=grid.north_m[north],
        elevation_m=grid.elevation_m[north, east],
        base_m=grid.base_m,
        mean=grid.mean,
    )


def _span(places: Floats, low: float, high: float) -> slice:
    first = max(0, int(np.searchsorted(places, low)) - 1)
    last = min(len(places), int(np.searchsorted(places, high)) + 2)
    first = min(first, len(places) - 3)
    return slice(first, max(last, first + 3))
