"""Charts of strip width: chance against distance from the lane, expected survival against width."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np

from coldfield.message import Message, message, number
from coldfield.pictures.style import TOKENS, Theme, dress, figure
from coldfield.search.pinpointing.fine_search import AxisReadings
from coldfield.search.width.lateral_range import LateralCurve
from coldfield.search.width.timed_width import TimedWidth
from coldfield.words import say, word

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

INK_BLUE = {"light": "#1E4560", "dark": "#9DB4C4"}


def strip_width_chart(
    curve: LateralCurve,
    timed: TimedWidth,
    *,
    edge_width_m: float,
    sweep_width_m: float,
    pod: float,
    worst_words: str,
    scenario_words: str,
    theme: Theme = "light",
) -> Figure:
    """Return both charts, one above the other.

    Above: the chance that the nearest passing searcher hears a set, against its distance from the
    lane, with half the edge width and the hardest directions named. Below: expected survival
    against width, its maximum, and the widths within 1 % of that.
    """
    drawn = figure(width_cm=17, height_cm=17, theme=theme)
    above, below = (dress(axes, theme=theme) for axes in drawn.subplots(2, 1))
    _lateral(above, curve, edge_width_m, pod, worst_words, theme)
    _survival(below, timed, edge_width_m, sweep_width_m, scenario_words, theme)
    return drawn


def _lateral(
    axes: Axes, curve: LateralCurve, edge_width_m: float, pod: float, worst_words: str, theme: Theme
) -> None:
    token, half = TOKENS[theme], 0.5 * edge_width_m
    axes.plot(curve.distance_m, curve.probability, color=INK_BLUE[theme], linewidth=1.8)
    axes.fill_between(
        curve.distance_m,
        curve.probability,
        where=(curve.distance_m <= half).tolist(),
        color=INK_BLUE[theme],
        alpha=0.12,
        linewidth=0,
    )
    axes.axvline(half, color=token["ember"], linewidth=1.2)
    axes.axhline(pod, color=token["quiet"], linewidth=0.8, linestyle=(0, (4, 2)))
    told = (
        word("picture.half_edge_width", half=number(half, 0)),
        word("picture.wanted_chance", chance=number(100.0 * pod, 0)),
        worst_words,
    )
    axes.annotate(
        "\n".join(told),
        (half, 0.62),
        xytext=(-8 if half > 0.5 * curve.distance_m[-1] else 8, 0),
        ha="right" if half > 0.5 * curve.distance_m[-1] else "left",
        textcoords="offset points",
        fontsize=8.5,
        color=token["ink"],
    )
    axes.set_title(word("picture.will_it_be_heard"), loc="left")
    axes.set_xlabel(word("picture.distance_from_lane"))
    axes.set_ylabel(word("picture.chance_heard"))
    axes.set_xlim(0.0, float(curve.distance_m[-1]))
    axes.set_ylim(0.0, 1.04)


def _survival(
    axes: Axes,
    timed: TimedWidth,
    edge_width_m: float,
    sweep_width_m: float,
    scenario_words: str,
    theme: Theme,
) -> None:
    from matplotlib.patheffects import withStroke

    token = TOKENS[theme]
    top = float(timed.survival.max())
    axes.axvspan(*timed.within_m, color=token["moss"], alpha=0.12, linewidth=0)
    axes.plot(timed.width_m, timed.survival, color=INK_BLUE[theme], linewidth=1.8)
    low = max(float(timed.survival.min()), top - 0.15)
    span = 1.15 * (top - low) + 1e-6
    edge, best, sweep = (number(width, 0) for width in (edge_width_m, timed.best_m, sweep_width_m))
    places = [
        (edge_width_m, message("picture.edge_width", width=edge), token["ember"], 0.30),
        (timed.best_m, message("picture.timed_width", width=best), token["moss"], 0.18),
        (sweep_width_m, message("picture.sweep_width", width=sweep), token["quiet"], 0.04),
    ]
    for width, told, colour, height in places:
        if 0.0 < width < timed.width_m[-1]:
            axes.axvline(width, color=colour, linewidth=1.2)
            left = width > 0.75 * timed.width_m[-1]
            text = axes.annotate(
                say(told),
                (width, low + height * span),
                xytext=(-4 if left else 4, 0),
                ha="right" if left else "left",
                textcoords="offset points",
                fontsize=8.5,
                color=colour,
            )
            text.set_path_effects([withStroke(linewidth=3, foreground=token["sheet"])])
    axes.annotate(
        word("picture.near_top", low=number(timed.within_m[0], 0), high=number(timed.within_m[1], 0)),
        (timed.within_m[0], low + 0.62 * span),
        xytext=(4, 0),
        textcoords="offset points",
        fontsize=8.5,
        color=token["moss"],
    )
    axes.set_ylim(low - 0.02 * span, low + span)
    axes.set_xlim(0.0, float(timed.width_m[-1]))
    axes.set_title(word("picture.how_wide"), loc="left")
    axes.set_xlabel(word("picture.lanes_apart", scenario=scenario_words))
    axes.set_ylabel(word("picture.expected_survival"))


AXES: Mapping[str, Message] = {
    "along the set": message("picture.along_set"),
    "across the set": message("picture.across_set"),
}


def fine_search_chart(
    rows: Sequence[tuple[str, AxisReadings, AxisReadings]], *, title: str, theme: Theme = "light"
) -> Figure:
    """Return line plots of the readings along both axes of a cross, one row per kind of receiver."""
    drawn = figure(width_cm=17, height_cm=2.2 + 4.6 * len(rows), theme=theme)
    token = TOKENS[theme]
    grid = np.atleast_2d(drawn.subplots(len(rows), 2, sharex=True, sharey=True))
    for line, (words, *pair) in zip(grid, rows, strict=True):
        for axes, one in zip(line, pair, strict=True):
            dress(axes, theme=theme)
            axes.plot(one.along_m, np.minimum(one.reading_m, 9.9), color=INK_BLUE[theme], linewidth=1.6)
            for dip in one.dips_m:
                value = float(np.interp(dip, one.along_m, one.reading_m))
                axes.plot([dip], [value], marker="v", color=token["ember"], markersize=6)
                axes.annotate(
                    word("unit.m", n=number(value, 1)),
                    (dip, value), xytext=(0, -13), textcoords="offset points",
                    ha="center", fontsize=7.5, color=token["ember"],
                )  # fmt: skip
            axes.axvline(0.0, color=token["quiet"], linewidth=0.8, linestyle=(0, (4, 2)))
            axes.set_title(
                word("picture.axis_title", antennas=words, axis=AXES[one.words]), loc="left", fontsize=9
            )
            axes.set_ylim(0.0, 8.0)
    for axes in grid[-1]:
        axes.set_xlabel(word("picture.from_above_set"))
    for axes in grid[:, 0]:
        axes.set_ylabel(word("picture.reading_m"))
    drawn.suptitle(title, x=0.02, ha="left", fontsize=11, color=token["ink"])
    return drawn
