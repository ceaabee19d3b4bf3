"""Standing that is not part of the work, in every possible variant of the run."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from coldfield.debrief.approach.approach import Approach
from coldfield.debrief.approach.arrival import Listener
from coldfield.debrief.ensemble import WAYS
from coldfield.debrief.stretches import joined, runs
from coldfield.drill.burial import Burial

Floats = NDArray[np.float64]

NEAR_BURIAL_M = 9.0
"""People closer than this to a burial count as working there, m: a device may be off by as much. Setting."""

APART_S = 12
"""Stands with shorter breaks are joined, because the drift of a device looks like a few steps, s. Setting."""

SPAN_S = 30
"""Shorter stands are part of any search, s. Setting."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Idle:
    """When somebody stands idle in most variants, s of the run, and the seconds per variant, (k, w)."""

    spans: Sequence[tuple[float, float]]
    seconds: Floats


def idle_of(
    listener: Listener,
    approaches: Sequence[Approach],
    burials: Sequence[Burial],
    *,
    start_s: Floats,
    end_s: Floats,
) -> Idle:
    """Return when somebody stood without being on an approach or at a burial.

    Parameters
    ----------
    listener : Listener
        The person.
    approaches : sequence of Approach
        The person's approaches.
    burials : sequence of Burial
        People at a burial count as working there.
    start_s, end_s : ndarray, shape (w,)
        Start and end of the time in which standing counts, for each variant.
    """
    walk = listener.walk
    still = walk.still.copy()
    for one in approaches:
        since = one.audible.t_s if one.audible is not None else one.turn.t_s
        still &= (walk.t_s < since) | (walk.t_s > one.end_s)
    t = walk.t_s[still]
    if not t.size:
        return Idle(spans=(), seconds=np.zeros((0, WAYS)))
    free = (t >= start_s[:, None]) & (t <= end_s[:, None])
    place = listener.ways.at(t)
    for burial in burials:
        free &= np.linalg.norm(place - np.array(burial.position_m), axis=2) >= NEAR_BURIAL_M
    most = np.zeros(walk.t_s.size, dtype=bool)
    most[still] = free.mean(axis=0) > 0.5
    long = [(a, b) for a, b in joined(runs(most), apart=APART_S, least=SPAN_S) if b - a + 1 >= SPAN_S]
    spans = [(float(walk.t_s[a]), float(walk.t_s[b])) for a, b in long]
    seconds = [free[:, (t >= start) & (t <= end)].sum(axis=1) for start, end in spans]
    return Idle(spans=spans, seconds=np.array(seconds, dtype=np.float64).reshape(len(spans), WAYS))
