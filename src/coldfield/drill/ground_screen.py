"""The screen of a practice site for steep ground above that could reach it. Never a clearance."""

from __future__ import annotations

from dataclasses import dataclass
from math import radians
from typing import Literal

import numpy as np
import shapely
from numpy.typing import NDArray

from coldfield.drill.grid import Floats, Grid
from coldfield.drill.site import Site
from coldfield.errors import OutOfModel
from coldfield.message import Message, message, number

STEEP_RAD = radians(27.0)
"""Ground counts as steep from here on: 30 degrees less what an elevation grid smooths away. Setting."""

REACH_RAD = radians(18.0)
"""Smallest angle from the end of a long run-out up to the top of its start zone. Setting, based on
published ranges of 18 to 25 degrees by mountain range (second-hand)."""

COARSE_CELL_M = 30.0
RAYS = 72
PLAIN_M = 1000.0
_DROP_M = 10.0
_SITE_PLACES = 80
_CHUNK = 20_000

Verdict = Literal["warning", "nothing found", "cannot tell"]


@dataclass(frozen=True, slots=True, kw_only=True)
class GroundScreen:
    """What an elevation grid shows about a practice site.

    `slope_max_rad` and `slope_mean_rad` are those of the site. `steep_m` holds the places, (n, 2) in
    plan, of all steep ground that could reach the site.
    """

    slope_max_rad: float
    slope_mean_rad: float
    verdict: Verdict
    reasons: tuple[Message, ...]
    steep_m: Floats


def screened(site: Site, grid: Grid) -> GroundScreen:
    """Return the screen of a site on a grid.

    Parameters
    ----------
    site : Site
        Boundary and holes in the site frame, m.
    grid : Grid
        The ground; it should reach beyond the ridges on all sides.

    Returns
    -------
    GroundScreen
        'warning' if steep ground is above the site at an angle of more than 18 degrees; otherwise
        'cannot tell' if the grid ends before a ridge, is coarser than 30 m, has gaps, or has steep
        ground at its edge; otherwise 'nothing found'.

    Raises
    ------
    OutOfModel
        If the grid does not cover the site.

    Notes
    -----
    Each steep cell, and each cell next to one, is tested against up to 80 places of the site,
    whichever way it faces. Wind, curves of the valley, forest and glide cracks are left out. A
    direction is closed if the ground does not rise at the edge of the grid and has passed a crest
    with a fall of at least 10 m behind it, has fallen at least 10 m below the site, or has been
    level for 1 km. Ground beyond a closed edge is not considered. All of these are settings.
    """
    places = site_places(site)
    height = grid.height_m(places)
    if not np.isfinite(height).all():
        raise OutOfModel(message("fault.grid_not_over_site"))
    slope = grid.slope_at(places)
    steep = _steep_above(grid, float(height.min()))
    reaching, angle = _reaching(grid, _with_tops(steep), places, height)
    warnings = _site_warnings(float(np.nanmax(slope)))
    warnings += _warnings(grid, reaching, angle, places)
    doubts = _doubts(grid, steep, places, height)
    verdict: Verdict = "warning" if warnings else "cannot tell" if doubts else "nothing found"
    return GroundScreen(
        slope_max_rad=float(np.nanmax(slope)),
        slope_mean_rad=float(np.nanmean(slope)),
        verdict=verdict,
        reasons=(*warnings, *doubts),
        steep_m=_places(grid, reaching),
    )


def site_places(site: Site, most: int = _SITE_PLACES) -> Floats:
    """Return about `most` places of the site, corners and others evenly spread, (n, 2), m."""
    ground = shapely.Polygon(site.boundary_m, site.holes_m)
    rim = shapely.get_coordinates(shapely.segmentize(ground.exterior, ground.exterior.length / (most / 2)))
    step = float(np.sqrt(ground.area / (most / 2)))
    west, south, east, north = ground.bounds
    net = np.stack(np.meshgrid(np.arange(west, east, step), np.arange(south, north, step)), axis=-1)
    inside = net.reshape(-1, 2)
    inside = inside[shapely.contains_xy(ground, inside)]
    return np.vstack([rim, inside])


def _steep_above(grid: Grid, lowest_m: float) -> NDArray[np.bool_]:
    """Return for each node of the grid whether it is steep and higher than the site's lowest place.

    The slope of a rim cell is taken from the row or column next to it if that is steeper, because the
    rim's own slope is halved.
    """
    slope = grid.slope_rad()
    inner = np.pad(slope[1:-1, 1:-1], 1, mode="edge")
    return np.asarray((np.fmax(slope, inner) >= STEEP_RAD) & (grid.elevation_m - grid.base_m > lowest_m))


