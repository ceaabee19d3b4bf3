"""The seconds that somebody spent in signal search."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from coldfield.debrief.approach.approach import Approach
from coldfield.debrief.approach.heard_walk import HeardWalk
from coldfield.debrief.stretches import runs

Floats = NDArray[np.float64]

STAY_S = 10
"""People near a burial for less than this only pass by, s. Setting."""

PASS_S, STANDS = 40, 0.3
"""So do people who walk on: for less than this, s, and standing for less than this share. Settings."""


def searching(
    walk: HeardWalk,
    approaches: Sequence[Approach],
    reached: Mapping[str, tuple[float, tuple[float, float]]],
    *,
    over_s: float,
    near_m: float,
) -> NDArray[np.bool_]:
    """Return whether a person was in signal search, second by second, shape (n,).

    Parameters
    ----------
    walk : HeardWalk
        The person's track.
    approaches : sequence of Approach
        Their approaches, in which they follow a direction and search no ground.
    reached : mapping
        Burial -> when somebody first turned for it, and its place, for burials that were reached. People who
        stay there afterwards work there, and people who walk straight to it are coming to help.
    over_s : float
        When all sets were reached, which ended signal search for everybody.
    near_m : float
        Distance within which a person is at a burial.
    """
    mask = walk.known & (walk.t_s <= over_s)
    for approach in approaches:
        mask &= (walk.t_s < approach.turn.t_s) | (walk.t_s > max(approach.end_s, approach.fine.t_s))
    for since_s, place in reached.values():
        away = np.linalg.norm(walk.position_m - np.array(place), axis=1)
        near = (np.nan_to_num(away, nan=np.inf) < near_m) & (walk.t_s >= since_s)
        for first, last in runs(near):
            stays = last - first + 1 >= PASS_S or float(walk.still[first : last + 1].mean()) > STANDS
            if last - first + 1 >= STAY_S and stays:
                mask[_set_out(walk, away, first, since_s) : last + 1] = False
    return np.asarray(mask)


def _set_out(walk: HeardWalk, away: Floats, arrived: int, since_s: float) -> int:
    """Return where the walk to a burial began: back from the arrival while it came nearer, or stood."""
    closing = np.nan_to_num(away[:-10] - away[10:]) if away.size > 10 else np.zeros(0)
    walked = np.convolve(np.nan_to_num(walk.speed_m_s), np.ones(11), "valid")[: closing.size]
    i = arrived
    while i > 10 and walk.t_s[i] > since_s:
        k = min(i - 5, closing.size - 1)
        if k < 0 or (closing[k] < 0.3 * walked[k] and walked[k] > 3.0):
            break
        i -= 1
    return i
