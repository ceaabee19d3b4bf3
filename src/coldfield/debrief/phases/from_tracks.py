"""The phases of a run, person by person: from tracks down to a reading of 3 m, from splits below that."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from coldfield.debrief.approach.approach import Approach
from coldfield.debrief.approach.heard_walk import HeardWalk
from coldfield.debrief.clocks.run_splits import RunSplits
from coldfield.debrief.phases.from_splits import split_phases
from coldfield.debrief.phases.phase import Phase, timed_phase
from coldfield.debrief.snow import Snow
from coldfield.debrief.stretches import joined, runs

Floats = NDArray[np.float64]


APART_S, LEAST_S = 10, 5
"""Shorter breaks of signal search are closed, and shorter pieces are removed, s. Settings."""


def phases_of(
    searcher: str,
    walk: HeardWalk | None,
    approaches: Sequence[Approach],
    splits: RunSplits,
    terrain: Snow,
    *,
    searching: NDArray[np.bool_] | None,
    from_alarm: bool = True,
) -> tuple[Phase, ...]:
    """Return a searcher's phases in order of time.

    Parameters
    ----------
    searcher : str
        Their id.
    walk : HeardWalk, optional
        Their track; without it only the splits are used.
    approaches : sequence of Approach
        Their approaches, in order of time.
    splits : RunSplits
        All splits of the run.
    terrain : Plane or GridSnow
        The snow.
    searching : ndarray of bool, shape (n,), optional
        Which seconds of their track were signal search.
    from_alarm : bool
        Whether the run counts from its alarm.
    """
    phases: list[Phase] = []
    since, since_uncertainty = 0.0, 0.0
    for approach in approaches:
        assert walk is not None
        turn, fine = approach.turn, approach.fine
        phases.append(
            _walked(
                walk,
                terrain,
                approach.burial,
                "signal",
                since,
                turn.t_s,
                max(turn.uncertainty_s, since_uncertainty),
            )
        )
        phases.append(_coarse(walk, terrain, approach))
        below = _from_splits(searcher, approach, splits)
        phases += below
        since, since_uncertainty = (
            max([approach.end_s, fine.t_s, *(p.end_s for p in below if p.phase != "dig")]),
            2.0,
        )
    chased = {approach.burial for approach in approaches}
    by_splits = split_phases(searcher, splits, from_alarm=from_alarm)
    if walk is not None:  # the track gives the signal search, the approaches give the rest
        by_splits = [one for one in by_splits if one.phase in ("probe", "dig") and one.burial not in chased]
    phases += by_splits
    if walk is not None and searching is not None:
        pieces = runs(searching & (walk.t_s > (since if approaches else -1.0)))
        for first, last in joined(pieces, apart=APART_S, least=LEAST_S):
            rest = _walked(walk, terrain, None, "signal", float(walk.t_s[first]), float(walk.t_s[last]), 2.0)
            if not approaches or (rest.length_m or 0.0) > 20.0:
                phases.append(rest)
    return tuple(sorted(phases, key=lambda p: (p.start_s, p.end_s)))


def _coarse(walk: HeardWalk, terrain: Snow, approach: Approach) -> Phase:
    """Return the coarse search of an approach, with the length of the walked line."""
    turn, fine = approach.turn, approach.fine
    doubt_s = max(turn.uncertainty_s, fine.uncertainty_s)
    coarse = _walked(walk, terrain, approach.burial, "coarse", turn.t_s, fine.t_s, doubt_s)
    seconds = fine.t_s - turn.t_s
    return replace(
        coarse,
        length_m=approach.walked_m,
        speed_m_s=approach.walked_m / seconds if seconds > 0.0 else None,
        flux_line_ratio=approach.ratio,
    )


def _walked(
    walk: HeardWalk,
    terrain: Snow,
    burial: str | None,
    phase: str,
    start_s: float,
    end_s: float,
    uncertainty_s: float,
) -> Phase:
    length = length_between_m(walk, terrain, start_s, end_s)
    return Phase(
        burial=burial,
        phase=phase,
        start_s=start_s,
        end_s=max(end_s, start_s),
        border_uncertainty_s=uncertainty_s,
        length_m=length,
        speed_m_s=length / (end_s - start_s) if end_s > start_s else None,
    )


def length_between_m(walk: HeardWalk, terrain: Snow, start_s: float, end_s: float) -> float:
    """Return the length walked on the snow between two moments, without standing, m."""
    inside = (walk.t_s >= start_s) & (walk.t_s <= end_s) & walk.known
    if inside.sum() < 2:
        return 0.0
    place = terrain.to_snow(walk.position_m[inside])
    still = walk.still[inside]
    step = np.linalg.norm(np.diff(place, axis=0), axis=1)
    return float(step[~(still[1:] & still[:-1])].sum())


def _from_splits(searcher: str, approach: Approach, splits: RunSplits) -> list[Phase]:
    """Return fine search, probing and digging of the person at a burial, as far as the splits give them."""
    lowest = _mine(splits, "lowest_reading", approach.burial, searcher)
    strike = _mine(splits, "probe_strike", approach.burial, searcher)
    phases = []
    if lowest is not None:
        start = min(approach.fine.t_s, lowest)
        doubt = max(approach.fine.uncertainty_s, approach.fine.t_s - lowest)
        phases.append(timed_phase(approach.burial, "fine", start, lowest, doubt))
    if lowest is not None and strike is not None and strike >= lowest:
        phases.append(timed_phase(approach.burial, "probe", lowest, strike, 0.0))
    clear = splits.first("airway_clear", burial=approach.burial)
    if strike is not None and clear is not None and clear >= strike:
        phases.append(timed_phase(approach.burial, "dig", strike, clear, 0.0))
    return phases


def _mine(splits: RunSplits, kind: str, burial: str, searcher: str) -> float | None:
    """Return the first such split of a burial, unless it names somebody else."""
    who = splits.who(kind, burial)
    return splits.first(kind, burial=burial) if who in (None, searcher) else None
