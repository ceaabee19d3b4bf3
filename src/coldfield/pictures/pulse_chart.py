"""The recorded pulses of a set: strength over time, and all pulses on top of each other."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from coldfield.message import number
from coldfield.pictures.style import TOKENS, Theme, dress, figure
from coldfield.words import word

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

SHOWN_S = 10.0


def pulse_chart(
    *,
    level: Sequence[float],
    step_s: float,
    starts_s: Sequence[float],
    period_ms: float | None,
    on_ms: float | None,
    theme: Theme = "light",
) -> Figure:
    """Return two charts: the first ten seconds, and all pulses aligned at their start.

    Parameters
    ----------
    level : sequence of float
        Strength, about 1 while the set is heard, `step_s` apart.
    starts_s : sequence of float
        Starts of the pulses that share one period, s.
    """
    drawn = figure(width_cm=17, height_cm=11, theme=theme)
    above, below = (dress(axes, theme=theme) for axes in drawn.subplots(2, 1))
    ink, ember = TOKENS[theme]["ink"], TOKENS[theme]["ember"]
    height = np.asarray(level, dtype=np.float64)
    at = np.arange(len(height)) * step_s
    shown = at <= SHOWN_S
    above.plot(at[shown], height[shown], color=ink, linewidth=0.9)
    for start in starts_s:
        if start <= SHOWN_S:
            above.plot([start, start], [1.12, 1.22], color=ember, linewidth=1.4)
    _axes(above, word("picture.pulse_time"))
    one = round(0.7 * (period_ms or 1000.0) / 1e3 / step_s)
    before = round(0.05 / step_s)
    for start in starts_s:
        first = round(start / step_s) - before
        if first >= 0 and first + one <= len(height):
            part = height[first : first + one]
            below.plot(1e3 * (np.arange(one) - before) * step_s, part, color=ink, linewidth=0.6, alpha=0.4)
    if on_ms is not None and period_ms is not None:
        below.axvspan(0.0, on_ms, color=ember, alpha=0.12, linewidth=0)
        told = word("picture.pulse_lengths", period=number(period_ms, 1), on=number(on_ms, 1))
        below.set_title(told, loc="left")
    _axes(below, word("picture.pulse_from_beginning"))
    return drawn


def _axes(axes: Axes, words: str) -> None:
    axes.set_xlabel(words)
    axes.set_ylabel(word("picture.pulse_level"))
    axes.set_ylim(-0.05, 1.35)
    axes.margins(x=0.01)
