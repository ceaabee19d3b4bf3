"""How wide to search: edge width, sweep width, and the chance of hearing at any width."""

from __future__ import annotations

from dataclasses import dataclass
from math import floor

import numpy as np

from coldfield.beacon.receiver import FARTHEST_M
from coldfield.drill import Drill, Receiver, Transmitter
from coldfield.errors import OutOfModel
from coldfield.message import message, number
from coldfield.search.width.lateral_range import (
    REPLICATES,
    SAMPLES,
    LateralCurve,
    Pair,
    burial_samples,
    heard_share,
    heard_table,
)

POD = 0.98
"""Wanted chance of hearing a set at the worst place between two lanes. Setting."""

GRID = 65
"""Number of distances, from the lane to the range on the axis, at which the chance is tabulated."""

LEAST_WALKED_M = 5.0
"""Widths below it are walked as they are. Setting."""


def edge_width_m(pair: Pair, *, pod: float = POD, samples: int = SAMPLES) -> float:
    """Return the widest spacing of lanes at which every place between them has the wanted chance.

    Parameters
    ----------
    pair : Pair
        Receiver, transmitter and the day's noise.
    pod : float
        Wanted probability, over isotropic directions, lognormal depths and random pulse phases,
        that the nearest passing searcher hears a set; above 0, at most 0.9999.
    samples : int
        Number of burials from which the chance is computed.

    Returns
    -------
    float
        Twice the first distance at which the chance falls below `pod`, m; 0 if it does so on the
        lane itself.

    Raises
    ------
    OutOfModel
        If `pod` is outside its range, or the pair's range outside 0.1 to 200 m.

    Notes
    -----
    See `coldfield.search.width.lateral_range.heard_table` for the walk. The standard error of the
    chance is about 2e-4, so the width is known to a few centimetres.
    """
    if not 0.0 < pod <= 0.9999:
        raise OutOfModel(message("fault.wanted_chance"))
    burials = burial_samples(pair, samples)
    distance = np.linspace(0.0, pair.coaxial_range_m(), GRID)
    coarse = heard_table(pair, distance, burial_samples(pair, max(samples // 8, 1024))).mean(axis=0)
    # The coarse table only shows where to look; each candidate is computed from all samples.
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


def sweep_width_m(curve: LateralCurve) -> float:
    """Return the sweep width of search theory, m: the area under the lateral range curve, both sides.

    It is 2 E[L], where L is the distance up to which a burial is heard. It is a figure of theory
    and never a spacing to search at: with that spacing a set is seldom heard at many of the places.

    References
    ----------
    .. [1] B. O. Koopman, *Search and Screening*, OEG Report 56, 1946, ch. 2 (from memory).
    """
    return float(2.0 * np.trapezoid(curve.probability, curve.distance_m))


def sweep_width_error_m(curve: LateralCurve) -> float:
    """Return the standard error of a sweep width from the finite number of burials, m."""
    blocks = curve.reach_m.reshape(REPLICATES, -1).mean(axis=1)
    return float(2.0 * blocks.std(ddof=1) / np.sqrt(REPLICATES))


@dataclass(frozen=True, slots=True, kw_only=True)
class WidthChance:
    """The chance of hearing for a spacing of lanes: at the worst place between them, and on average."""

    width_m: float
    worst_point_probability: float
    mean_probability: float


def chance_at_width(pair: Pair, width_m: float, curve: LateralCurve) -> WidthChance:
    """Return the chances that the nearest passing searcher hears a set, for one spacing of lanes.

    Raises
    ------
    OutOfModel
        If the width is not above 0 or above 400 m.
    """
    if not 0.0 < width_m <= 2.0 * FARTHEST_M:
        raise OutOfModel(message("fault.strip_width_range", most=number(2.0 * FARTHEST_M, 0)))
    half = 0.5 * width_m
    at_half = heard_share(pair, half, burial_samples(pair))[0]
    inside = curve.distance_m < half
    distance = np.append(curve.distance_m[inside], half)
    chance = np.append(curve.probability[inside], at_half)
    if half > curve.distance_m[-1]:  # silence from the range on
        distance, chance = np.append(distance, half), np.append(chance, 0.0)
    return WidthChance(
        width_m=width_m,
        worst_point_probability=float(chance.min()),
        mean_probability=float(min(np.trapezoid(chance, distance) / half, 1.0)),
    )


def chances_by_width(curve: LateralCurve) -> tuple[WidthChance, ...]:
    """Return the chances at twice each distance of a lateral range curve: how they fall with the width.

    They use the curve's own samples with linear interpolation; standard errors are at most 0.001.
    """
    distance, chance = curve.distance_m[1:], curve.probability
    pieces = 0.5 * (chance[1:] + chance[:-1]) * np.diff(curve.distance_m)
    mean = np.minimum(np.cumsum(pieces) / distance, 1.0)
    worst = np.minimum.accumulate(chance)[1:]
    return tuple(
        WidthChance(width_m=2.0 * float(d), worst_point_probability=float(w), mean_probability=float(m))
        for d, w, m in zip(distance, worst, mean, strict=True)
    )


def edge_width_error_m(pair: Pair, width_m: float) -> float:
    """Return the standard error of an edge width from the finite number of burials, m."""
    burials, step = burial_samples(pair), 0.02 * pair.coaxial_range_m()
    low = max(0.5 * width_m - step, 0.0)
    high = low + 2.0 * step
    slope = (heard_share(pair, low, burials)[0] - heard_share(pair, high, burials)[0]) / (high - low)
    error = heard_share(pair, 0.5 * width_m, burials)[1]
    return float(2.0 * error / slope) if slope > 0.0 else 0.0


def meier_estimate_m(range_max_m: float, range_sd_m: float = 0.0) -> float:
    """Return Meier's estimate of the strip width of sets with three antennas, m.

    1.26 (r_max - 2 sigma), from the mean and the scatter of the greatest ranges in the coaxial
    position.

    Raises
    ------
    OutOfModel
        If a figure is negative, or if the scatter is so large that no range is left.

    References
    ----------
    .. [1] Formula quoted in Schreilechner, Eck & Schober, ISSW 2009 (text seen); its coefficients
       for one and two antennas were not seen.

    Examples
    --------
    >>> round(meier_estimate_m(45.0, 3.0), 1)
    49.1
    """
    if not (range_max_m > 0.0 and range_sd_m >= 0.0 and range_max_m > 2.0 * range_sd_m):
        raise OutOfModel(message("fault.range_and_scatter"))
    return 1.26 * (range_max_m - 2.0 * range_sd_m)


def group_pairs(
    drill: Drill, *, receiver: Receiver | None = None, transmitter: Transmitter | None = None
) -> list[Pair]:
    """Return every distinct pair of a receiver and a transmitter of a drill, today's noise included.

    A receiver or transmitter given here replaces the drill's.

    Raises
    ------
    OutOfModel
        If nobody searches or no burial has a set.
    """
    buried = [b.transmitter for b in drill.burials if b.transmitter is not None]
    senders = {(t.field_at_10m_a_per_m, t.period_s): t for t in ([transmitter] if transmitter else buried)}
    hearers = {r: r for r in ([receiver] if receiver else [s.receiver for s in drill.searchers])}
    if not senders or not hearers:
        raise OutOfModel(message("fault.width_needs_pair"))
    return [
        Pair(receiver=r, transmitter=t, noise_rise_db=drill.conditions.noise_rise_db)
        for r in hearers
        for t in senders.values()
    ]


def weakest_of(pairs: list[Pair], pod: float = POD) -> tuple[Pair, float]:
    """Return the pair with the least edge width, and that width, m.

    All pairs are first compared with few samples; the two lowest are then compared in full. Among
    pairs without any width, the one with the shortest range counts.
    """
    if len(pairs) > 1:
        rough = [(edge_width_m(p, pod=pod, samples=2048), p.coaxial_range_m()) for p in pairs]
        order = sorted(range(len(pairs)), key=lambda k: rough[k])
        pairs = [pairs[k] for k in order[:2]]
    widths = [(edge_width_m(pair, pod=pod), pair.coaxial_range_m()) for pair in pairs]
    weakest = min(range(len(pairs)), key=lambda k: widths[k])
    return pairs[weakest], widths[weakest][0]


def walked_width_m(width_m: float) -> float:
    """Return a width as it is walked, m: nobody paces out decimetres, and none is wider than worked out."""
    return float(floor(width_m)) if width_m >= LEAST_WALKED_M else width_m


def group_strip_width_m(drill: Drill) -> float:
    """Return the strip width of a group that has chosen none, m: the edge width of its weakest pair, walked.

    Today's noise is included.

    Raises
    ------
    OutOfModel
        If nobody searches, if no burial has a set, or if the weakest pair does not reach the wanted
        chance even on the lane itself.
    """
    pair, width = weakest_of(group_pairs(drill))
    if width <= 0.0:
        reach = number(pair.coaxial_range_m(), 1)
        raise OutOfModel(message("fault.no_width_reaches", range=reach, pod=number(POD)))
    return walked_width_m(width)
