"""How a person and a group improve from run to run, corrected for the difficulty of the drills."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import exp, sqrt

import numpy as np

from coldfield.coaching.learn import DAY, EIGHT_OF_TEN, Learned, Seen

LEAST_RUNS = 4
"""With fewer runs no trend is shown. Setting."""

BEYOND = 2.0
"""A trend counts beyond this number of standard errors. Common practice."""

MOST_AWAY = 2.5
"""One interval is limited to this number of its deviations, so that a lost glove has little effect."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RunPace:
    """One run of a person or the group: it took `times` as long as rehearsals with the settings predict.

    The band from `low` to `high` holds eight of ten; it comes from `pieces` intervals.
    """

    run: str
    times: float
    low: float
    high: float
    pieces: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Trend:
    """The factor by which runs change in 30 days, and the band that holds eight of ten."""

    times_in_30_days: float
    low: float
    high: float


def paces(learned: Learned, person: str | None) -> list[RunPace]:
    """Return how each run went, in the order of the runs; for a person, from the intervals that they ended.

    Notes
    -----
    This is the mean of the logarithms of recorded over predicted seconds, each weighted by its uncertainty.
    All intervals of a run share the day, so the day's deviation is added once.
    """
    by_run: dict[str, list[Seen]] = {}
    for one in learned.seen:
        if one.interval.ended and (person is None or one.person == person):
            by_run.setdefault(one.run.id, []).append(one)
    return [_pace(run, told) for run, told in by_run.items()]


def _pace(run: str, told: Sequence[Seen]) -> RunPace:
    spread = np.array([one.spread for one in told])
    away = np.array([one.value for one in told])
    away = np.clip(away, -MOST_AWAY * spread, MOST_AWAY * spread)
    weight = spread**-2
    middle = float(np.average(away, weights=weight))
    half = EIGHT_OF_TEN * sqrt(1.0 / float(weight.sum()) + DAY**2)
    return RunPace(
        run=run, times=exp(middle), low=exp(middle - half), high=exp(middle + half), pieces=len(told)
    )


def trend(told: Sequence[RunPace], days: Mapping[str, float]) -> Trend | None:
    """Return the trend over days, or None if it does not exceed its uncertainty.

    Parameters
    ----------
    told : sequence of RunPace
        Runs of one person or the group.
    days : mapping of str to float
        When each run was held, in days.

    Notes
    -----
    A straight line through the logarithms, weighted by their uncertainty. Its error is the larger one of that
    from the runs' uncertainties and that from their scatter about the line.
    """
    x = np.array([days[one.run] for one in told])
    if len(told) < LEAST_RUNS or np.ptp(x) <= 0.0:
        return None
    y = np.log([one.times for one in told])
    spread = np.log([one.high / one.times for one in told]) / EIGHT_OF_TEN
    weight = spread**-2
    x = x - np.average(x, weights=weight)
    sum_xx = float((weight * x**2).sum())
    slope = float((weight * x * y).sum()) / sum_xx
    left = y - np.average(y, weights=weight) - slope * x
    scatter = float((weight * left**2).sum()) / (len(told) - 2)
    error = sqrt(max(scatter, 1.0) / sum_xx)
    if abs(slope) <= BEYOND * error:
        return None
    half = EIGHT_OF_TEN * error
    return Trend(
        times_in_30_days=exp(30.0 * slope), low=exp(30.0 * (slope - half)), high=exp(30.0 * (slope + half))
    )
