"""The ground swept by the people of a run, in every possible variant."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from coldfield.debrief.approach.approach import Approach
from coldfield.debrief.approach.arrival import Listener
from coldfield.debrief.approach.heard_walk import HeardWalk
from coldfield.debrief.clocks.align import Aligned
from coldfield.debrief.ensemble import stream
from coldfield.debrief.ground.sweep import Swept, swept_ground
from coldfield.debrief.ground.swept_ways import CORNER_S, Searched
from coldfield.debrief.snow import Snow
from coldfield.debrief.stretches import runs
from coldfield.drill.drill import Drill

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

EVERY = 2
"""Swept ground is computed only in every second variant, because it is the slowest part. Setting."""

END_S = 10.0
"""Uncertainty of the moment when somebody stops searching to help, s, one standard deviation. Setting."""


def swept_by_all(
    drill: Drill,
    aligned: Aligned,
    listeners: Mapping[str, Listener],
    approaches: Mapping[str, Sequence[Approach]],
    search: Mapping[str, Flags],
    terrain: Snow,
    strip_width_m: float | None,
    heard_all_s: float | None = None,
) -> Swept | None:
    """Return the ground swept in signal search; None without a width or a track.

    Parameters
    ----------
    drill, aligned
        The run.
    listeners, approaches, search : mapping
        By searcher: possible positions, approaches, and which seconds were signal search.
    terrain : Plane or GridSnow
        The snow.
    strip_width_m : float, optional
        The width in use.
    heard_all_s : float, optional
        The first signal of the last set, if every set was heard; ground not reached by then was not needed
        any more.
    """
    if strip_width_m is None or not search:
        return None
    walks = {who: one.walk for who, one in listeners.items()}
    paths = {
        who: [walk.position_m[first : last + 1] for first, last in runs(search[who] & ~walk.still)]
        for who, walk in walks.items()
    }
    before = None
    if heard_all_s is not None:
        before = {
            who: [
                walk.position_m[a : b + 1]
                for a, b in runs(search[who] & ~walk.still & (walk.t_s <= heard_all_s))
            ]
            for who, walk in walks.items()
        }
    ways = [
        _searched(one, approaches[who], search[who], terrain, aligned.zero_off_s(), number)
        for number, (who, one) in enumerate(listeners.items())
    ]
    return swept_ground(
        drill.site,
        paths,
        terrain,
        strip_width_m=strip_width_m,
        accuracy_m={who: aligned.tracks[who].accuracy_m for who in walks},
        ways=ways,
        before_m=before,
    )


def _searched(
    listener: Listener,
    approaches: Sequence[Approach],
    search: Flags,
    terrain: Snow,
    zero_off_s: Floats,
    number: int,
) -> Searched:
    """Return where and when a person may have searched: from the alarm to each variant's turn."""
    ways = listener.ways
    t = ways.t_s[::CORNER_S]
    places = terrain.to_snow(ways.at(t)[::EVERY])
    t = t + CORNER_S / 2.0  # a step is assessed by its middle
    over = _over_gaps(listener.walk, search)
    at = over[np.clip(t, 0.0, over.size - 1.0).astype(int)]
    searching = np.repeat(at[None], len(zero_off_s), axis=0)
    for one in approaches:
        middle, turn = one.turn.t_s, one.told.turn_s[:, None]
        searching |= (t >= middle) & (t < turn)
        searching &= ~((t >= turn) & (t <= middle))
    if not approaches and at.any():
        last = float(t[at][-1])
        end = last + END_S * stream(5, number).standard_normal(len(zero_off_s))[:, None]
        searching |= (t >= last) & (t < end)
        searching &= ~((t >= end) & (t <= last))
    searching &= t >= zero_off_s[:, None]
    return Searched(places, searching[::EVERY])


def _over_gaps(walk: HeardWalk, search: Flags) -> Flags:
    """Return signal search, continued across a gap of the track if it is on both sides of the gap."""
    known = np.flatnonzero(walk.known)
    over = search.copy()
    for i in np.flatnonzero(np.diff(known) > 1):
        over[known[i] : known[i + 1] + 1] |= bool(search[known[i]] and search[known[i + 1]])
    return over
