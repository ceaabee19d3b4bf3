"""When a searcher left the lane and began to follow a set's direction."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from coldfield.debrief.approach.border import Border
from coldfield.debrief.place_doubt import SPREAD

Floats = NDArray[np.float64]

CHORD_M = 4.0
"""The way at a moment is that over this length of the path: shorter, and noise turns it. Setting."""

BEFORE_S = 30.0
"""Walking of so long before the set was audible tells the way of the lane. Setting."""

LANE_RAD, CHASE_RAD = 0.18, 0.28
"""Spread of the walked way about the lane's, and about a set's direction, track noise included. Settings."""

LEFT_LANE_RAD = 0.45
"""Whoever walks so far off the lane's direction has left it, whether for the set's or not. Setting."""

STRAY = 0.1
"""Share of the walking that follows neither. Setting."""

LATE_S, EARLY_S = 30.0, 6.0
"""How late after a set is audible people turn, as an exponential law, and how far before it, as half a
normal one: what is taken before looking at the track. Settings, wide on purpose."""


STOP_S = 1.5
"""People stop for some seconds to take the direction; the turn is where they stop. Setting."""


def turn_of(
    t_s: Floats,
    position_m: Floats,
    direction_rad: Floats,
    *,
    audible: NDArray[np.bool_],
    doubt_s: float,
    latest_s: float,
) -> tuple[Border, float]:
    """Return when the walk began to follow the direction rather than the lane, and a bound before it.

    Parameters
    ----------
    t_s : ndarray, shape (n,)
        Seconds known of the way to a burial.
    position_m : ndarray, shape (n, 2)
        Places in plan.
    direction_rad : ndarray, shape (n,)
        The set's direction there, whether it was heard or not.
    audible : ndarray of bool, shape (n,)
        Where the set was audible on the track; at least once.
    doubt_s : float
        How well it is known when it became so, s; it goes into the uncertainty.
    latest_s : float
        The turn lies before this.

    Notes
    -----
    Every stretch of walking is weighed under 'on the lane' (its angle to the way walked before the set
    was audible) and under 'follows the direction' (its angle to the direction, either way along it),
    4 m counting as one independent look. With a wide law for how soon people turn this gives each
    second a probability; the turn is its median, the uncertainty reaches to the farther end of the
    middle nineteen of twenty, widened by what trials showed people to do otherwise. The bound is where
    that middle begins, before the widening, or where the walk left the lane for any other way, if that is
    sooner: statements about a reaction rest on it. Where the direction
    lies along the lane nothing but the wide law tells, and the uncertainty shows it.
    """
    prior = _before_looking(t_s, audible, EARLY_S + 0.5 * doubt_s)
    onset_s = float(t_s[audible.argmax()])
    able = np.flatnonzero((prior > -8.0) & (t_s <= max(latest_s, onset_s)))
    if able.size < 2:
        moment = min(onset_s, latest_s)
        return Border(t_s=moment, uncertainty_s=5.0 + doubt_s), moment - 5.0 - doubt_s
    span = slice(int(able[0]), int(able[-1]) + 1)
    way, step = _ways(position_m)
    lane = _lane_azimuth(t_s, way, step, onset_s)
    on_lane = _log_law(_wrapped(way - lane, 2.0 * np.pi), LANE_RAD, 2.0 * np.pi)
    on_line = _log_law(_wrapped(way - direction_rad, np.pi), CHASE_RAD, np.pi)
    looks = step[span] / CHORD_M
    before = np.concatenate([[0.0], np.cumsum(looks * on_lane[span])[:-1]])
    after = np.cumsum((looks * on_line[span])[::-1])[::-1]
    t = t_s[span]
    weight = before + after + prior[span]
    share = np.cumsum(np.exp(weight - weight.max()))
    share /= share[-1]
    low, middle, high = (float(t[int(np.searchsorted(share, q))]) for q in (0.025, 0.5, 0.975))
    reach = 1.2 * SPREAD * float(np.hypot(max(high - middle, middle - low), np.hypot(2.0 * STOP_S, doubt_s)))
    left_lane_s = _left_lane_s(t_s, way, step, lane, onset_s)
    not_before = min(low, left_lane_s) - STOP_S
    return Border(t_s=max(middle - STOP_S, float(t_s[0])), uncertainty_s=reach), not_before


def _before_looking(t_s: Floats, audible: NDArray[np.bool_], early_s: float) -> Floats:
    """Logarithm, up to a constant, of how likely a turn is by when the set was heard."""
    heard = np.flatnonzero(audible)
    breaks = np.flatnonzero(np.diff(t_s[heard]) > 6.0)
    starts = t_s[heard[np.concatenate([[0], breaks + 1])]]
    ends = t_s[heard[np.concatenate([breaks, [heard.size - 1]])]]
    k = np.searchsorted(starts, t_s, side="right") - 1
    since = np.where(k >= 0, t_s - starts[np.maximum(k, 0)], np.inf)
    silent = np.where(k >= 0, np.maximum(t_s - ends[np.maximum(k, 0)], 0.0), np.inf)
    later = starts[np.minimum(k + 1, starts.size - 1)] - t_s
    until = np.where(later > 0.0, later, np.inf)
    heard_now = -since / LATE_S - 0.5 * (silent / early_s) ** 2
    return np.asarray(np.maximum(heard_now, -0.5 * (until / early_s) ** 2))


def _ways(position: Floats) -> tuple[Floats, Floats]:
    """The azimuth of the walk at each place, over a chord of some metres, and the length of each step."""
    step = np.linalg.norm(np.diff(position, axis=0, append=position[-1:]), axis=1)
    along = np.concatenate([[0.0], np.cumsum(step[:-1])])
    n = along.size
    ahead = np.minimum(np.searchsorted(along, along + CHORD_M / 2), n - 1)
    behind = np.maximum(np.searchsorted(along, along - CHORD_M / 2, side="right") - 1, 0)
    chord = position[ahead] - position[behind]
    return np.arctan2(chord[:, 0], chord[:, 1]), step


def _lane_azimuth(t_s: Floats, way: Floats, step: Floats, audible_s: float) -> float:
    """The way walked before a set was audible; after it where there is nothing before."""
    before = (t_s < audible_s) & (t_s >= audible_s - BEFORE_S)
    if step[before].sum() < CHORD_M:
        before = t_s <= audible_s + 5.0
    weight = step * before
    return float(np.arctan2((weight * np.sin(way)).sum(), (weight * np.cos(way)).sum()))


def _left_lane_s(t_s: Floats, way: Floats, step: Floats, lane: float, onset_s: float) -> float:
    """When the walk first went another way than the lane's, after a set was audible, wherever it led."""
    away = (np.abs(_wrapped(way - lane, 2.0 * np.pi)) > LEFT_LANE_RAD) & (t_s >= onset_s)
    gone = np.cumsum(np.where(away, step, -step))
    gone = gone - np.minimum.accumulate(gone)
    left = np.flatnonzero(gone > CHORD_M / 2.0)
    if not left.size:
        return float(t_s[-1])
    here = int(left[0])
    while here > 0 and away[here - 1]:
        here -= 1
    return float(t_s[here])


def _wrapped(angle: Floats, period: float) -> Floats:
    return np.asarray((angle + period / 2) % period - period / 2)


def _log_law(angle: Floats, spread: float, period: float) -> Floats:
    """Logarithm of a normal law about 0 with a share spread evenly over the period."""
    normal = np.exp(-0.5 * (angle / spread) ** 2) / (spread * np.sqrt(2.0 * np.pi))
    return np.asarray(np.log((1.0 - STRAY) * normal + STRAY / period))
