"""A group's own constants, from its runs: person within group within skill, runs within their day.

Everything is on the logarithm (for a share: the logit) of the constants, as shifts from the table's
medians: one for the group, one for each person relative to the group, and one slowness for each
day. The prior is the table of skills and their spreads. The difficulty of a drill is removed by its
own rehearsal. See docs/coaching.md for the size of each approximation.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from math import log, sqrt

import numpy as np
from numpy.typing import NDArray

from coldfield.coaching.difficulty import CONSTANTS, NAMES, Difficulty, Predicted, log_seconds
from coldfield.coaching.pooling import LITTLE, Fit, Told, fit
from coldfield.coaching.timed import Interval, TimedRun, intervals
from coldfield.drill.skills import SHARED, Constant
from coldfield.rescue.digging import UNSURE_DIGGING

OF_THE_GROUP = ("left_on_fraction", "shovel_ready_s", "dig_rate_kg_s", "start_far_fraction")
"""Constants of digging: many people share the work, so runs show them for a group, not for a person."""

GROUPS_DIFFER = 0.75
"""Variance between groups as a share of that between people, in addition to the table's
uncertainty. Setting, chosen with invented groups."""

DAY = 0.15
"""Standard deviation of the logarithm by which a day makes everything slower or faster. Setting."""

SLOWER = np.array([-line.quick if line.name.endswith("_s") else 0.0 for line in CONSTANTS], dtype=np.float64)
"""Effect of a slow day on each constant, (n,): times are longer, speeds and rates lower, others stay."""

OF_THE_HOLE = ("width_m", "length_flat", "bulk")
"""Constants of the hole. Seconds depend on them only together with the rate of a digger. Their
uncertainty is therefore added to that of the rate, which then represents the pace of digging."""

WIDER, STRAIGHT = 1.1, 0.15
"""A factor for the rehearsed spread, because real runs scatter more than the table's, and an added
deviation of the logarithm for what a straight line leaves out. Settings, chosen with invented
groups."""

LEARNED = 0.8
"""A constant is learned once its uncertainty is below this share of that before any run. Setting."""

TELLS = 0.05
"""Least slope for which an interval counts as information about a constant. Setting."""

EIGHT_OF_TEN = 1.2815515655446004
"""Standard deviations of a normal distribution that hold eight of ten."""

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False, kw_only=True)
class Seen:
    """One interval of one run for the fit; `own` is its row of slopes, `spread` its standard deviation."""

    run: TimedRun
    interval: Interval
    predicted: Predicted
    value: float
    spread: float

    @property
    def person(self) -> str | None:
        """Who ended the interval, if that is known."""
        return _person(self.run, self.interval)


@dataclass(frozen=True, slots=True, kw_only=True)
class Outlier:
    """An interval with little weight: `times` as long as expected from the group's own figures."""

    run: str
    run_name: str
    interval: Interval
    times: float


@dataclass(frozen=True, eq=False, kw_only=True)
class Learned:
    """What is known about a group after its runs.

    Attributes
    ----------
    people : tuple of str
        Persons, in the order of their effects.
    fitted : Fit
        Shifts: the group's (n,), then each person's (n,), then each day's.
    prior : ndarray, shape (m,)
        Standard deviation of each effect before any run.
    runs_of : mapping
        Number of runs with information about a constant, by person (None: the group) and by its name.
    seen : tuple of Seen
        The intervals; `away` (n,) is the distance of each from its fitted value (logarithm).
    """

    people: tuple[str, ...]
    runs: int
    fitted: Fit
    prior: Floats
    runs_of: Mapping[tuple[str | None, str], int]
    outliers: tuple[Outlier, ...]
    seen: tuple[Seen, ...]
    away: Floats

    def row(self, person: str | None) -> NDArray[np.intp]:
        """Return the indices of a person's effects, (n,); for None or unknown people, the group's."""
        n = len(CONSTANTS)
        k = 0 if person not in self.people else 1 + self.people.index(str(person))
        return np.arange(k * n, (k + 1) * n)

    def shift(self, person: str | None) -> tuple[Floats, Floats, Floats]:
        """Return the shifts of a person (None: the group): mean, deviation, deviation before any run."""
        group, own = self.row(None), self.row(person)
        alone = person not in self.people
        middle, spread, before = [], [], []
        for g, p in zip(group.tolist(), own.tolist(), strict=True):
            which = [g] if alone else [g, p]
            block = self.fitted.covariance[np.ix_(which, which)]
            middle.append(float(self.fitted.middle[which].sum()))
            spread.append(sqrt(max(float(block.sum()), 0.0)))
            before.append(float(np.sqrt((self.prior[which] ** 2).sum())))
        return np.array(middle), np.array(spread), np.array(before)

    def is_learned(self, person: str | None) -> NDArray[np.bool_]:
        """Return which constants have been learned, (n,)."""
        _, spread, before = self.shift(person)
        told = np.array([self.runs_of.get((person, name), 0) > 0 for name in NAMES])
        return told & (spread < LEARNED * before)

    @property
    def told_enough(self) -> bool:
        """Whether the runs show anything at all."""
        return bool(self.is_learned(None).any())


