"""For how long each set could be heard, and since when, in every possible variant of a walk."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from coldfield.debrief.approach.arrival import Listener
from coldfield.debrief.ensemble import GRAIN_S, Middle, middle_of, range_db
from coldfield.debrief.hearing.places import strength_at

Floats = NDArray[np.float64]

MOST_MOMENTS = 900
"""The most moments, evenly spaced, that are evaluated in a run. Setting."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Heard:
    """The total time a set was audible, s, and since when; None if it rarely was."""

    seconds: Middle
    from_s: Middle | None


def heard_for(
    listener: Listener, *, off_from_s: Mapping[str, float], clock_off_s: Floats, zero_off_s: Floats
) -> dict[str, Heard]:
    """Return how long each set was audible, by burial, from the alarm to the track's end, across dropouts.

    Parameters
    ----------
    listener : Listener
        The person.
    off_from_s : mapping
        Burial -> the split at which its set was switched off.
    clock_off_s, zero_off_s : ndarray, shape (w,)
        The reading of the tracks' clock at second 0 of the splits, and of the run.
    """
    ways, walk, ids = listener.ways, listener.walk, listener.sources.ids
    if not ids:
        return {}
    each = max(1, -(-ways.t_s.size // MOST_MOMENTS))
    t = ways.t_s[::each]
    strength = strength_at(
        listener.sources,
        listener.searcher.receiver,
        listener.terrain,
        ways.at(t),
        heading_rad=walk.heading_rad[np.maximum(t, 0.0).astype(int)],
        noise_rise_db=listener.noise_rise_db,
        above_m=1.0,
    )
    audible = strength >= 10.0 ** (range_db() / 20.0)[:, None, None]
    audible &= (t >= zero_off_s[:, None])[..., None]
    for burial, off_s in off_from_s.items():
        if burial in ids:
            audible[..., ids.index(burial)] &= t < off_s + clock_off_s[:, None]
    grain = GRAIN_S * each
    found = {}
    for k, burial in enumerate(ids):
        mine = audible[..., k]
        ever = mine.any(axis=1)
        first = np.where(ever, t[mine.argmax(axis=1)] - zero_off_s, np.nan)
        found[burial] = Heard(
            seconds=middle_of(each * mine.sum(axis=1).astype(np.float64), grain=grain if ever.any() else 0.0),
            from_s=middle_of(first, grain=grain) if ever.mean() > 0.5 else None,
        )
    return found
