"""How hard a drill is: the time of each interval for people of its skills, and the effect of each constant.

The drill as it was buried is rehearsed with everybody at the median of their skill, and once more with each
constant a little larger and the same draws. Any difference of a real run from that is due to the group.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial
from math import log
from typing import Any

import numpy as np
from numpy.typing import NDArray

from coldfield.coaching.pooling import centre
from coldfield.coaching.timed import ALARM, Interval
from coldfield.drill import Drill, Skill
from coldfield.drill.skills import TABLE, Constant, Spread
from coldfield.rescue.rehearsal import Rehearsal, Scene, prepared_again, rehearse

CONSTANTS: tuple[Constant, ...] = tuple(line for line in TABLE if line.kind != "count")
"""The constants that can be learned from runs: all constants of a skill that have a spread."""

NAMES: tuple[str, ...] = tuple(line.name for line in CONSTANTS)

STEP = 0.2
"""Step of the logarithm (for a share: the logit) of a constant to find its effect. Setting."""

SOFT_S = 2.0
"""Added to every interval before taking its logarithm, because a pressed button is not exact, s. Setting."""

BY_CHANCE = 2.5
"""A change within this number of standard errors of zero counts as zero. Setting."""

LEAST_RUNS = 40
"""Number of rehearsals with the same finder needed to use only those; with fewer, all are used."""

LEAST_SPREAD = 0.08
"""No interval is predicted better than this (standard deviation of the logarithm). Setting."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Predicted:
    """One interval of a drill: the centre and scale of its logarithm, and the effect of each constant, (n,).

    `slopes` are changes of the logarithm of the seconds per unit of the logarithm of a constant.
    """

    middle: float
    spread: float
    slopes: NDArray[np.float64]


@dataclass(frozen=True, eq=False, kw_only=True)
class Difficulty:
    """The rehearsals of one drill: at the medians, and with each of `CONSTANTS` changed."""

    drill: Drill
    base: Rehearsal
    moved: tuple[Rehearsal, ...]

    def of(self, interval: Interval) -> Predicted | None:
        """Return the prediction for an interval; None if too few rehearsals have it."""
        j = self.base.burials.index(interval.burial)
        before = _seconds(self.base, j, interval)
        use = self._by(interval, j, np.isfinite(before))
        if np.count_nonzero(use) < 8:
            return None
        told = np.log(before[use] + SOFT_S)
        middle, spread = centre(told)
        slopes = [_slope(before, _seconds(one, j, interval), use) for one in self.moved]
        return Predicted(
            middle=middle,
            spread=max(spread, LEAST_SPREAD),
            slopes=np.array(slopes),
        )

    def _by(self, interval: Interval, j: int, have: NDArray[np.bool_]) -> NDArray[np.bool_]:
        """Which rehearsals to use: those with the same finder if there are enough of them."""
        if interval.searcher is None or interval.end == "airway":
            return have
        who = next((k for k, s in enumerate(self.drill.searchers) if s.id == interval.searcher), -1)
        theirs = have & (self.base.finder[:, j] == who)
        return theirs if np.count_nonzero(theirs) >= LEAST_RUNS else have


def _seconds(rehearsal: Rehearsal, j: int, interval: Interval) -> NDArray[np.float64]:
    end = rehearsal.column(interval.end)[:, j]
    begin = 0.0 if interval.begin == ALARM else rehearsal.column(interval.begin)[:, j]
    return np.asarray(end - begin, dtype=np.float64)


def _slope(before: NDArray[np.float64], after: NDArray[np.float64], use: NDArray[np.bool_]) -> float:
    """Return the mean change of the logarithm, run by run, per unit of the constant's; 0 if due to chance.

    The outermost 2 % at each end, where a run went quite differently, are set to the values next to them.
    """
    both = use & np.isfinite(after)
    if np.count_nonzero(both) < 8:
        return 0.0
    change = np.log((np.maximum(after[both], 0.0) + SOFT_S) / (np.maximum(before[both], 0.0) + SOFT_S))
    low, high = np.quantile(change, [0.02, 0.98])
    change = np.clip(change, low, high)
    error = float(np.std(change)) / float(np.sqrt(len(change)))
    mean = float(np.mean(change))
    return mean / STEP if abs(mean) > BY_CHANCE * error else 0.0


def moved(skill: Skill, shifts: NDArray[np.float64]) -> Skill:
    """Return a skill with the logarithm (for a share: the logit) of each constant shifted, (n,)."""
    values: dict[str, Any] = {}
    for line, shift in zip(CONSTANTS, shifts.tolist(), strict=True):
        value, by = float(getattr(skill, line.name)), float(np.exp(shift))
        values[line.name] = value * by / (1.0 - value + value * by) if line.kind == "share" else value * by
    return replace(skill, **values)


def alone(skill: Skill) -> Skill:
    """Return a skill without differences between people; only the spread from run to run is left."""
    spread = {name: Spread(between=0.0, within=of.within) for name, of in skill.spread.items()}
    return replace(skill, spread=spread)


def with_skills(drill: Drill, skills: list[Skill]) -> Drill:
    """Return a drill with other skills, one for each searcher."""
    people = tuple(replace(s, skill=k) for s, k in zip(drill.searchers, skills, strict=True))
    return replace(drill, searchers=people)


def difficulty(scene: Scene, *, runs: int) -> Difficulty:
    """Rehearse a drill at its medians and with each constant changed; `runs` each, with the same draws."""
    still = [alone(s.skill) for s in scene.drill.searchers]
    base = replace(scene, drill=with_skills(scene.drill, still))
    ready = base.prepared()
    play = partial(rehearse, first_run=0, last_run=runs)
    others = []
    for k in range(len(CONSTANTS)):
        step = np.zeros(len(CONSTANTS))
        step[k] = STEP
        drill = with_skills(scene.drill, [moved(skill, step) for skill in still])
        again = prepared_again(ready, drill, settings=scene.settings)
        others.append(play(replace(base, drill=drill), prepared=again))
    return Difficulty(drill=scene.drill, base=play(base, prepared=ready), moved=tuple(others))


def log_seconds(seconds: float) -> float:
    """Return the logarithm on which intervals are compared."""
    return log(seconds + SOFT_S)
