"""Drills that fulfil a wish: many candidates are rehearsed, and most runs go to the best ones.

All candidates are played with common random numbers: the same runs, draws and constants. Successive halving
drops those farthest from the wish. A candidate that wins in this way was also lucky, so the runs that chose
it are not used to describe it. Its band comes from fresh runs after the choice, and a miss is replaced.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from functools import lru_cache
from math import log, sqrt
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from coldfield.coaching.candidates import Wish, candidates, check_wishes, deeper, difference
from coldfield.drill import Drill
from coldfield.errors import Refused
from coldfield.message import message
from coldfield.rescue.outcome import quantile
from coldfield.rescue.rehearsal import Rehearsal, Scene, joined
from coldfield.rescue.settings import Settings
from coldfield.rescue.unsure import DrawnFor, drawn_shifts, rehearse_unsure, shifted, unsure_constants

PROPOSALS = 3

CANDIDATES = 384
"""Number of candidates in the first round. Setting."""

ROUNDS: tuple[tuple[int, int], ...] = ((384, 24), (80, 72), (20, 192))
"""Number of candidates that stay, and number of further runs for each, round by round. Settings."""

FRESH_RUNS, FRESH_FROM = 2400, 1_000_000
"""Number of runs after the choice, and the number of the first one: none was played before. Settings."""

BLOCK, FRESH_BLOCK, SEARCH_DRAWS = 4, 2, 128
"""Number of runs that share a draw of the constants, during the search and afterwards, and the most
draws that the search makes. Settings."""

MOST_FRESH = 10
"""Most candidates played in fresh runs before fewer proposals than asked for are returned. Setting."""

WORKERS = 2
DIFFERENT = 0.35
"""Least difference between two proposals, see `difference`. Setting."""

Progress = Callable[[int, int], None]
Cancelled = Callable[[], bool]
Done = TypeVar("Done")


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """The wish: nine of ten runs free the last airway by a time between two limits, s; and more.

    `found_min` is the least share of runs that must free everybody.
    """

    p90_low_s: float
    p90_high_s: float
    wishes: tuple[Wish, ...] = ()
    found_min: float = 0.95
    seed: int = 1
    count: int = PROPOSALS


@dataclass(frozen=True, slots=True, kw_only=True)
class Proposal:
    """One drill and the result of its fresh runs: s from the alarm to the last airway, over all runs.

    `p90_doubt_s` is one standard error of `p90_s` in these runs; `rehearsal` holds the runs.
    """

    drill: Drill
    p10_s: float
    p50_s: float
    p90_s: float
    p90_doubt_s: float
    found_fraction: float
    runs: int
    rehearsal: Rehearsal


@dataclass(frozen=True, slots=True, kw_only=True)
class Proposed:
    """The proposals, easiest first; the number of candidates; `nearest_s`, the p90 nearest to the wish."""

    proposals: tuple[Proposal, ...]
    candidates: int
    nearest_s: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Judge:
    """The rehearsal used for judging: lanes and settings of the drill, and how constants are drawn.

    `scene` has the lanes; `drawn` and `dressed` are a group's own figures (`Own.drawn`, `Own.middle`).
    """

    scene: Scene
    drawn: DrawnFor | None = None
    dressed: Callable[[Drill], Drill] | None = None

    def play(self, drill: Drill, first_run: int, last_run: int, block: int) -> Rehearsal:
        """Play a candidate; all candidates get the same random numbers."""
        made = drill if self.dressed is None else self.dressed(drill)
        return rehearse_unsure(
            replace(self.scene, drill=made),
            first_run=first_run,
            last_run=last_run,
            block_runs=block,
            drawn=self.drawn or self._from_tables,
        )

    def _from_tables(self, drill: Drill, settings: Settings, run: int) -> tuple[Drill, Settings]:
        return shifted(drill, settings, _shifts(self.scene.seed, run))


def propose(
    judge: Judge, asked: Asked, *, progress: Progress | None = None, cancelled: Cancelled | None = None
) -> Proposed:
    """Return different drills that fulfil a wish, easiest first; fewer than asked for if there are no more.

    Raises
    ------
    BadInput
        If no drill of this kind could fulfil the wish.
    Refused
        If `cancelled` returns true.
    """
    drill = judge.scene.drill
    check_wishes(drill, asked.wishes)
    drills = candidates(drill, asked.wishes, count=CANDIDATES, seed=asked.seed)
    search = _Search(judge, asked, drills, progress, cancelled)
    return search.best()


@lru_cache(maxsize=4096)
def _shifts(seed: int, draw: int) -> NDArray[np.float64]:
    """Return the constants of one draw; they are common to all candidates, so they are computed once.

    The search has few draws, so they are spread evenly over the ranges. Those of fresh runs are not.
    """
    if draw >= SEARCH_DRAWS:
        return drawn_shifts(seed=seed, run=draw)
    return np.asarray(_even_shifts(seed)[draw])


@lru_cache(maxsize=8)
def _even_shifts(seed: int) -> NDArray[np.float64]:
    from scipy.stats import qmc

    reach = np.log([constant.factor for constant in unsure_constants()])
    sequence = qmc.Sobol(len(reach), scramble=True, rng=np.random.default_rng([seed, SEARCH_DRAWS]))
    return np.asarray(reach * (2.0 * sequence.random(SEARCH_DRAWS) - 1.0))


class _Search:
    def __init__(
        self,
        judge: Judge,
        asked: Asked,
        drills: Sequence[Drill],
        progress: Progress | None,
        cancelled: Cancelled | None,
    ) -> None:
        self._judge, self._asked = judge, asked
        self._drills = list(drills)
        self._played: dict[int, Rehearsal] = {}
        self._progress, self._cancelled = progress, cancelled
        self._done, self._all = 0, sum(min(n, len(drills)) for n, _ in ROUNDS) + 4 * MOST_FRESH

    def best(self) -> Proposed:
        """Halve the candidates, adjust them, and play fresh runs of those that are left."""
        left = list(range(len(self._drills)))
        judged = len(left)
        first = 0
        for keep, runs in ROUNDS:
            left = self._ordered(left)[:keep] if first else left
            self._play(left, first, first + runs)
            first += runs
        left = self._ordered(left)
        left += self._adjusted(left, first)
        judged += len(self._drills) - judged
        return self._fresh(left, judged)

    def _ordered(self, left: Sequence[int]) -> list[int]:
        return sorted(left, key=lambda k: (self._miss(self._played[k]), k))

    def _miss(self, told: Rehearsal, gap: float = 0.0) -> float:
        """Return the distance of a candidate from the wish (logarithm), plus a penalty for failed runs."""
        last, found = last_airways(told)
        lacking = max(self._asked.found_min - found, 0.0)
        p90 = quantile(np.sort(last), 0.9)
        if p90 is None:
            return 10.0 + lacking
        return abs(log(p90 / self._middle()) + gap) + 4.0 * lacking

    def _middle(self) -> float:
        return sqrt(self._asked.p90_low_s * self._asked.p90_high_s)

    def _play(self, which: Sequence[int], first: int, last: int) -> None:
        def one(k: int) -> tuple[int, Rehearsal]:
            if self._cancelled is not None and self._cancelled():
                raise Refused(message("fault.propose_cancelled"))
            return k, self._judge.play(self._drills[k], first, last, BLOCK)

        for k, told in _in_threads(one, which):
            before = self._played.get(k)
            self._played[k] = told if before is None else joined([before, told])
            self._tell(1)

    def _tell(self, steps: int) -> None:
        self._done += steps
        if self._progress is not None:
            self._progress(min(self._done, self._all), self._all)

    def _adjusted(self, left: Sequence[int], runs: int) -> list[int]:
        """Return variants of the best ones, deeper or less deep, if these miss the wish.

        Digging time grows roughly with the depth to the power 1.7 and is some two thirds of the time.
        """
        made: list[int] = []
        for k in left[:8]:
            last, _ = last_airways(self._played[k])
            p90 = quantile(np.sort(last), 0.9) or 2.0 * self._asked.p90_high_s
            if self._asked.p90_low_s * 1.05 <= p90 <= self._asked.p90_high_s / 1.05:
                continue
            changed = deeper(self._drills[k], (self._middle() / p90) ** 0.9, self._asked.wishes)
            if changed not in self._drills:
                self._drills.append(changed)
                made.append(len(self._drills) - 1)
        self._play(made, 0, runs)
        return made

    def _fresh(self, left: Sequence[int], judged: int) -> Proposed:
        """Play fresh runs of the best ones, one after the other, and keep those that clearly fulfil the wish.

        Fresh runs show by how much the common random numbers of the search were lucky or unlucky for all
        candidates; the next one is chosen with that correction.
        """
        kept: list[Proposal] = []
        gaps: list[float] = []
        nearest: float | None = None
        open_ones = list(left)
        for _ in range(MOST_FRESH):
            if len(kept) == self._asked.count or not open_ones:
                break
            k = self._next(open_ones, kept, float(np.mean(gaps)) if gaps else 0.0)
            open_ones.remove(k)
            told = self._fresh_of(k)
            if told is None:
                continue
            before = quantile(np.sort(last_airways(self._played[k])[0]), 0.9)
            if before is not None:
                gaps.append(log(told.p90_s / before))
            if nearest is None or abs(log(told.p90_s / self._middle())) < abs(log(nearest / self._middle())):
                nearest = told.p90_s
            if self._holds(told):
                kept.append(told)
        kept.sort(key=lambda one: one.p90_s)
        self._tell(self._all)
        return Proposed(proposals=tuple(kept), candidates=judged, nearest_s=nearest)

    def _next(self, open_ones: Sequence[int], kept: Sequence[Proposal], gap: float) -> int:
        """Return the candidate that is nearest to the wish and, if possible, different from the others."""

        def alike(k: int) -> float:
            apart = min((difference(self._drills[k], one.drill) for one in kept), default=DIFFERENT)
            return max(DIFFERENT - apart, 0.0)

        return min(open_ones, key=lambda k: (self._miss(self._played[k], gap) + alike(k), k))

    def _holds(self, told: Proposal) -> bool:
        asked, n = self._asked, told.runs
        room = min(1.5 * told.p90_doubt_s, 0.3 * (asked.p90_high_s - asked.p90_low_s))
        error = sqrt(max(asked.found_min * (1.0 - asked.found_min), 0.0) / n)
        return (
            asked.p90_low_s + room <= told.p90_s <= asked.p90_high_s - room
            and told.found_fraction >= asked.found_min + 1.5 * error * (asked.found_min < 1.0)
        )

    def _fresh_of(self, k: int) -> Proposal | None:
        """Return a candidate with fresh runs; None if fewer than nine of ten free everybody."""
        pieces = range(FRESH_FROM, FRESH_FROM + FRESH_RUNS, FRESH_RUNS // 4)

        def one(first: int) -> Rehearsal:
            if self._cancelled is not None and self._cancelled():
                raise Refused(message("fault.propose_cancelled"))
            last = first + FRESH_RUNS // 4
            return self._judge.play(self._drills[k], first, last, FRESH_BLOCK)

        told = joined(list(_in_threads(one, pieces)))
        self._tell(4)
        return proposal_of(self._drills[k], told)


def _in_threads(work: Callable[[int], Done], which: Sequence[int]) -> Iterator[Done]:
    """Yield the results of pieces of work in order, done on a few threads; the first fault ends it."""
    with ThreadPoolExecutor(max_workers=WORKERS) as pool:
        try:
            yield from pool.map(work, which)
        finally:
            pool.shutdown(wait=True, cancel_futures=True)


def last_airways(told: Rehearsal) -> tuple[NDArray[np.float64], float]:
    """Return when the last airway was free in each run, (runs,), inf for never; and the share that freed all.

    An airway that is freed after the horizon counts as free.
    """
    last = np.max(told.or_never(told.column("airway")), axis=1)
    last = np.where(np.isnan(last), np.inf, last)
    return last, float(np.mean(np.isfinite(last)))


def proposal_of(drill: Drill, told: Rehearsal) -> Proposal | None:
    """Return a drill with the band of its runs; None if fewer than nine of ten free everybody.

    The error of p90 is that of a quantile: half the distance between the values one binomial standard error
    of its rank below and above. Runs that share a draw of the constants count as one.
    """
    last, found = last_airways(told)
    ordered = np.sort(last)
    n = len(ordered)
    step = sqrt(0.9 * 0.1 * FRESH_BLOCK / n)
    p10, p50, p90, low, high = (quantile(ordered, q) for q in (0.1, 0.5, 0.9, 0.9 - step, 0.9 + step))
    if p10 is None or p50 is None or p90 is None or low is None:
        return None
    return Proposal(
        drill=drill,
        p10_s=p10,
        p50_s=p50,
        p90_s=p90,
        p90_doubt_s=0.5 * ((high or 2.0 * p90 - low) - low),
        found_fraction=found,
        runs=n,
        rehearsal=told,
    )
