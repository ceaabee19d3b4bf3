"""Charts of a rehearsal: phases against survival, minutes to the airway, what helps most, walked lines."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from coldfield.drill import Drill
from coldfield.message import Message, message, number
from coldfield.pictures.plan import draw_burials, draw_ground, draw_line
from coldfield.pictures.style import PHASES, TOKENS, Theme, dress, figure
from coldfield.rescue.outcome import Band, band_of
from coldfield.rescue.played import BurialTimes, Played
from coldfield.rescue.rehearsal import Rehearsal
from coldfield.rescue.wording import AS_RUNS, AS_SURE, eight_of_ten, not_freed
from coldfield.rescue.worth import Worth
from coldfield.survival.curves import CURVES, DEFAULT
from coldfield.words import say, word

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_STEPS = 240


def rehearsal_chart(
    rehearsal: Rehearsal, *, unsure: Rehearsal, horizon_s: float, theme: Theme = "light"
) -> Figure:
    """Return, for each burial, the phases over time against survival, and minutes to the airway.

    Left: the share of runs in each phase, minute by minute; over it, the chance of survival for
    somebody whose airway is freed at that time, with the range over the curves. Right: how many
    runs free the airway in which minute, above two bands of eight of ten: the wider one with the
    constants drawn too, the narrower one from the scatter of runs. Runs that never find the burial
    stay white at the top.
    """
    count = len(rehearsal.burials)
    drawn = figure(width_cm=24, height_cm=1.5 + 5.8 * count, theme=theme)
    rows = drawn.subplots(count, 2, squeeze=False, width_ratios=(1, 1))
    airway = rehearsal.column("airway")
    longest = float(np.nanpercentile(airway, 98)) if np.isfinite(airway).any() else 3600.0
    longest = max(longest, *(band.p90 or 0.0 for band in _bands(unsure, horizon_s)))
    end_s = 60.0 * np.ceil(max(longest, 300.0) / 60.0 + 1.0)
    for j, (left, right) in enumerate(rows):
        dress(left, theme=theme, grid=False)
        dress(right, theme=theme)
        _phases(left, rehearsal, j, end_s, theme)
        _minutes(right, (unsure, rehearsal), j, (end_s, horizon_s), theme)
        for axes in (left, right):
            axes.set_xlim(0.0, end_s / 60.0)
            axes.set_xlabel(word("picture.minutes_since_alarm") if j == count - 1 else "")
    return drawn


def _phases(axes: Axes, rehearsal: Rehearsal, j: int, end_s: float, theme: Theme) -> None:
    token = TOKENS[theme]
    t = np.linspace(0.0, end_s, _STEPS)
    borders = _borders(rehearsal, j)
    before = [np.mean(border[:, None] <= t, axis=0) for border in borders]
    below = np.zeros(_STEPS)
    # From the bottom: free, dig, probe, fine, coarse, signal; each band holds the runs in that phase.
    for name, past in zip(("", *reversed(PHASES)), [*reversed(before), None], strict=True):
        above = (
            np.asarray(past) if past is not None else np.full(_STEPS, np.mean(rehearsal.failure[:, j] < 0))
        )
        if name:
            axes.fill_between(t / 60.0, below, above, color=PHASES[name], linewidth=0)
        below = above
    _name_bands(axes, borders, end_s, theme)
    since = t + rehearsal.burial_to_alarm_s
    all_curves = np.array([curve.survival(since) for curve in CURVES.values()])
    axes.fill_between(
        t / 60.0,
        all_curves.min(axis=0),
        all_curves.max(axis=0),
        color=token["ember"],
        alpha=0.15,
        linewidth=0,
    )
    axes.plot(t / 60.0, DEFAULT.survival(since), color=token["ember"], linewidth=1.8)
    axes.set_ylim(0.0, 1.02)
    axes.set_ylabel(word("picture.runs_and_survival"))
    _title(axes, word("picture.phases_title", id=rehearsal.burials[j]), theme)


def _borders(rehearsal: Rehearsal, j: int) -> list[NDArray[np.float64]]:
    """Return when each phase ends, for runs that found the burial; the others never get there."""
    found = rehearsal.failure[:, j] < 0
    strike = rehearsal.column("probe_strike")[:, j]
    turn = rehearsal.column("turn")[:, j]
    fine = rehearsal.column("fine_start")[:, j]
    lowest = rehearsal.column("lowest_reading")[:, j]
    lined = np.isnan(fine)
    moments = (turn, np.where(lined, turn, fine), np.where(lined, turn, lowest), strike)
    ends = (*moments, rehearsal.column("airway")[:, j])
    return [np.where(found, moment, np.inf) for moment in ends]


def _name_bands(axes: Axes, borders: list[NDArray[np.float64]], end_s: float, theme: Theme) -> None:
    """Write each phase's name above its median time, each one a step higher than the last."""
    from matplotlib.patheffects import withStroke

    begin = 0.0
    for step, (name, border) in enumerate(zip(PHASES, borders, strict=True)):
        known = border[np.isfinite(border)]
        if known.size == 0:
            return
        end = float(np.median(known)) / 60.0
        text = axes.text(
            max(0.5 * (begin + end), 0.055 * end_s / 60.0),
            0.12 + 0.13 * step,
            name,
            color=TOKENS[theme]["ink"],
            fontsize=8,
            ha="center",
            va="center",
            zorder=6,
        )
        text.set_path_effects([withStroke(linewidth=2.5, foreground=TOKENS[theme]["sheet"])])
        begin = end


def _bands(rehearsal: Rehearsal, horizon_s: float) -> list[Band]:
    airway = rehearsal.or_never(rehearsal.column("airway"))
    airway = np.where(airway > horizon_s, np.inf, airway)
    return [band_of(airway[:, j]) for j in range(airway.shape[1])]


