"""When a searcher left the lane and began to follow a set's direction."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from coldfield.debrief.border import Border

Floats = NDArray[np.float64]

BEFORE_S = 20
"""So many seconds of walking before the set was audible tell the way of the lane. Setting."""

CHASE_WEIGHT = 2.0
"""A step across the direction counts so much more than one off the lane: lanes wander. Setting."""

SMOOTHING_S = 2.0
"""A smoothed track rounds a corner over about this time on each side. Setting."""


def turn_of(
    t_s: Floats,
    velocity_m_s: Floats,
    direction_rad: Floats,
    *,
    audible: Border,
    earliest_s: float,
    latest_s: float,
) -> Border:
    """Return the moment from which the walk follows the direction rather than the lane.

    Parameters
    ----------
    t_s : ndarray, shape (n,)
        Whole seconds.
    velocity_m_s : ndarray, shape (n, 2)
        In plan; NaN where not known.
    direction_rad : ndarray, shape (n,)
        The set's direction along the track, with or without a reading; NaN where there is none.
    audible : Border
        When the set became audible.
    earliest_s, latest_s : float
        The turn lies between these.

    Notes
    -----
    Each second's step has a cost under 'still on the lane' (1 - cos of the angle to the way walked
    before the set was audible) and under 'follows the direction' (twice 1 - |cos| of the angle to
    it, either way along it), both times its length. The turn is where the sum of the first before
    and the second after is least; the uncertainty covers all moments whose sum is nearly as small.
    Where the direction lies along the lane nothing marks the turn, and the uncertainty says so.
    """
    first = int(np.searchsorted(t_s, earliest_s))
    last = max(int(np.searchsorted(t_s, latest_s)), first + 1)
    span = slice(first, last + 1)
    step = np.nan_to_num(velocity_m_s[span])
    length = np.linalg.norm(step, axis=1)
    lane = _way_before(t_s, velocity_m_s, min(audible.t_s, latest_s), first)
    along_lane = step @ lane
    line = np.column_stack([np.sin(direction_rad[span]), np.cos(direction_rad[span])])
    along_line = np.abs(np.sum(step * np.nan_to_num(line), axis=1))
    no_line = ~np.isfinite(direction_rad[span])
    off_lane = length - along_lane
    off_line = np.where(no_line, length, CHASE_WEIGHT * (length - along_line))
    cost = np.concatenate([[0.0], np.cumsum(off_lane)]) + np.concatenate(
        [np.cumsum(off_line[::-1])[::-1], [0.0]]
    )
    moments = np.append(t_s[span], t_s[min(last, t_s.size - 1)] + 1.0)[: cost.size]
    best = float(cost.min())
    nearly = np.flatnonzero(cost <= best + 1.0)
    at = int(cost.argmin())
    group = nearly[_group_of(nearly, at)]
    # Standing moves neither sum: the turn is the end of the stand, when the new way begins.
    middle = moments[np.flatnonzero(cost <= best + 0.15)]
    moment = float(middle[np.argmin(np.abs(middle - moments[at]))]) if middle.size else float(moments[at])
    spread = max(moments[group[-1]] - moment, moment - moments[group[0]])
    return Border(t_s=moment, uncertainty_s=float(np.hypot(spread, SMOOTHING_S)))


def _way_before(t_s: Floats, velocity_m_s: Floats, until_s: float, first: int) -> Floats:
    until = max(int(np.searchsorted(t_s, until_s)), first + 1)
    steps = velocity_m_s[max(until - BEFORE_S, 0) : until]
    steps = steps[np.isfinite(steps[:, 0])]
    way = steps.sum(axis=0) if len(steps) else np.zeros(2)
    size = float(np.linalg.norm(way))
    return np.asarray(way / size) if size > 0 else np.zeros(2)


def _group_of(nearly: NDArray[np.int64], at: int) -> slice:
    """The run of neighbours around `at`, jumping over at most 3."""
    k = int(np.searchsorted(nearly, at))
    low = high = k
    while low > 0 and nearly[low] - nearly[low - 1] <= 3:
        low -= 1
    while high < nearly.size - 1 and nearly[high + 1] - nearly[high] <= 3:
        high += 1
    return slice(low, high + 1)