def learn(
    runs: Sequence[TimedRun], difficulty_of: Callable[[TimedRun], Difficulty], people: Sequence[str] = ()
) -> Learned:
    """Learn a group's constants from its runs.

    Parameters
    ----------
    runs : sequence of TimedRun
        In any order.
    difficulty_of : callable
        Returns the rehearsals of a run's drill.
    people : sequence of str
        Persons to include in addition to those in the runs.
    """
    known = tuple(dict.fromkeys([*people, *(one for run in runs for one in run.people.values())]))
    days = list(dict.fromkeys(run.day for run in runs))
    seen = [one for run in runs for one in _seen(run, difficulty_of(run))]
    told = Told(
        values=np.array([one.value for one in seen]),
        design=np.array([_row(one, known, days) for one in seen]).reshape(len(seen), _size(known, days)),
        spread=np.array([one.spread for one in seen]),
        ended=np.array([one.interval.ended for one in seen], dtype=bool),
    )
    most = max((len(run.drill.searchers) for run in runs), default=1)
    prior = prior_covariance(len(known), len(days), searchers=most)
    fitted = fit(told, prior)
    away = told.values - told.design @ fitted.middle
    return Learned(
        people=known,
        runs=len({one.run.id for one in seen}),
        fitted=fitted,
        prior=np.sqrt(np.diag(prior)),
        runs_of=_runs_of(seen),
        outliers=_outliers(seen, away, fitted),
        seen=tuple(seen),
        away=away,
    )


def _seen(run: TimedRun, hard: Difficulty) -> list[Seen]:
    found = []
    for interval in intervals(run):
        predicted = hard.of(interval)
        if predicted is None:
            continue
        pressed = interval.unsure_s / (interval.seconds + 2.0)
        nobody = 0.0 if _person(run, interval) is not None else _unnamed(predicted, run)
        found.append(
            Seen(
                run=run,
                interval=interval,
                predicted=predicted,
                value=log_seconds(interval.seconds) - predicted.middle,
                spread=sqrt((WIDER * predicted.spread) ** 2 + STRAIGHT**2 + pressed**2 + nobody),
            )
        )
    return found


def _person(run: TimedRun, interval: Interval) -> str | None:
    return run.people.get(interval.searcher) if interval.searcher is not None else None


def _unnamed(predicted: Predicted, run: TimedRun) -> float:
    """Return the extra variance if nobody is named: it may be anybody in the group."""
    own = np.array([0.0 if line.name in OF_THE_GROUP else line.spread.between for line in CONSTANTS])
    return float(((predicted.slopes * own) ** 2).sum())


def _size(people: Sequence[str], days: Sequence[str]) -> int:
    return len(CONSTANTS) * (1 + len(people)) + len(days)


def _row(one: Seen, people: Sequence[str], days: Sequence[str]) -> Floats:
    n, slopes = len(CONSTANTS), one.predicted.slopes
    row = np.zeros(_size(people, days))
    row[:n] = slopes
    who = _person(one.run, one.interval)
    if who is not None:
        own = np.array([line.name not in OF_THE_GROUP for line in CONSTANTS])
        k = 1 + people.index(who)
        row[k * n : (k + 1) * n] = np.where(own, slopes, 0.0)
    row[n * (1 + len(people)) + days.index(one.run.day)] = float(slopes @ SLOWER)
    return row


def prior_covariance(people: int, days: int, *, searchers: int = 4) -> Floats:
    """Return the covariance of the effects before any run, (m, m); their mean is zero.

    For the group: the uncertainty of the table's median (uniform within its factor: a third of its squared
    logarithm) and three quarters of the variance between people; for digging also that of the few people who
    do it, and of the hole. For a person: the table's spread between people, of which a share is one quickness
    common to all constants.
    """
    n = len(CONSTANTS)
    whole = np.zeros((n * (1 + people) + days,) * 2)
    whole[:n, :n] = np.diag([_group_variance(line, searchers) for line in CONSTANTS])
    between = np.array(
        [0.0 if line.name in OF_THE_GROUP else line.quick * line.spread.between for line in CONSTANTS]
    )
    block = SHARED * np.outer(between, between) + (1.0 - SHARED) * np.diag(between**2)
    for k in range(1, people + 1):
        whole[k * n : (k + 1) * n, k * n : (k + 1) * n] = block
    rest = np.arange(n * (1 + people), len(whole))
    whole[rest, rest] = DAY**2
    return whole


def _group_variance(line: Constant, searchers: int) -> float:
    variance = log(line.unsure) ** 2 / 3.0 + GROUPS_DIFFER * line.spread.between**2
    if line.name in OF_THE_GROUP:
        variance += line.spread.between**2 / searchers
    if line.name == "dig_rate_kg_s":
        variance += sum(log(UNSURE_DIGGING[name]) ** 2 / 3.0 for name in OF_THE_HOLE)
    return variance


def _runs_of(seen: Sequence[Seen]) -> dict[tuple[str | None, str], int]:
    told: dict[tuple[str | None, str], set[str]] = {}
    for one in seen:
        for name, slope in zip(NAMES, one.predicted.slopes.tolist(), strict=True):
            if abs(slope) < TELLS:
                continue
            told.setdefault((None, name), set()).add(one.run.id)
            who = _person(one.run, one.interval)
            if who is not None and name not in OF_THE_GROUP:
                told.setdefault((who, name), set()).add(one.run.id)
    return {key: len(runs) for key, runs in told.items()}


def _outliers(seen: Sequence[Seen], away: Floats, fitted: Fit) -> tuple[Outlier, ...]:
    return tuple(
        Outlier(run=one.run.id, run_name=one.run.name, interval=one.interval, times=float(np.exp(beyond)))
        for one, beyond, weight in zip(seen, away, fitted.weights, strict=True)
        if weight < LITTLE
    )