def _minutes(
    axes: Axes, both: tuple[Rehearsal, Rehearsal], j: int, ends_s: tuple[float, float], theme: Theme
) -> None:
    """Draw the minutes to one airway; `both`: with the constants drawn, and at their medians."""
    token, (unsure, rehearsal), (end_s, horizon_s) = TOKENS[theme], both, ends_s
    airway = rehearsal.column("airway")[:, j] / 60.0
    known = airway[np.isfinite(airway)]
    axes.set_ylabel(word("picture.runs"))
    wide, narrow = (_bands(one, horizon_s)[j] for one in (unsure, rehearsal))
    for band, alpha in ((wide, 0.16), (narrow, 0.3)):
        if band.p10 is not None:
            latest = end_s if band.p90 is None else band.p90
            axes.axvspan(
                band.p10 / 60.0, latest / 60.0, color=token["straw"], alpha=alpha, linewidth=0, zorder=0.5
            )
    edges = np.linspace(0.0, end_s / 60.0, 41)
    axes.hist(known, bins=edges.tolist(), color=PHASES["dig"], linewidth=0)
    if narrow.p50 is not None:
        axes.axvline(narrow.p50 / 60.0, color=token["ember"], linewidth=1.5)
    late = not_freed(float(np.mean(airway <= horizon_s / 60.0)), horizon_s)
    words = (
        message("picture.airway_title", id=rehearsal.burials[j], times=_times(wide, horizon_s), sure=AS_SURE),
        message("picture.airway_scatter", times=_times(narrow, horizon_s), runs=AS_RUNS),
        late,
    )
    _title(axes, "\n".join(say(line) for line in words if line), theme)


def _times(band: Band, horizon_s: float) -> Message:
    return eight_of_ten(band.p10, band.p90, horizon_s)


def _title(axes: Axes, words: str, theme: Theme) -> None:
    axes.set_title(words, loc="left", fontsize=8.5, color=TOKENS[theme]["ink"])


def worth_chart(changes: Sequence[Worth], *, theme: Theme = "light") -> Figure:
    """Return what helps most: survivors and minutes gained by each change, with one standard error.

    Only changes whose effect exceeds two standard errors and holds whatever the constants are.
    """
    worth = [one for one in changes if one.counts and one.gain_minutes > 0.0]
    token = TOKENS[theme]
    drawn = figure(width_cm=24, height_cm=2.5 + 0.75 * len(worth), theme=theme)
    left, right = (dress(axes, theme=theme) for axes in drawn.subplots(1, 2, sharey=True))
    rows = np.arange(len(worth))[::-1]
    for axes, gains, errors, words in (
        (
            left,
            [w.gain_survivors for w in worth],
            [w.standard_error for w in worth],
            word("picture.survivors_gained"),
        ),
        (
            right,
            [w.gain_minutes for w in worth],
            [w.minutes_standard_error for w in worth],
            word("picture.minutes_gained"),
        ),
    ):
        colours = [token["moss"] if gain > 0 else token["straw"] for gain in gains]
        axes.barh(rows, gains, xerr=errors, color=colours, height=0.62, ecolor=token["ink"])
        axes.axvline(0.0, color=token["ink"], linewidth=0.8)
        axes.set_xlabel(words)
        axes.locator_params(axis="x", nbins=5)
    left.set_yticks(rows, [say(w.change) for w in worth], color=token["ink"])
    _title(left, word("picture.helps_title") if worth else word("picture.nothing_helps"), theme)
    return drawn


def traces_chart(drill: Drill, runs: Mapping[str, tuple[Drill, Played]], *, theme: Theme = "light") -> Figure:
    """Return plans of a few runs, each with everyone's walked line; words say which run it is.

    A run has its own drill, whose burials may be in other places.
    """
    columns = len(runs) if len(runs) <= 3 else 2
    lines = -(-len(runs) // columns)
    wide_cm = 9.0 if columns == 3 else 11.0
    drawn = figure(width_cm=wide_cm * columns, height_cm=(wide_cm - 0.5) * lines, theme=theme)
    grid = drawn.subplots(lines, columns, squeeze=False)
    xy = np.array(drill.site.boundary_m)
    pad = 0.08 * float(np.ptp(xy, axis=0).max())
    for axes in grid.flat[len(runs) :]:
        axes.set_axis_off()
    for axes, (words, (made, played)) in zip(grid.flat, runs.items(), strict=False):
        dress(axes, theme=theme)
        axes.set_xlim(xy[:, 0].min() - pad, xy[:, 0].max() + pad)
        axes.set_ylim(xy[:, 1].min() - pad, xy[:, 1].max() + pad)
        axes.set_aspect("equal", adjustable="box")
        draw_ground(axes, made.site, theme=theme)
        draw_burials(axes, made.burials, theme=theme)
        for k, trace in enumerate(played.traces):
            draw_line(axes, np.stack([trace.east_m, trace.north_m], axis=-1), person=k)
        freed = tuple(_freed(burial) for burial in played.burials)
        _title(axes, word("picture.run_title", run=RUNS[words], freed=freed), theme)
    return drawn


def _freed(times: BurialTimes) -> Message:
    if not times.found:
        return message("picture.not_found", id=times.burial)
    return message("picture.freed_after", id=times.burial, minutes=number(times.airway_s / 60.0, 0))


RUNS: Mapping[str, Message] = {
    "a fast run": message("picture.run_fast"),
    "a median run": message("picture.run_median"),
    "a slow run": message("picture.run_slow"),
    "a failed run": message("picture.run_failed"),
}
"""Names of the runs from `telling_runs`."""
