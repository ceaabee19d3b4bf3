"""The plan with everybody's lane, its start and its end."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np

from coldfield.drill.grid import Grid
from coldfield.drill.site import Site
from coldfield.message import Message, duration, message, number
from coldfield.pictures.ground_map import contour_step_m
from coldfield.pictures.plan import draw_line, label, plan_axes
from coldfield.pictures.style import PEOPLE, TOKENS, Theme
from coldfield.search.detection.raster import Detection
from coldfield.search.lanes.plan import LanePlan
from coldfield.words import word

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from matplotlib.path import Path


def lane_figure(
    site: Site,
    plan: LanePlan,
    *,
    names: Mapping[str, str],
    grid: Grid | None = None,
    theme: Theme = "light",
    width_cm: float = 18.0,
    bands: bool = True,
) -> Figure:
    """Return the plan of a site with each searcher's lane, its direction and its start named.

    On level ground, strips are also drawn as faint bands. On a slope they are left out, because
    their width in plan differs from that on the snow.
    """
    drawn, axes = plan_axes(site, theme=theme, width_cm=width_cm)
    if grid is not None:
        _contours(axes, grid, theme)
    for person, lane in enumerate(plan.lanes):
        colour = PEOPLE[person % len(PEOPLE)]
        if bands and grid is None and site.slope_rad == 0.0:
            _band(axes, lane.line_m, plan.strip_width_m, colour)
        draw_line(axes, lane.line_m, person=person, width=1.8)
        _arrows(axes, lane.line_m, colour)
        start = lane.line_m[0]
        axes.plot([start[0]], [start[1]], marker="o", color=colour, markersize=5, zorder=6)
        name = names.get(lane.searcher, lane.searcher)
        words = word("picture.lane_time", name=name, time=duration(lane.seconds))
        label(axes, (float(start[0]), float(start[1])), words, colour=colour, theme=theme)
    title = word(
        "picture.lanes_title",
        width=number(plan.strip_width_m, 0),
        sharing=SHARING[plan.sharing],
        minutes=number(plan.seconds / 60, 1),
        covered=number(float(f"{100 * plan.covered_fraction:.4g}")),
    )
    axes.set_title(title, fontsize=10, color=TOKENS[theme]["ink"])
    return drawn


SHARING: Mapping[str, Message] = {
    "least time": message("picture.sharing_least_time"),
    "own sectors": message("picture.sharing_own_sectors"),
    "line abreast": message("picture.sharing_line_abreast"),
}


def chance_figure(
    site: Site,
    plan: LanePlan,
    chances: Detection,
    *,
    names: Mapping[str, str],
    grid: Grid | None = None,
    theme: Theme = "light",
) -> Figure:
    """Return the plan with the chance that a set is heard at least once; the least-heard place is named."""
    from matplotlib.colors import LinearSegmentedColormap

    drawn = lane_figure(site, plan, names=names, grid=grid, theme=theme, bands=False)
    axes = drawn.axes[0]
    ramp = LinearSegmentedColormap.from_list("chance", [TOKENS[theme]["sheet"], "#1E4560"])
    east, north, values = _as_net(chances)
    shown = axes.pcolormesh(
        east,
        north,
        values,
        cmap=ramp,
        vmin=min(0.9, np.floor(10.0 * chances.least_probability) / 10.0),
        vmax=1.0,
        shading="nearest",
        alpha=0.8,
        zorder=0.8,
        rasterized=True,
    )
    shown.set_clip_path(_outline(site), axes.transData)
    least = word("picture.heard_least", chance=number(chances.least_probability, 2))
    axes.plot(*chances.least_m, marker="D", color=TOKENS[theme]["ember"], markersize=6, zorder=7)
    label(axes, chances.least_m, least, colour=TOKENS[theme]["ember"], theme=theme)
    bar = drawn.colorbar(shown, ax=axes, shrink=0.7)
    bar.set_label(word("picture.heard_once_bar"), fontsize=8)
    bar.ax.tick_params(labelsize=7)
    return drawn


def _as_net(chances: Detection) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return columns, rows and a masked grid of the chances, one row and column wider all round."""
    corner, step = chances.place_m.min(axis=0) - chances.spacing_m, chances.spacing_m
    column, row = np.rint((chances.place_m - corner) / step).astype(int).T
    net = np.full((row.max() + 2, column.max() + 2), np.nan)
    net[row, column] = chances.probability
    for axis in (0, 1):  # the clip at the boundary cuts cells whose middle lies outside
        for shift in (1, -1):
            net = np.where(np.isnan(net), np.roll(net, shift, axis=axis), net)
    east = corner[0] + step * np.arange(net.shape[1])
    north = corner[1] + step * np.arange(net.shape[0])
    return east, north, np.ma.masked_invalid(net)


def _outline(site: Site) -> Path:
    """Return the boundary as a path to clip to."""
    from matplotlib.path import Path as Outline

    return Outline(np.array([*site.boundary_m, site.boundary_m[0]]), closed=True)


def _band(axes: Axes, line_m: np.ndarray, width_m: float, colour: str) -> None:
    import shapely

    near = shapely.LineString(line_m).buffer(width_m / 2)
    for part in shapely.get_parts(near):
        axes.fill(*np.array(part.exterior.coords).T, facecolor=colour, alpha=0.07, linewidth=0, zorder=1)


def _arrows(axes: Axes, line_m: np.ndarray, colour: str) -> None:
    """Mark the direction in the middle of each of the longest legs."""
    step = np.diff(line_m, axis=0)
    length = np.hypot(*step.T)
    for k in np.flatnonzero(length >= 0.6 * length.max())[:8]:
        middle = line_m[k] + 0.5 * step[k]
        ahead = middle + 0.01 * step[k]
        axes.annotate(
            "", ahead, xytext=middle, arrowprops={"arrowstyle": "-|>", "color": colour, "lw": 1.2}, zorder=6
        )


def _contours(axes: Axes, grid: Grid, theme: Theme) -> None:
    limits = axes.get_xlim(), axes.get_ylim()
    for _, line in grid.contours(min(contour_step_m(grid), 10.0)):
        axes.plot(*line.T, color=TOKENS[theme]["hair"], linewidth=0.7, zorder=0.5)
    axes.set_xlim(*limits[0])
    axes.set_ylim(*limits[1])
