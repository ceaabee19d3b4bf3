"""The phases of a run, person by person: from tracks until a reading of 3 m, from splits below."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from coldfield.debrief.along import Along
from coldfield.debrief.chase import Chase
from coldfield.debrief.clock import RunSplits
from coldfield.debrief.phase import Phase, timed_phase
from coldfield.debrief.snow import Snow
from coldfield.debrief.split_phases import split_phases
from coldfield.debrief.stretches import joined, runs

Floats = NDArray[np.float64]


APART_S, LEAST_S = 10, 5
"""Signal search with breaks of up to this is one, and a piece of less is none. Settings."""


def phases_of(
    searcher: str,
    along: Along | None,
    chases: Sequence[Chase],
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
    along : Along, optional
        Their track; without it only what the splits tell.
    chases : sequence of Chase
        Theirs, in order of time.
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
    for chase in chases:
        assert along is not None
        turn, fine = chase.turn, chase.fine
        phases.append(
            _walked(
                along,
                terrain,
                chase.burial,
                "signal",
                since,
                turn.t_s,
                max(turn.uncertainty_s, since_uncertainty),
            )
        )
        coarse = _walked(
            along,
            terrain,
            chase.burial,
            "coarse",
            turn.t_s,
            fine.t_s,
            max(turn.uncertainty_s, fine.uncertainty_s),
        )
        speed = chase.walked_m / (fine.t_s - turn.t_s) if fine.t_s > turn.t_s else None
        phases.append(
            Phase(
                burial=chase.burial,
                phase="coarse",
                start_s=coarse.start_s,
                end_s=coarse.end_s,
                border_uncertainty_s=coarse.border_uncertainty_s,
                length_m=chase.walked_m,
                speed_m_s=speed,
                flux_line_ratio=chase.ratio,
            )
        )
        below = _from_splits(searcher, chase, splits)
        phases += below
        since, since_uncertainty = (
            max([chase.end_s, fine.t_s, *(p.end_s for p in below if p.phase != "dig")]),
            2.0,
        )
    chased = {chase.burial for chase in chases}
    by_splits = split_phases(searcher, splits, from_alarm=from_alarm)
    if along is not None:  # its signal search stands in the track, its ways to burials in the chases
        by_splits = [one for one in by_splits if one.phase in ("probe", "dig") and one.burial not in chased]
    phases += by_splits
    if along is not None and searching is not None:
        pieces = runs(searching & (along.t_s > (since if chases else -1.0)))
        for first, last in joined(pieces, apart=APART_S, least=LEAST_S):
            rest = _walked(
                along, terrain, None, "signal", float(along.t_s[first]), float(along.t_s[last]), 2.0
            )
            if not chases or (rest.length_m or 0.0) > 20.0:
                phases.append(rest)
    return tuple(sorted(phases, key=lambda p: (p.start_s, p.end_s)))


def _walked(
    along: Along,
    terrain: Snow,
    burial: str | None,
    phase: str,
    start_s: float,
    end_s: float,
    uncertainty_s: float,
) -> Phase:
    length = length_between_m(along, terrain, start_s, end_s)
    return Phase(
        burial=burial,
        phase=phase,
        start_s=start_s,
        end_s=max(end_s, start_s),
        border_uncertainty_s=uncertainty_s,
        length_m=length,
        speed_m_s=length / (end_s - start_s) if end_s > start_s else None,
    )


def length_between_m(along: Along, terrain: Snow, start_s: float, end_s: float) -> float:
    """Return the length walked on the snow between two moments, standing taken out, m."""
    inside = (along.t_s >= start_s) & (along.t_s <= end_s) & along.known
    if inside.sum() < 2:
        return 0.0
    place = terrain.to_snow(along.position_m[inside])
    still = along.still[inside]
    step = np.linalg.norm(np.diff(place, axis=0), axis=1)
    return float(step[~(still[1:] & still[:-1])].sum())


def _from_splits(searcher: str, chase: Chase, splits: RunSplits) -> list[Phase]:
    """Fine, probe and dig of the one who came to a burial, as far as the splits tell."""
    lowest = _mine(splits, "lowest_reading", chase.burial, searcher)
    strike = _mine(splits, "probe_strike", chase.burial, searcher)
    phases = []
    if lowest is not None:
        start = min(chase.fine.t_s, lowest)
        doubt = max(chase.fine.uncertainty_s, chase.fine.t_s - lowest)
        phases.append(timed_phase(chase.burial, "fine", start, lowest, doubt))
    if lowest is not None and strike is not None and strike >= lowest:
        phases.append(timed_phase(chase.burial, "probe", lowest, strike, 0.0))
    clear = splits.first("airway_clear", burial=chase.burial)
    if strike is not None and clear is not None and clear >= strike:
        phases.append(timed_phase(chase.burial, "dig", strike, clear, 0.0))
    return phases


def _mine(splits: RunSplits, kind: str, burial: str, searcher: str) -> float | None:
    """The first such split of a burial, unless it names somebody else."""
    who = splits.who(kind, burial)
    return splits.first(kind, burial=burial) if who in (None, searcher) else None


def idle_of(
    along: Along, busy: Sequence[tuple[float, float]], *, start_s: float, end_s: float
) -> list[tuple[float, float]]:
    """Return stretches of standing of at least 30 s between two moments, outside `busy` stretches, s."""
    free = along.still & (along.t_s >= start_s) & (along.t_s <= end_s)
    for first, last in busy:
        free &= (along.t_s < first) | (along.t_s > last)
    edges = np.flatnonzero(np.diff(np.concatenate([[False], free, [False]]).astype(np.int8))).reshape(-1, 2)
    return [(float(along.t_s[a]), float(along.t_s[b - 1])) for a, b in edges if b - a >= 30]
