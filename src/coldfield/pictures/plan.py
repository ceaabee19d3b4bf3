"""The plan of a site: ground, holes, entry, anchors, burials, lanes and walked lines."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import ArrayLike

from coldfield.drill.burial import Burial
from coldfield.drill.site import Site
from coldfield.message import number
from coldfield.pictures.style import DASHES, PEOPLE, TOKENS, Theme, dress, figure
from coldfield.words import word

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure


def plan_axes(site: Site, *, theme: Theme = "light", width_cm: float = 18.0) -> tuple[Figure, Axes]:
    """Return a figure and its axes with the ground of a site drawn on it, in metres, north up.

    The height follows the shape of the ground, between 0.6 and 1.5 times the width.
    """
    xy = np.array(site.boundary_m)
    low, high = xy.min(axis=0), xy.max(axis=0)
    extent = np.maximum(high - low, 1.0)
    ratio = float(np.clip(extent[1] / extent[0], 0.6, 1.5))
    drawn = figure(width_cm=width_cm, height_cm=width_cm * ratio, theme=theme)
    axes = dress(drawn.add_subplot(), theme=theme)
    pad = 0.06 * float(extent.max())
    axes.set_xlim(low[0] - pad, high[0] + pad)
    axes.set_ylim(low[1] - pad, high[1] + pad)
    axes.set_aspect("equal", adjustable="box")
    axes.set_xlabel(word("picture.east_m"))
    axes.set_ylabel(word("picture.north_m"))
    draw_ground(axes, site, theme=theme)
    return drawn, axes


def draw_ground(axes: Axes, site: Site, *, theme: Theme = "light") -> None:
    """Draw boundary, holes, entry, last-seen point and anchors."""
    token = TOKENS[theme]
    for ring, dashes in [(site.boundary_m, ()), *((hole, (3, 2)) for hole in site.holes_m)]:
        closed = np.array([*ring, ring[0]])
        axes.plot(
            closed[:, 0], closed[:, 1], color=token["ink"], linewidth=1.2, dashes=dashes or (None, None)
        )
    for hole in site.holes_m:
        corners = np.array(hole)
        axes.fill(corners[:, 0], corners[:, 1], facecolor=token["hair"], alpha=0.5, hatch="//", linewidth=0)
    places: list[tuple[str, Any, str]] = [(word("picture.entry"), site.entry_m, "^")]
    if site.last_seen_m is not None:
        places.append((word("picture.last_seen"), site.last_seen_m, "x"))
    places += [(anchor.name, anchor.position_m, "+") for anchor in site.anchors]
    for words, (x, y), marker in places:
        axes.plot([x], [y], marker=marker, color=token["ink"], markersize=6, linestyle="none")
        label(axes, (x, y), words, theme=theme, colour=token["quiet"])


def draw_burials(axes: Axes, burials: Iterable[Burial], *, theme: Theme = "light") -> None:
    """Draw each burial as a rod along its antenna, in plan, with its name and depth in words."""
    token = TOKENS[theme]
    for burial in burials:
        x, y = burial.position_m
        if burial.transmitter is not None:
            reach = 1.6 * np.cos(burial.antenna.tilt_rad)
            dx, dy = reach * np.sin(burial.antenna.azimuth_rad), reach * np.cos(burial.antenna.azimuth_rad)
            axes.plot([x - dx, x + dx], [y - dy, y + dy], color=token["ember"], linewidth=2.2, zorder=5)
        axes.plot([x], [y], marker="o", color=token["ember"], markersize=4.5, zorder=6)
        depth = number(burial.depth_m)
        words = word("picture.burial", id=burial.id, depth=depth)
        if burial.transmitter is None:
            words = word("picture.burial_no_set", id=burial.id, depth=depth)
        label(axes, (x, y), words, theme=theme, colour=token["ink"])


def draw_line(
    axes: Axes, line_m: ArrayLike, *, person: int = 0, words: str = "", width: float = 1.3, alpha: float = 1.0
) -> None:
    """Draw one line in plan, shape (n, 2), in the hue and dash of the person with that number."""
    xy = np.asarray(line_m, dtype=np.float64)
    if len(xy) == 0:
        return
    dashes = DASHES[person % len(DASHES)] or (None, None)
    colour = PEOPLE[person % len(PEOPLE)]
    axes.plot(xy[:, 0], xy[:, 1], color=colour, linewidth=width, dashes=dashes, alpha=alpha, zorder=4)
    if words:
        axes.annotate(
            words, xy[0], xytext=(4, 4), textcoords="offset points", fontsize=7.5, color=colour, zorder=7
        )


def draw_lanes(axes: Axes, lanes: Sequence[tuple[str, ArrayLike]]) -> None:
    """Draw lanes given as (searcher, line in plan of shape (n, 2)), one hue and dash per searcher."""
    people = list(dict.fromkeys(searcher for searcher, _ in lanes))
    for searcher, line_m in lanes:
        draw_line(axes, line_m, person=people.index(searcher), words=searcher)


def label(
    axes: Axes, place_m: tuple[float, float], words: str, *, colour: str, theme: Theme = "light"
) -> None:
    """Write words beside a place, on a patch in the sheet's colour, so that no line crosses them."""
    axes.annotate(
        words,
        place_m,
        xytext=(5, 5),
        textcoords="offset points",
        fontsize=8,
        color=colour,
        zorder=8,
        bbox={"facecolor": TOKENS[theme]["sheet"], "edgecolor": "none", "pad": 1.0},
    )
