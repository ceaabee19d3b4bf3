"""Rehearse with a group's own constants: each run draws them from their remaining uncertainty."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from math import hypot

import numpy as np
from numpy.typing import NDArray

from coldfield.coaching.difficulty import CONSTANTS, alone, moved, with_skills
from coldfield.coaching.learn import DAY, SLOWER, STRAIGHT, Learned, prior_covariance
from coldfield.drill import Drill
from coldfield.rescue.settings import Settings


@dataclass(frozen=True, eq=False, kw_only=True)
class Own:
    """A group's own figures in one drill.

    Attributes
    ----------
    learned : Learned
        What is known about the group.
    people : mapping of str to str
        Person by searcher of the drill; anybody missing is treated as some member of the group.
    seed : int
        Seed of the draws, together with a run's number.
    """

    learned: Learned
    people: Mapping[str, str]
    seed: int

    def middle(self, drill: Drill) -> Drill:
        """Return a drill with everybody's constants at their medians, without a spread between people."""
        return self._with(drill, self.learned.fitted.middle)

    def drawn(self, drill: Drill, settings: Settings, run: int) -> tuple[Drill, Settings]:
        """Return the drill from `middle` with the constants of one run: of group, people and a new day.

        What the straight line of the fit leaves out is treated as one more effect of the day.
        """
        rng = np.random.Generator(np.random.Philox(key=[self.seed % 2**64, (run + 2**40) % 2**64]))
        effects = self._root @ rng.standard_normal(self._root.shape[1])
        strangers = rng.standard_normal((len(drill.searchers), len(CONSTANTS)))
        day = hypot(DAY, STRAIGHT) * float(rng.standard_normal())
        return self._with(drill, effects, strangers, day), settings

    @cached_property
    def _root(self) -> NDArray[np.float64]:
        return _root_of(self.learned.fitted.covariance)

    @cached_property
    def _stranger(self) -> NDArray[np.float64]:
        n = len(CONSTANTS)
        return _root_of(prior_covariance(1, 0)[n:, n:])

    def _with(
        self,
        drill: Drill,
        effects: NDArray[np.float64],
        strangers: NDArray[np.float64] | None = None,
        day: float = 0.0,
    ) -> Drill:
        group = effects[self.learned.row(None)]
        slower = day * SLOWER
        skills = []
        for k, searcher in enumerate(drill.searchers):
            who = self.people.get(searcher.id)
            own = np.zeros(len(CONSTANTS))
            if who in self.learned.people:
                own = effects[self.learned.row(who)]
            elif strangers is not None:
                own = self._stranger @ strangers[k]
            skills.append(moved(alone(searcher.skill), group + own + slower))
        return with_skills(drill, skills)


def _root_of(covariance: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return a matrix that turns independent numbers into numbers with this covariance."""
    values, vectors = np.linalg.eigh(covariance)
    return np.asarray(vectors * np.sqrt(np.maximum(values, 0.0)), dtype=np.float64)
