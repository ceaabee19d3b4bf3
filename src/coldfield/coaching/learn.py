"""A group's own constants, from its runs: person within group within skill, runs within their day.

Everything is on the logarithm (of a share: the logit) of the constants, as shifts from the table's middles:
one of the group, one of each person from the group, and one slowness of each day. What the table says of
skills and how they spread is what is believed before any run; what the drill made hard is taken out by its
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
"""Constants of digging: many hands share it, so runs tell them of a group, not of a person."""

GROUPS_DIFFER = 0.75
"""Groups differ by so much of the variance between people, beside how unsure the table is. Setting, by made
groups."""

DAY = 0.15
"""Deviation of the logarithm by which a day makes everything slower or quicker. Setting."""

SLOWER = np.array([-line.quick if line.name.endswith("_s") else 0.0 for line in CONSTANTS], dtype=np.float64)
"""How a slow day moves each constant, (n,): times are longer, speeds and rates smaller, the rest stays."""

OF_THE_HOLE = ("width_m", "length_flat", "bulk")
"""Constants of the hole: only with the rate of a digger do they make up the seconds. What is unsure of them
is taken into that rate, which so stands for the pace of digging."""

WIDER, STRAIGHT = 1.1, 0.15
"""Another group's runs scatter more than the table's, and a straight line in the logarithm leaves something
out: scale of the rehearsed spread, and a deviation of the logarithm added. Settings, by made groups."""

LEARNED = 0.8
"""A constant is learned once its doubt is below this share of what it was before any run. Setting."""

TELLS = 0.05
"""A run tells of a constant where the interval's logarithm moves by so much of the constant's. Setting."""

EIGHT_OF_TEN = 1.2815515655446004
"""So many deviations of a normal distribution hold eight of ten."""

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False, kw_only=True)
class Seen:
    """One interval of one run, as the fit sees it; `own` is its row of slopes, `spread` its deviation."""

    run: TimedRun
    interval: Interval
    predicted: Predicted
    value: float
    spread: float

    @property
    def person(self) -> str | None:
        """Who ended the interval, where that is told."""
        return _person(self.run, self.interval)


@dataclass(frozen=True, slots=True, kw_only=True)
class Outlier:
    """An interval that weighs little: `times` as long as the group's own figures let expect."""

    run: str
    run_name: str
    interval: Interval
    times: float


@dataclass(frozen=True, eq=False, kw_only=True)
class Learned:
    """What is believed of a group after its runs.

    Attributes
    ----------
    people : tuple of str
        Persons, in the order in which their effects stand.
    fitted : Fit
        Shifts: the group's (n,), then each person's (n,), then each day's.
    prior : ndarray, shape (m,)
        Deviation of each effect before any run.
    runs_of : mapping
        Runs that tell of a constant, by person (None: the group) and by its name.
    seen : tuple of Seen
        The intervals, and with `away` (n,) how far each lies from what is believed now (logarithm).
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
        """Return where a person's own effects stand, (n,); of None or somebody unknown the group's."""
        n = len(CONSTANTS)
        k = 0 if person not in self.people else 1 + self.people.index(str(person))
        return np.arange(k * n, (k + 1) * n)

    def shift(self, person: str | None) -> tuple[Floats, Floats, Floats]:
        """Return the shifts of a person (None: the group): middle, deviation, deviation before any run."""
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
        """Return which constants the runs tell of, (n,)."""
        _, spread, before = self.shift(person)
        told = np.array([self.runs_of.get((person, name), 0) > 0 for name in NAMES])
        return told & (spread < LEARNED * before)

    @property
    def told_enough(self) -> bool:
        """Whether the runs tell of anything at all."""
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
        Gives the rehearsals of a run's drill.
    people : sequence of str
        Persons to tell of, besides those of the runs.
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
    """Return what it adds to the variance that nobody is told: they are anybody of the group."""
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
    """Return what is believed before any run, (m, m): no effect, with these variances.

    The group's: how unsure the table's middle is (evenly within its factor: a third of its squared
    logarithm), and three quarters of the variance between people; of digging also that of the few people who
    do it, and of the hole. A person's: the table's spread between people, of which a share is one quickness
    in all.
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
