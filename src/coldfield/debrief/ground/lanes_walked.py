"""Compare walked lanes with planned lanes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from coldfield.debrief.approach.heard_walk import HeardWalk
from coldfield.debrief.phases.phase import Phase
from coldfield.debrief.snow import Snow
from coldfield.debrief.written import Number, Word, Written

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class LaneWalked(Written):
    """One person's signal search compared with their planned lane; lengths and distances on the snow, m.

    `off_lane_m` is the median distance from the walked places to the planned line, None if nothing of the
    signal search is known. It is not more precise than the track.
    """

    searcher: Word
    planned_m: Number
    walked_m: Number
    off_lane_m: Number | None = None


def lanes_walked(
    lanes: Sequence[tuple[str, Floats]],
    walks: Mapping[str, HeardWalk],
    phases: Mapping[str, Sequence[Phase]],
    terrain: Snow,
) -> list[LaneWalked]:
    """Return the comparison for each planned lane whose searcher has a track.

    Parameters
    ----------
    lanes : sequence of (searcher, line)
        Planned lines in plan, (k, 2), m.
    walks, phases : mapping
        By searcher.
    terrain : Plane or GridSnow
        The snow.
    """
    found = []
    for who, line in lanes:
        walk = walks.get(who)
        if walk is None or len(line) < 2:
            continue
        signal = [p for p in phases.get(who, ()) if p.phase == "signal"]
        inside = np.zeros(walk.t_s.size, dtype=bool)
        for phase in signal:
            inside |= (walk.t_s >= phase.start_s) & (walk.t_s <= phase.end_s)
        inside &= walk.known & ~walk.still
        off = _distances_m(terrain.to_snow(walk.position_m[inside]), terrain.to_snow(line))
        found.append(
            LaneWalked(
                searcher=who,
                planned_m=terrain.length_m(line),
                walked_m=sum(p.length_m or 0.0 for p in signal),
                off_lane_m=float(np.median(off)) if off.size else None,
            )
        )
    return found


def _distances_m(places: Floats, line: Floats) -> Floats:
    start, leg = line[:-1], np.diff(line, axis=0)
    square = np.maximum(np.sum(leg**2, axis=1), 1e-12)
    walk = np.clip(np.einsum("plc,lc->pl", places[:, None] - start[None], leg) / square, 0.0, 1.0)
    gap = places[:, None] - (start[None] + walk[..., None] * leg[None])
    return np.asarray(np.linalg.norm(gap, axis=-1).min(axis=1)) if len(places) else np.zeros(0)
