"""The moment when a searcher left the lane and began to follow a set's direction."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from coldfield.debrief.ensemble import stream

Floats = NDArray[np.float64]

CHORD_M = 4.0
"""The direction of a walk is taken over this length of path; over less, noise would dominate, m. Setting."""

BEFORE_S = 30.0
"""The direction of the lane is taken from this time before the set was audible, s. Setting."""

LANE_RAD, CHASE_RAD = 0.18, 0.28
"""Spread of the walked direction about that of the lane, and of a set, rad. Settings."""

MOST_UNSURE_RAD = 0.6
"""Upper bound for the uncertainty of a walked direction, rad. Setting."""

ASIDE = ((0.0, 0.86), (0.45, 0.05), (-0.45, 0.05), (0.9, 0.02), (-0.9, 0.02))
"""Constant angles off the line at which people may walk after leaving the lane, rad, and their shares.
Settings."""

LANE_STEP_RAD = 0.1
"""Step between the lane directions that are tried, rad. Setting."""

LEFT_LANE_RAD = 0.6
"""Somebody who walks this far off the lane's direction has left the lane, rad. Setting."""

STRAY = 0.1
"""Share of walking that follows neither. Setting."""

LATE_S, EARLY_S = 20.0, 4.0
"""Prior for the turn: an exponential delay after the set becomes audible, and half a normal law before it, s.
Settings, wide on purpose."""

STOP_S, STOPS_S = 1.5, 1.5
"""People stop for some seconds to take the direction, and turn there: median and spread of the stop, s."""

STOPS, SLOW = 0.6, 0.5
"""Share of people who visibly stop for it, and the share of their usual step below which they do. Settings;
stopping to take the direction is common practice."""

STOP_BEFORE, STOP_AFTER = 4, 1
"""A stop belongs to the turn within this many seconds before and after it. Settings."""

BENDS, BEND_RAD, BEND_S, BEND_SURE = 0.6, 0.5, 3, 2.0
"""Share of people whose path bends sharply at the turn, and the limits of a sharp bend: an angle, rad, the
seconds before and after, and a multiple of its uncertainty. Settings. People who follow a direction bend as
sharply only after a wrong way."""

STANDS_M = 0.1
"""A step shorter than this in one second has no direction, m. Setting."""

LEAST, NEVER = -8.0, -1e3
"""Log-likelihood below which a turn is excluded, and the one of an impossible turn. Settings."""


def turns_of(
    t_s: Floats,
    walk_m: Floats,
    direction_rad: Floats,
    audible: NDArray[np.bool_],
    *,
    unsure_rad: Floats,
    latest_s: Floats,
    number: int,
) -> Floats:
    """Return when the walk began to follow the direction rather than the lane, for each variant, (w,), s.

    Parameters
    ----------
    t_s : ndarray, shape (n,)
        Seconds of the approach.
    walk_m : ndarray, shape (n, 2)
        The mean of the possible walks; its turns are used for all variants.
    direction_rad : ndarray, shape (w, n)
        The set's direction at the possible positions; NaN if there is none.
    audible : ndarray of bool, shape (w, n)
        Whether the set was audible there.
    unsure_rad : ndarray, shape (n,)
        Uncertainty of the walked direction, one standard deviation (`unsure_rad`).
    latest_s : ndarray, shape (w,)
        The turn is before this.
    number : int
        The number of the random stream.

    Notes
    -----
    Each stretch of walking has a likelihood for 'on the lane' (by its angle to the direction walked before
    the set was audible) and for 'left it for the set' (by its angle to the set's direction, either way along
    it, or to a path at a constant angle to it); 4 m count as one independent observation. With a wide prior
    for how soon people turn, this gives each second a probability, from which each variant draws its turn. If
    the direction is along the lane, only the prior decides, and the draws are widely spread.
    """
    way, step = _ways(walk_m)
    onset = t_s[np.where(audible.any(axis=1), audible.argmax(axis=1), t_s.size - 1)]
    looks = step / CHORD_M
    lane_rad, chase_rad = np.hypot(LANE_RAD, unsure_rad), np.hypot(CHASE_RAD, unsure_rad)
    before = _on_lane(t_s, way, step, float(np.median(onset)), lane_rad)
    off = np.nan_to_num(way - direction_rad, nan=0.5 * np.pi)
    after = [
        np.log(share) + _from_here(looks * _log_law(_wrapped(off - aside, np.pi), chase_rad, np.pi))
        for aside, share in ASIDE
    ]
    prior = np.array([_before_looking(t_s, mine) for mine in audible])
    way_s = (t_s >= np.median(onset) - BEFORE_S) & (t_s <= np.median(latest_s))
    weight = before + np.logaddexp.reduce(after, axis=0) + np.maximum(prior, NEVER)
    if way_s.any():
        weight += _stopped(step, way_s) + _bent(way, step, unsure_rad, way_s)
    able = (prior > LEAST) & (t_s <= np.maximum(latest_s, onset)[:, None])
    able |= ~able.any(axis=1, keepdims=True) & (t_s == onset[:, None])
    weight = np.where(able, weight, -np.inf)
    share = np.cumsum(np.exp(weight - weight.max(axis=1, keepdims=True)), axis=1)
    rng = stream(3, number)
    even = (rng.permutation(len(share)) + 0.5) / len(share)
    at = (share < even[:, None] * share[:, -1:]).sum(axis=1)
    stop = np.clip(STOP_S + STOPS_S * rng.standard_normal(len(share)), -STOP_S, 3.0 * STOP_S)
    return np.asarray(np.maximum(t_s[np.minimum(at, t_s.size - 1)] - stop, t_s[0]))


