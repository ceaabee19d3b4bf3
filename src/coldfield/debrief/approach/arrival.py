"""Who came to which burial and when, and how far their device stood off it then."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from coldfield.beacon.hearing import Sources
from coldfield.debrief.approach.heard_walk import HeardWalk
from coldfield.debrief.clocks.run_splits import RunSplits
from coldfield.debrief.snow import Snow
from coldfield.debrief.stretches import runs
from coldfield.drill.searcher import Searcher

Floats = NDArray[np.float64]

STAND_S = 8
"""Standing so long near a burial is an arrival there. Setting."""

FARTHEST_OFF_M = 25.0
"""A track that stands farther off the burial than this when its bearer is there has another fault."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Listener:
    """What a person hears with and how well their places are known."""

    searcher: Searcher
    walk: HeardWalk
    accuracy_m: float
    sources: Sources
    terrain: Snow
    noise_rise_db: float

    def reach_m(self) -> float:
        """Return how near to a burial a track must come to count as having been there, m."""
        return 3.0 + 2.0 * self.accuracy_m


@dataclass(frozen=True, slots=True, kw_only=True)
class Arrival:
    """When a person came to a burial: `seen` by 'split', 'stand' or 'pass'; `split` names the first."""

    burial: str
    at_s: float
    leave_s: float
    seen: str
    split: str = ""


def arrivals_of(listener: Listener, splits: RunSplits) -> list[Arrival]:
    """Return the burials a person came to, in order of time, each once."""
    found = []
    for k, burial in enumerate(listener.sources.ids):
        moments = [
            (t, kind)
            for kind in ("lowest_reading", "probe_strike")
            for t in splits.times(kind, burial=burial, searcher=listener.searcher.id)
        ]
        if moments:
            at_s, kind = min(moments)
            leave_s, _ = max(moments)
            found.append(Arrival(burial=burial, at_s=at_s, leave_s=leave_s, seen="split", split=kind))
            continue
        if seen := _seen_on_track(listener, k, burial, splits.first("probe_strike", burial=burial)):
            found.append(seen)
    return sorted(found, key=lambda a: a.at_s)


def _seen_on_track(listener: Listener, k: int, burial: str, struck_s: float | None) -> Arrival | None:
    walk = listener.walk
    away = np.linalg.norm(walk.position_m - listener.sources.point_m[k, :2], axis=1)
    near = np.nan_to_num(away, nan=np.inf) <= listener.reach_m()
    if struck_s is not None:
        near &= walk.t_s <= struck_s + 5.0  # whoever comes later comes to help
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


def seen_bias_m(listener: Listener, arrivals: Sequence[Arrival], bias_m: float) -> float:
    """Return the drift of a device, m on each axis, raised where it stood off burials its bearer was at.

    Notes
    -----
    The default weighs as much as one such sight; the result is never below it.
    """
    squares = [2.0 * bias_m**2]
    for arrival in arrivals:
        if arrival.seen == "split" and arrival.burial in listener.sources.ids:
            off = off_burial(listener, arrival, listener.sources.ids.index(arrival.burial))
            if off is not None:
                squares.append(float(off @ off))
    return max(bias_m, float(np.sqrt(sum(squares) / (2.0 * len(squares)))))


def off_burial(listener: Listener, arrival: Arrival, index: int) -> Floats | None:
    """Return how far the track stood off a burial when its bearer was there, None where it does not tell."""
    walk = listener.walk
    inside = (walk.t_s >= arrival.at_s - 2.0) & (walk.t_s <= max(arrival.leave_s, arrival.at_s + 5.0))
    inside &= walk.known
    if not inside.any():
        return None
    off = np.median(walk.position_m[inside], axis=0) - listener.sources.point_m[index, :2]
    return np.asarray(off) if np.linalg.norm(off) <= FARTHEST_OFF_M else None
