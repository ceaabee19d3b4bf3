"""The hearing map: where a receiver hears which set, its readings, and where its lines lead."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike

from coldfield.beacon.hearing_grid import HearingGrid, audible_outline, reading_contours
from coldfield.drill import Drill
from coldfield.pictures.plan import draw_burials, draw_lanes, label, plan_axes
from coldfield.pictures.style import DASHES, SIGNAL, TOKENS, Theme
from coldfield.words import word

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

LEVELS_M = (3.0, 5.0, 10.0, 15.0, 20.0, 30.0, 40.0)


def hearing_map(
    drill: Drill,
    grid: HearingGrid,
    flux_lines_m: Sequence[ArrayLike],
    *,
    title: str,
    lanes: Sequence[tuple[str, ArrayLike]] = (),
    neighbours: Sequence[tuple[str, tuple[float, float]]] = (),
    theme: Theme = "light",
) -> Figure:
    """Return the hearing map of a drill.

    Parameters
    ----------
    drill : Drill
        Site and burials.
    grid : HearingGrid
        What the receiver of the map hears.
    flux_lines_m : sequence of (k, 2) arrays
        Walked flux lines, in plan.
    title : str
        The question that the map answers.
    lanes : sequence of (searcher, (k, 2) array)
        Lanes to draw, if any.
    neighbours : sequence of (name, place)
        Sets of another drill that are heard here.
    theme : {"light", "dark"}
        Paper or projector.

    Notes
    -----
    The colour of the ground is the lowest reading, in cividis, light near the set; no colour means
    that nothing is heard. Thin lines are equal readings, with their figure. Dashed outlines show
    where each set is only just heard; each set has its own dash and is named in place. No meaning
    depends on colour alone.
    """
    drawn, axes = plan_axes(drill.site, theme=theme)
    _shade(axes, grid, theme)
    places = {burial.id: burial.position_m for burial in drill.burials}
    _contours(axes, grid, np.array([places[name] for name in grid.ids]).reshape(-1, 2), theme)
    token = TOKENS[theme]
    for line in flux_lines_m:
        xy = np.asarray(line)
        axes.plot(xy[:, 0], xy[:, 1], color=token["ink"], linewidth=0.7, alpha=0.75, zorder=3)
        _arrow(axes, xy, token["ink"])
    draw_lanes(axes, lanes)
    draw_burials(axes, drill.burials, theme=theme)
    for name, place in neighbours:
        axes.plot(*place, marker="D", color=token["straw"], markersize=5, zorder=6)
        label(axes, place, word("picture.of_another_drill", name=name), theme=theme, colour=token["straw"])
    axes.set_title(title, loc="left", fontsize=11, color=token["ink"])
    return drawn


def _shade(axes: Axes, grid: HearingGrid, theme: Theme) -> None:
    if not grid.ids:
        return
    heard = np.where(grid.signal >= 1.0, grid.raw_reading_m, np.inf).min(axis=0)
    shown = np.ma.masked_invalid(heard)
    step_x, step_y = grid.east_m[1] - grid.east_m[0], grid.north_m[1] - grid.north_m[0]
    image = axes.imshow(
        shown,
        origin="lower",
        extent=(
            grid.east_m[0] - step_x / 2,
            grid.east_m[-1] + step_x / 2,
            grid.north_m[0] - step_y / 2,
            grid.north_m[-1] + step_y / 2,
        ),
        cmap=SIGNAL + "_r",
        vmin=0.0,
        vmax=50.0,
        alpha=0.5,
        zorder=0.5,
        interpolation="nearest",
    )
    bar = axes.figure.colorbar(image, ax=axes, shrink=0.55, pad=0.02, extend="max")
    bar.set_label(word("picture.lowest_reading_bar"), color=TOKENS[theme]["ink"], fontsize=9)
    bar.ax.tick_params(colors=TOKENS[theme]["quiet"], labelsize=8)
    bar.ax.set_facecolor(TOKENS[theme]["sheet"])
    bar.outline.set_edgecolor(TOKENS[theme]["hair"])


def _contours(axes: Axes, grid: HearingGrid, centres: np.ndarray, theme: Theme) -> None:
    token = TOKENS[theme]
    for index, name in enumerate(grid.ids):
        for level, lines in reading_contours(grid, index, LEVELS_M).items():
            for line in lines:
                axes.plot(line[:, 0], line[:, 1], color=token["quiet"], linewidth=0.5, zorder=2)
            if lines and level >= 5.0:
                longest = max(lines, key=len)
                _figure(axes, longest[len(longest) // 8], f"{level:g}", token["quiet"], token["sheet"])
        dashes = DASHES[(index + 1) % len(DASHES)]
        outline = audible_outline(grid, index)
        for line in outline:
            axes.plot(line[:, 0], line[:, 1], color=token["ember"], linewidth=1.3, dashes=dashes, zorder=3.5)
        if outline:
            place = _lonely(axes, max(outline, key=len), centres, index)
            label(
                axes,
                (place[0], place[1]),
                word("picture.set_heard", name=name),
                theme=theme,
                colour=token["ember"],
            )


def _lonely(axes: Axes, line: np.ndarray, centres: np.ndarray, index: int) -> np.ndarray:
    """Return the point of an outline that lies farthest from all other burials, inside the picture."""
    (left, right), (low, high) = axes.get_xlim(), axes.get_ylim()
    inside = (line[:, 0] > left) & (line[:, 0] < right - 0.12 * (right - left))
    inside &= (line[:, 1] > low) & (line[:, 1] < high - 0.04 * (high - low))
    seen = line[inside] if inside.any() else line
    others = np.delete(centres, index, axis=0)
    if len(others) == 0:
        return np.asarray(seen[len(seen) // 3])
    gaps = np.linalg.norm(seen[:, None, :] - others, axis=-1).min(axis=1)
    return np.asarray(seen[np.argmax(gaps)])


def _figure(axes: Axes, place: np.ndarray, words: str, colour: str, halo: str) -> None:
    from matplotlib.patheffects import withStroke

    text = axes.text(
        place[0], place[1], words, fontsize=7, color=colour, ha="center", va="center", zorder=4, clip_on=True
    )
    text.set_path_effects([withStroke(linewidth=2.2, foreground=halo)])


def _arrow(axes: Axes, xy: np.ndarray, colour: str) -> None:
    """A small arrowhead in the middle of a walk, in its direction."""
    if len(xy) < 4:
        return
    k = len(xy) // 2
    axes.annotate(
        "",
        xy=(xy[k + 1, 0], xy[k + 1, 1]),
        xytext=(xy[k, 0], xy[k, 1]),
        arrowprops={"arrowstyle": "-|>", "color": colour, "linewidth": 0.7, "mutation_scale": 8},
        zorder=3,
    )
