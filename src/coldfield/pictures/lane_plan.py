"""The plan with everybody's lane, start and end."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np

from coldfield.drill.grid import Grid
from coldfield.drill.site import Site
from coldfield.pictures.ground_map import contour_step_m
from coldfield.pictures.plan import draw_line, label, plan_axes
from coldfield.pictures.style import PEOPLE, TOKENS, Theme
from coldfield.search.lanes import LanePlan

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure


def lane_figure(
    site: Site,
    plan: LanePlan,
    *,
    names: Mapping[str, str],
    grid: Grid | None = None,
    theme: Theme = "light",
    width_cm: float = 18.0,
) -> Figure:
    """Return the plan of a site with each searcher's lane, its direction and its start named.

    On the level, strips are also drawn as faint bands; on a slope their width in plan differs from
    that on the snow, so they are left out.
    """
    drawn, axes = plan_axes(site, theme=theme, width_cm=width_cm)
    if grid is not None:
        _contours(axes, grid, theme)
    for number, lane in enumerate(plan.lanes):
        colour = PEOPLE[number % len(PEOPLE)]
        if grid is None and site.slope_rad == 0.0:
            _band(axes, lane.line_m, plan.strip_width_m, colour)
        draw_line(axes, lane.line_m, person=number, width=1.8)
        _arrows(axes, lane.line_m, colour)
        start = lane.line_m[0]
        axes.plot([start[0]], [start[1]], marker="o", color=colour, markersize=5, zorder=6)
        minutes, seconds = divmod(round(lane.seconds), 60)
        words = f"{names.get(lane.searcher, lane.searcher)}, {minutes} min {seconds:02d} s"
        label(axes, (float(start[0]), float(start[1])), words, colour=colour, theme=theme)
    axes.set_title(
        f"Strips {plan.strip_width_m:.0f} m wide, {plan.sharing}: all done after "
        f"{plan.seconds / 60:.1f} min, {100 * plan.covered_fraction:.4g} % covered",
        fontsize=10,
        color=TOKENS[theme]["ink"],
    )
    return drawn


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