def apart_rad(
    t_s: Floats, walk_m: Floats, direction_rad: Floats, audible: NDArray[np.bool_], turn_s: Floats
) -> Floats:
    """Return the angle between the set's direction and the lane at each variant's turn, (w,), 0 to pi/2.

    Arguments as for `turns_of`; NaN if there is no direction.
    """
    way, step = _ways(walk_m)
    onset = t_s[np.where(audible.any(axis=1), audible.argmax(axis=1), t_s.size - 1)]
    lane = _lane_azimuth(t_s, way, step, float(np.median(onset)))
    at = np.clip(np.searchsorted(t_s, turn_s), 0, t_s.size - 1)
    return np.abs(_wrapped(direction_rad[np.arange(turn_s.size), at] - lane, np.pi))


def left_lane_s(t_s: Floats, walk_m: Floats, onset_s: float) -> float:
    """Return when the walk first left the lane's direction after a set became audible, s."""
    way, step = _ways(walk_m)
    lane = _lane_azimuth(t_s, way, step, onset_s)
    off = np.abs(_wrapped(way - lane, 2.0 * np.pi))
    away = (off > LEFT_LANE_RAD) & (t_s >= onset_s)
    gone = np.cumsum(np.where(away, step, -step))
    gone = gone - np.minimum.accumulate(gone)
    left = np.flatnonzero(gone > CHORD_M / 2.0)
    if not left.size:
        return float(t_s[-1])
    here = int(left[0])
    while here > 0 and off[here - 1] > LEFT_LANE_RAD / 2.0:  # chords cut the corner
        here -= 1
    return float(t_s[here])


def _on_lane(t_s: Floats, way: Floats, step: Floats, onset_s: float, spread_rad: Floats) -> Floats:
    """Return the log-likelihood that the walk before each moment follows one lane of any direction, (n,)."""
    lanes = np.arange(0.0, 2.0 * np.pi, LANE_STEP_RAD)
    looks = np.where(t_s >= onset_s - BEFORE_S, step / CHORD_M, 0.0)
    law = looks * _log_law(_wrapped(way - lanes[:, None], 2.0 * np.pi), spread_rad, 2.0 * np.pi)
    before = np.pad(np.cumsum(law, axis=1)[:, :-1], ((0, 0), (1, 0)))
    return np.asarray(np.logaddexp.reduce(before, axis=0) - np.log(lanes.size))


def _stopped(step: Floats, way: NDArray[np.bool_]) -> Floats:
    """Return the log-likelihood ratio of the steps at each moment for a start after a stop, (n,)."""
    slow = step < SLOW * np.quantile(step[way], 0.75)
    return _likelier(_around(slow, STOP_AFTER, STOP_BEFORE), way, STOPS)


def _bent(azimuth: Floats, step: Floats, unsure_rad: Floats, way: NDArray[np.bool_]) -> Floats:
    """Return the log-likelihood ratio of the bends at each moment for a turn, as `_stopped` does."""
    late = np.minimum(np.arange(step.size) + BEND_S, step.size - 1)
    early = np.maximum(np.arange(step.size) - BEND_S, 0)
    bend = np.abs(_wrapped(azimuth[late] - azimuth[early], 2.0 * np.pi))
    doubt = np.hypot(unsure_rad[late], unsure_rad[early])
    sharp = (bend > np.maximum(BEND_RAD, BEND_SURE * doubt)) & (step > STANDS_M)
    return _likelier(_around(sharp, 1, 1), way, BENDS)


