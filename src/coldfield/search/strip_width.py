"""How wide to search: edge width, sweep width, and the chance of hearing at any width."""

from __future__ import annotations

import numpy as np

from coldfield.drill import Drill
from coldfield.errors import OutOfModel
from coldfield.search.lateral_range import SAMPLES, Pair, burial_samples, heard_share, heard_table

POD = 0.98
"""Wanted chance of hearing at the worst place between two lanes. Setting."""

GRID = 65
"""Distances, from the lane to the range on the axis, at which the chance is tabled."""


def edge_width_m(pair: Pair, *, pod: float = POD, samples: int = SAMPLES) -> float:
    """Return the widest spacing of lanes at which no place between them is below the wanted chance.

    Parameters
    ----------
    pair : Pair
        Receiver, transmitter and day.
    pod : float
        Wanted probability, over isotropic directions, lognormal depths and random pulse phases,
        that the nearest passing searcher hears a set; above 0, at most 0.9999.
    samples : int
        Number of burials the chance is computed from.

    Returns
    -------
    float
        Twice the first distance at which the chance falls below `pod`, m; 0 where it does so on the
        lane itself.

    Raises
    ------
    OutOfModel
        If `pod` is outside its range, or the pair's range outside 0.1 to 200 m.

    Notes
    -----
    See `coldfield.search.lateral_range.heard_table` for the walk. The chance is known to about
    2e-4 (standard error), the width then to a few centimetres.
    """
    if not 0.0 < pod <= 0.9999:
        raise OutOfModel("the wanted probability must be above 0 and at most 0.9999")
    burials = burial_samples(pair, samples)
    distance = np.linspace(0.0, pair.coaxial_range_m(), GRID)
    coarse = heard_table(pair, distance, burial_samples(pair, max(samples // 8, 1024))).mean(axis=0)
    # The coarse table only says where to look; each candidate is judged on all samples.
    start = max(int(np.argmax(coarse < min(pod + 0.01, 1.0))) - 1, 0)
    for index in range(start, GRID):
        if heard_share(pair, distance[index], burials)[0] < pod:
            break
    if index == 0:
        return 0.0
    low, high = distance[index - 1], distance[index]
    while high - low > 1e-4:
        middle = 0.5 * (low + high)
        low, high = (middle, high) if heard_share(pair, middle, burials)[0] >= pod else (low, middle)
    return float(low + high)


def group_pairs(drill: Drill) -> list[Pair]:
    """Return every distinct pair of a receiver and a transmitter of a drill, today's noise included.

    Raises
    ------
    OutOfModel
        If nobody searches or no burial has a set.
    """
    transmitters = {
        (b.transmitter.field_at_10m_a_per_m, b.transmitter.period_s): b.transmitter
        for b in drill.burials
        if b.transmitter is not None
    }
    receivers = {s.receiver: s.receiver for s in drill.searchers}
    if not transmitters or not receivers:
        raise OutOfModel("a strip width needs at least one searcher and one burial with a set")
    return [
        Pair(receiver=r, transmitter=t, noise_rise_db=drill.conditions.noise_rise_db)
        for r in receivers.values()
        for t in transmitters.values()
    ]


def weakest_pair(drill: Drill) -> tuple[Pair, float]:
    """Return the pair of a group with the least edge width, and that width, m.

    Judged on few samples first; the two that come out lowest are then compared in full.
    """
    pairs = group_pairs(drill)
    ranked = sorted(pairs, key=lambda pair: edge_width_m(pair, samples=2048))[:2]
    widths = [edge_width_m(pair) for pair in ranked]
    best = int(np.argmin(widths))
    return ranked[best], widths[best]


def group_edge_width_m(drill: Drill) -> float:
    """Return the edge width of a group's weakest pair of sets, today's noise included, m.

    Raises
    ------
    OutOfModel
        If nobody searches, no burial has a set, or the weakest pair does not reach the wanted
        chance even on the lane itself.
    """
    pair, width = weakest_pair(drill)
    if width <= 0.0:
        raise OutOfModel(
            f"with a range of {pair.coaxial_range_m():.1f} m no strip width reaches a chance of {POD}"
        )
    return width