def _with_tops(steep: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Return the steep nodes and those next to them, because a grid rounds off the very top."""
    grown = np.pad(steep, 1)
    for axis in (0, 1):
        grown = grown | np.roll(grown, 1, axis=axis) | np.roll(grown, -1, axis=axis)
    return np.asarray(grown[1:-1, 1:-1])


def _reaching(
    grid: Grid, steep: NDArray[np.bool_], places: Floats, height_m: Floats
) -> tuple[NDArray[np.intp], Floats]:
    """Return the flat indices of steep nodes that reach the site, and their angles down to it, rad."""
    index = np.flatnonzero(steep)
    angle = np.full(len(index), -np.pi / 2)
    for start in range(0, len(index), _CHUNK):
        part = slice(start, start + _CHUNK)
        at = _places(grid, index[part])
        drop = (grid.elevation_m.ravel()[index[part]] - grid.base_m)[:, None] - height_m[None]
        across = np.hypot(at[:, None, 0] - places[None, :, 0], at[:, None, 1] - places[None, :, 1])
        angle[part] = np.arctan2(drop, np.maximum(across, 1e-9)).max(axis=1)
    reach = angle > REACH_RAD
    return index[reach], angle[reach]


def _places(grid: Grid, index: NDArray[np.intp]) -> Floats:
    row, column = np.divmod(index, len(grid.east_m))
    return np.stack([grid.east_m[column], grid.north_m[row]], axis=-1)


def _site_warnings(slope_max_rad: float) -> list[Message]:
    if slope_max_rad < STEEP_RAD:
        return []
    return [message("warning.site_is_steep", slope=number(np.degrees(slope_max_rad), 0))]


def _warnings(grid: Grid, reaching: NDArray[np.intp], angle: Floats, places: Floats) -> list[Message]:
    """Return one warning for each of eight directions in which steep ground reaches the site."""
    if not len(reaching):
        return []
    at = _places(grid, reaching)
    middle = places.mean(axis=0)
    sector = _sector(at - middle)
    warnings = []
    for k in np.unique(sector):
        mine = np.flatnonzero(sector == k)
        worst = mine[np.argmax(angle[mine])]
        # Seen from the place of the site with the steepest angle up to it.
        across = np.hypot(*(at[worst] - places).T)
        rises = grid.height_m(at[worst]) - grid.height_m(places)
        below = np.argmax(np.arctan2(rises, np.maximum(across, 1e-9)))
        away, rise = float(across[below]), float(rises[below])
        warnings.append(
            message(
                "warning.steep_above",
                wind=WINDS[k],
                angle=number(np.degrees(angle[worst]), 0),
                rise=number(rise, 0),
                away=number(away, 0),
                cells=len(mine),
            )
        )
    return warnings


WINDS = (
    message("term.wind.north"),
    message("term.wind.north_east"),
    message("term.wind.east"),
    message("term.wind.south_east"),
    message("term.wind.south"),
    message("term.wind.south_west"),
    message("term.wind.west"),
    message("term.wind.north_west"),
)
"""Eighths of the compass, clockwise from north."""


def _sector(offset_m: Floats) -> NDArray[np.intp]:
    azimuth = np.arctan2(offset_m[..., 0], offset_m[..., 1])
    return np.asarray(np.round(azimuth / (np.pi / 4)).astype(int) % 8)


def _doubts(grid: Grid, steep: NDArray[np.bool_], places: Floats, height_m: Floats) -> list[Message]:
    doubts = []
    if grid.cell_m > COARSE_CELL_M + 1e-6:
        doubts.append(message("reason.coarse_cells", cell=number(grid.cell_m, 0)))
    unknown = ~np.isfinite(grid.elevation_m)
    rim = np.zeros_like(unknown)
    rim[[0, -1]], rim[:, [0, -1]] = True, True
    near_gap = unknown.copy()
    for axis in (0, 1):
        for shift in (1, -1):
            near_gap |= np.roll(unknown, shift, axis=axis)
    at_edge = steep & (rim | near_gap)
    if at_edge.any():
        where = _named(_sector(_places(grid, np.flatnonzero(at_edge)) - places.mean(axis=0)))
        doubts.append(message("reason.steep_at_edge", winds=where))
    middle = places.mean(axis=0)
    ends = np.array([_open_end_m(grid, middle, float(height_m.max()), ray) for ray in _rays()])
    for end in (_OPEN, _GAP):
        mine = ends[:, 0] == end
        if mine.any():
            where, away = _named(_sector(_rays()[mine])), number(ends[mine, 1].min(), 0)
            before_ridge = message("reason.ends_before_ridge", winds=where, away=away)
            in_gap = message("reason.ends_in_gap", winds=where, away=away)
            doubts.append(before_ridge if end == _OPEN else in_gap)
    return doubts


def _named(sectors: NDArray[np.intp]) -> tuple[Message, ...]:
    return tuple(WINDS[k] for k in sorted(set(sectors.tolist())))


def _rays() -> Floats:
    azimuth = np.arange(RAYS) * 2.0 * np.pi / RAYS
    return np.stack([np.sin(azimuth), np.cos(azimuth)], axis=-1)


_CLOSED, _OPEN, _GAP = 0.0, 1.0, 2.0


def _open_end_m(grid: Grid, middle: Floats, site_m: float, ray: Floats) -> tuple[float, float]:
    """Return whether the ground is known far enough along a ray, and where the known part ends, m."""
    reach = np.hypot(np.ptp(grid.east_m), np.ptp(grid.north_m))
    along = np.arange(0.0, reach, grid.cell_m / 2)
    profile = grid.height_m(middle + along[:, None] * ray) - site_m
    known = np.isfinite(profile)
    stop = int(np.argmin(known)) if not known.all() else len(known)
    ends_m = float(along[stop - 1])
    if known[stop:].any():
        return _GAP, ends_m
    heights = profile[:stop]
    last = heights[-1]
    rising = last > heights[int(0.9 * (stop - 1))] + 0.5
    crest = float(heights.max())
    behind_crest = crest > 0.0 and last <= crest - _DROP_M
    closed = not rising and (behind_crest or last <= -_DROP_M or ends_m >= PLAIN_M)
    return (_CLOSED if closed else _OPEN), ends_m
