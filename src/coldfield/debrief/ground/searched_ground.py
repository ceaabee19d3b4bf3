"""The ground that the people of a run swept, and where it is in doubt whether they still searched."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from coldfield.debrief.approach.approach import Approach
from coldfield.debrief.approach.heard_walk import HeardWalk
from coldfield.debrief.clocks.align import Aligned
from coldfield.debrief.ground.sweep import Swept, swept_ground
from coldfield.debrief.phases.from_tracks import length_between_m
from coldfield.debrief.snow import Snow
from coldfield.debrief.stretches import runs
from coldfield.drill.drill import Drill

Floats = NDArray[np.float64]

END_S = 20.0
"""When somebody stops searching to help is known to about so much. Setting."""


def swept_by_all(
    drill: Drill,
    aligned: Aligned,
    walks: Mapping[str, HeardWalk],
    approaches: Mapping[str, Sequence[Approach]],
    search: Mapping[str, NDArray[np.bool_]],
    terrain: Snow,
    strip_width_m: float | None,
    heard_all_s: float | None = None,
) -> Swept | None:
    """Return the ground swept in signal search; None without a width or a track.

    Parameters
    ----------
    drill, aligned
        The run.
    walks, approaches, search : mapping
        By searcher: the track, their ways to burials, and which seconds were signal search.
    terrain : Plane or GridSnow
        The snow.
    strip_width_m : float, optional
        The width in force.
    heard_all_s : float, optional
        The last first signal, where every set was heard: ground that the search had not come to by then was
        not needed any more.
    """
    if strip_width_m is None or not walks:
        return None
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
    accuracy = {who: aligned.tracks[who].accuracy_m for who in walks}
    loose = {
        who: _loose_m(walk, approaches[who], search[who], terrain, clock_s=aligned.splits.uncertainty_s)
        for who, walk in walks.items()
    }
    return swept_ground(
        drill.site,
        paths,
        terrain,
        strip_width_m=strip_width_m,
        accuracy_m=accuracy,
        loose_m=loose,
        before_m=before,
        more_paths_m={who: _perhaps(walk, approaches[who], search[who]) for who, walk in walks.items()},
    )


def _perhaps(walk: HeardWalk, approaches: Sequence[Approach], search: NDArray[np.bool_]) -> list[Floats]:
    """Walked pieces of which it is in doubt whether somebody searched: after turns, in gaps, at the end."""
    spans = [(c.turn.t_s, c.turn.t_s + c.turn.uncertainty_s) for c in approaches]
    if not spans:
        spans = [(walk.t_s[last], walk.t_s[last] + END_S) for _, last in runs(search)[-1:]]
    pieces = [walk.position_m[(walk.t_s >= a) & (walk.t_s <= b) & walk.known] for a, b in spans]
    known = np.flatnonzero(walk.known)
    holes = np.flatnonzero((np.diff(known) > 1) & (search[known[:-1]] | search[known[1:]]))
    pieces += [walk.position_m[known[[i, i + 1]]] for i in holes]
    return [piece for piece in pieces if len(piece)]


def _loose_m(
    walk: HeardWalk,
    approaches: Sequence[Approach],
    search: NDArray[np.bool_],
    terrain: Snow,
    *,
    clock_s: float,
) -> float:
    """Length walked while it is in doubt whether somebody searched: at the start, about turns, at the end."""
    spans = [(c.turn.t_s - c.turn.uncertainty_s, c.turn.t_s + c.turn.uncertainty_s) for c in approaches]
    if not spans:
        spans = [(walk.t_s[last] - END_S, walk.t_s[last] + END_S) for _, last in runs(search)[-1:]]
    start_m = length_between_m(walk, terrain, 0.0, clock_s)
    return start_m + sum(length_between_m(walk, terrain, a, b) / 2.0 for a, b in spans)
