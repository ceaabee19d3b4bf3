"""Slope and contours round a site, and the steep ground that reaches it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np

from coldfield.drill.grid import Grid
from coldfield.drill.ground_screen import GroundScreen
from coldfield.drill.site import Site
from coldfield.message import Message, message, number
from coldfield.pictures.style import TOKENS, Theme, dress, figure
from coldfield.words import word

if TYPE_CHECKING:
    from matplotlib.figure import Figure

SLOPE_STEPS_DEG = (0.0, 10.0, 20.0, 27.0, 30.0, 35.0, 40.0, 90.0)
_SHADES = ("#FFFFFF", "#EDF0F1", "#D6DDE2", "#B7C3CC", "#93A4B1", "#6C8193", "#465E73")
"""One hue, darker with the slope; words are beside the scale."""


def ground_figure(
    site: Site, grid: Grid, screen: GroundScreen, *, theme: Theme = "light", width_cm: float = 18.0
) -> Figure:
    """Return a map of slope classes with contours, the site, and steep ground that reaches it.

    It shows the site and at least 300 m each way, or more if the steep ground needs it.
    """
    from matplotlib.colors import BoundaryNorm, ListedColormap

    token = TOKENS[theme]
    corners = np.array(site.boundary_m)
    shown = np.vstack([corners, screen.steep_m]) if len(screen.steep_m) else corners
    low = np.maximum(np.minimum(shown.min(axis=0), corners.min(axis=0) - 300.0), _corner(grid, 0))
    high = np.minimum(np.maximum(shown.max(axis=0), corners.max(axis=0) + 300.0), _corner(grid, -1))
    ratio = float(np.clip((high[1] - low[1]) / (high[0] - low[0]), 0.6, 1.5))
    drawn = figure(width_cm=width_cm, height_cm=width_cm * ratio, theme=theme)
    axes = dress(drawn.add_subplot(), theme=theme, grid=False)
    shades = axes.pcolormesh(
        grid.east_m,
        grid.north_m,
        np.degrees(grid.slope_rad()),
        cmap=ListedColormap(list(_SHADES)),
        norm=BoundaryNorm(SLOPE_STEPS_DEG, len(_SHADES)),
        shading="nearest",
        rasterized=True,
    )
    step = contour_step_m(grid)
    low_m, high_m = float(np.nanmin(grid.elevation_m)), float(np.nanmax(grid.elevation_m))
    levels = np.arange(np.floor(low_m / step), np.ceil(high_m / step) + 1) * step
    lines = axes.contour(
        grid.east_m,
        grid.north_m,
        np.ma.masked_invalid(grid.elevation_m),
        levels=levels,
        colors=token["quiet"],
        linewidths=0.5,
    )
    axes.clabel(lines, levels[::5], fontsize=6, fmt="%d")
    if len(screen.steep_m):
        axes.plot(*screen.steep_m.T, ".", color=token["ember"], markersize=2, label=word("picture.steep"))
    axes.fill(*corners.T, facecolor="none", edgecolor=token["ink"], linewidth=1.6, label=word("picture.site"))
    axes.set_xlim(low[0], high[0])
    axes.set_ylim(low[1], high[1])
    axes.set_aspect("equal", adjustable="box")
    axes.set_xlabel(word("picture.east_m"))
    axes.set_ylabel(word("picture.north_m"))
    axes.set_title(word("picture.ground_title", verdict=VERDICTS[screen.verdict]), fontsize=10)
    axes.legend(loc="upper right", fontsize=7, frameon=True, facecolor=token["sheet"])
    told = word("picture.slope_bar", step=number(step))
    bar = drawn.colorbar(shades, ax=axes, shrink=0.7, label=told)
    bar.ax.tick_params(labelsize=7)
    return drawn


VERDICTS: Mapping[str, Message] = {
    "warning": message("picture.verdict_warning"),
    "nothing found": message("picture.verdict_nothing"),
    "cannot tell": message("picture.verdict_unknown"),
}


def contour_step_m(grid: Grid, most: int = 40) -> float:
    """Return a round step that gives at most `most` contours over the grid, m."""
    span = float(np.nanmax(grid.elevation_m) - np.nanmin(grid.elevation_m))
    return next((s for s in (1.0, 2.0, 5.0, 10.0, 20.0, 50.0) if span / s <= most), 100.0)


def _corner(grid: Grid, end: int) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    return np.array([grid.east_m[end], grid.north_m[end]])