def _around(seen: NDArray[np.bool_], before: int, after: int) -> NDArray[np.bool_]:
    """Return a mask extended by some seconds before and after each True, (n,)."""
    wide = np.zeros(seen.size + before + after, dtype=bool)
    for ahead in range(before + after + 1):
        wide[np.flatnonzero(seen) + ahead] = True
    return wide[before : before + seen.size]


def _likelier(seen: NDArray[np.bool_], way: NDArray[np.bool_], share: float) -> Floats:
    """Return the log-likelihood ratio of a sign, or its absence, (n,), that a share of turns shows.

    The usual frequency comes from the seconds in `way`, (n,), at least one.
    """
    usual = float(np.clip(seen[way].mean(), 0.05, 0.95))
    return np.asarray(np.where(seen, np.log(share / usual), np.log((1.0 - share) / (1.0 - usual))))


def _from_here(looks: Floats) -> Floats:
    """Return sums from each moment to the end, (w, n)."""
    return np.asarray(np.cumsum(looks[:, ::-1], axis=1)[:, ::-1])


def _before_looking(t_s: Floats, audible: NDArray[np.bool_]) -> Floats:
    """Return the log-prior of a turn, up to a constant, given when the set was heard, (n,)."""
    heard = np.flatnonzero(audible)
    if not heard.size:
        return np.full(t_s.size, -np.inf)
    breaks = np.flatnonzero(np.diff(t_s[heard]) > 6.0)
    starts = t_s[heard[np.concatenate([[0], breaks + 1])]]
    ends = t_s[heard[np.concatenate([breaks, [heard.size - 1]])]]
    k = np.searchsorted(starts, t_s, side="right") - 1
    since = np.where(k >= 0, t_s - starts[np.maximum(k, 0)], np.inf)
    silent = np.where(k >= 0, np.maximum(t_s - ends[np.maximum(k, 0)], 0.0), np.inf)
    later = starts[np.minimum(k + 1, starts.size - 1)] - t_s
    until = np.where(later > 0.0, later, np.inf)
    heard_now = -since / LATE_S - 0.5 * (silent / EARLY_S) ** 2
    return np.asarray(np.maximum(heard_now, -0.5 * (until / EARLY_S) ** 2))


def unsure_rad(place_m: Floats, walk_m: Floats) -> Floats:
    """Return the uncertainty of a walk's azimuth, one standard deviation, (n,), over all variants.

    Takes places (w, n, 2) and their mean (n, 2).
    """
    ahead, behind, _ = _chords(walk_m)
    middle = walk_m[ahead] - walk_m[behind]
    chord = place_m[:, ahead] - place_m[:, behind]
    across = chord[..., 0] * middle[:, 1] - chord[..., 1] * middle[:, 0]
    size = np.maximum(np.sum(middle**2, axis=1), 1.0)
    return np.asarray(np.minimum(across.std(axis=0) / size, MOST_UNSURE_RAD))


def _ways(position: Floats) -> tuple[Floats, Floats]:
    """Return the azimuth of the walk at each place, over a chord, and the length of each step."""
    ahead, behind, step = _chords(position)
    chord = position[ahead] - position[behind]
    return np.arctan2(chord[:, 0], chord[:, 1]), step


def _chords(position: Floats) -> tuple[NDArray[np.intp], NDArray[np.intp], Floats]:
    """Return the places half a chord ahead of and behind each place, and the length of each step."""
    step = np.linalg.norm(np.diff(position, axis=0, append=position[-1:]), axis=1)
    along = np.concatenate([[0.0], np.cumsum(step[:-1])])
    ahead = np.minimum(np.searchsorted(along, along + CHORD_M / 2), along.size - 1)
    behind = np.maximum(np.searchsorted(along, along - CHORD_M / 2, side="right") - 1, 0)
    return ahead, behind, step


def _lane_azimuth(t_s: Floats, way: Floats, step: Floats, audible_s: float) -> float:
    """Return the direction walked before a set was audible, or after it if there is nothing before."""
    before = (t_s < audible_s) & (t_s >= audible_s - BEFORE_S)
    if step[before].sum() < CHORD_M:
        before = t_s <= audible_s + 5.0
    weight = step * before
    return float(np.arctan2((weight * np.sin(way)).sum(), (weight * np.cos(way)).sum()))


def _wrapped(angle: Floats, period: float) -> Floats:
    return np.asarray((angle + period / 2) % period - period / 2)


def _log_law(angle: Floats, spread: Floats, period: float) -> Floats:
    """Return the log-density of a normal law about 0, mixed with a uniform share over the period."""
    normal = np.exp(-0.5 * (angle / spread) ** 2) / (spread * np.sqrt(2.0 * np.pi))
    return np.asarray(np.log((1.0 - STRAY) * normal + STRAY / period))
