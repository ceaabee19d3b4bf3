"""Who came to which burial and when, and how far their device was off."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from coldfield.beacon.hearing import Sources
from coldfield.debrief.approach.heard_walk import HeardWalk
from coldfield.debrief.clocks.run_splits import RunSplits
from coldfield.debrief.snow import Snow
from coldfield.debrief.stretches import runs
from coldfield.debrief.tracks.ways import PathWays
from coldfield.drill.searcher import Searcher

Floats = NDArray[np.float64]

STAND_S = 8
"""Standing this long near a burial counts as an arrival, s. Setting."""

CLOCK_S = 25.0
"""Splits count as arrivals if their clock is known to within this, s. Setting."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Listener:
    """A person's receiver, their walk, and its possible variants."""

    searcher: Searcher
    walk: HeardWalk
    ways: PathWays
    sources: Sources
    terrain: Snow
    noise_rise_db: float

    def reach_m(self) -> float:
        """Return the distance from a burial within which a track counts as having been there, m."""
        return 3.0 + 2.0 * self.ways.spread_m


@dataclass(frozen=True, slots=True, kw_only=True)
class Arrival:
    """When a person came to a burial: `seen` is 'split', 'stand' or 'pass'; `split` is the first split.

    `named` is true if the splits name the person, whether or not their clock gives the moment.
    """

    burial: str
    at_s: float
    leave_s: float
    seen: str
    split: str = ""
    named: bool = False


def arrivals_of(listener: Listener, splits: RunSplits) -> list[Arrival]:
    """Return the burials that a person came to, in order of time, each once."""
    found = []
    for k, burial in enumerate(listener.sources.ids):
        moments = [
            (t, kind)
            for kind in ("lowest_reading", "probe_strike")
            for t in splits.times(kind, burial=burial, searcher=listener.searcher.id)
        ]
        if moments and splits.known_within(CLOCK_S):
            at_s, kind = min(moments)
            leave_s, _ = max(moments)
            found.append(
                Arrival(burial=burial, at_s=at_s, leave_s=leave_s, seen="split", split=kind, named=True)
            )
            continue
        struck = splits.first("probe_strike", burial=burial) if splits.known_within(CLOCK_S) else None
        if seen := _seen_on_track(listener, k, burial, struck):
            found.append(replace(seen, named=bool(moments)))
    return sorted(found, key=lambda a: a.at_s)


def _seen_on_track(listener: Listener, k: int, burial: str, struck_s: float | None) -> Arrival | None:
    walk = listener.walk
    away = np.linalg.norm(walk.position_m - listener.sources.point_m[k, :2], axis=1)
    near = np.nan_to_num(away, nan=np.inf) <= listener.reach_m()
    if struck_s is not None:
        near &= walk.t_s <= struck_s + 5.0  # people who come later come to help
    stand = near & walk.still
    for first, last in runs(stand):
        if last - first + 1 >= STAND_S and walk.audible[: first + 1, k].any():
            return Arrival(
                burial=burial, at_s=float(walk.t_s[first]), leave_s=float(walk.t_s[last]), seen="stand"
            )
    if not near.any():
        return None
    at = int(np.nanargmin(np.where(near, away, np.nan)))
    return Arrival(burial=burial, at_s=float(walk.t_s[at]), leave_s=float(walk.t_s[at]), seen="pass")
