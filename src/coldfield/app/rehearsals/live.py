"""The minutes of a drill while it is being changed: the same runs with the same draws, few at first."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field, replace
from functools import lru_cache

from coldfield.app.rehearsals.answers import LiveAnswer
from coldfield.app.rehearsals.document import all_clear_of
from coldfield.app.rehearsals.rehearse import MOST_UNSURE_RUNS, both_passes
from coldfield.app.rehearsals.runs import Cancelled, Choice, as_runs, play_all
from coldfield.drill import Drill
from coldfield.errors import BadInput
from coldfield.message import message
from coldfield.rescue.lanes_like import NoLanes
from coldfield.rescue.rehearsal import Scene
from coldfield.search.lanes.plan import LanePlan

SEED = 1
"""The key of the draws. The page asks for its rehearsals with the same one, so that both give one figure."""

SETTLED_RUNS = 2000
"""So many runs once nothing moves any more: as many as a rehearsal of the page has."""

MOVING_RUNS, MOVING_RUNS_MANY, LEAST_RUNS = 200, 60, 20
"""Runs while something moves: up to two burials and four people, up to six and twelve, beyond. Settings."""

MOVING_UNSURE, LEAST_UNSURE = 0.5, 40
"""For the wider band, told in half minutes, so many of those runs, and at least that many. Settings."""

MOST_WORK = 40_000
"""What settling may cost at most, in runs of two burials and four people: some seconds. Setting."""

THREADS = 2
"""Both bands are played at a time, and two pieces of each: neither core waits for the longer one. Setting."""

KEPT_ANSWERS = 64
"""So many settled answers are kept. Setting."""

KEPT_LANES = 32
"""For so many grounds and widths the lanes are kept: a burial that is dragged leaves them as they are."""


def live_minutes(
    drill: Drill, *, settled: bool = False, most_runs: int | None = None, cancelled: Cancelled | None = None
) -> LiveAnswer:
    """Return when the last airway is free, from few runs or from as many as a rehearsal has.

    Parameters
    ----------
    drill : Drill
        With at least one burial and one searcher.
    settled : bool
        False: something moves, so an answer is wanted at once.
    most_runs : int, optional
        While something moves, no more runs than this: where answers take long, fewer follow the hand better.
    cancelled : callable, optional
        Asked between pieces of at most 250 runs; True ends it.

    Raises
    ------
    BadInput
        If the drill lacks something.
    Refused
        If `cancelled` said so.

    Notes
    -----
    Runs and draws are those of `rehearse_drill` with the seed `SEED`: settled minutes are equal to those of
    a rehearsal of `SETTLED_RUNS` runs. With 200 runs a tenth percentile lies, nineteen times of twenty,
    between the true sixth and fourteenth; but since the draws stay the same, two places of a burial are
    compared much more closely than that.
    """
    if not drill.burials:
        raise BadInput(message("fault.rehearsal_needs_one").at("burials"))
    if not drill.searchers:
        raise BadInput(message("fault.rehearsal_needs_one").at("searchers"))
    runs = live_runs(drill, settled=settled, most=most_runs)
    if settled:
        return _settled(_Alike(repr(replace(drill, name="")), drill, cancelled), runs)
    return _played(drill, runs, settled=False, cancelled=cancelled)


def _played(drill: Drill, runs: int, *, settled: bool, cancelled: Cancelled | None) -> LiveAnswer:
    lanes, second = lanes_of(drill)
    scene = Scene(drill=drill, lanes=lanes or NoLanes(), second=second, seed=SEED)
    again = min(runs, MOST_UNSURE_RUNS if settled else max(LEAST_UNSURE, int(MOVING_UNSURE * runs)))
    with ThreadPoolExecutor(max_workers=THREADS) as pool:
        asked = [
            pool.submit(
                play_all,
                scene,
                Choice(compiled=True),
                runs=count,
                workers=THREADS,
                progress=None,
                cancelled=cancelled,
                block_runs=block,
            )
            for count, block in ((runs, 0), (again, 1))
        ]
        rehearsal, unsure = (one.result() for one in asked)
    return LiveAnswer(
        runs=runs,
        settled=settled,
        strip_width_m=None if lanes is None else lanes.strip_width_m,
        horizon_s=scene.settings.horizon_s,
        all_clear=all_clear_of(rehearsal, unsure, scene.settings.horizon_s),
    )


def live_runs(drill: Drill, *, settled: bool, most: int | None = None) -> int:
    """Return how many runs a drill is played with, at most so many while something moves."""
    if settled:
        return max(LEAST_RUNS, min(SETTLED_RUNS, int(MOST_WORK / as_runs(drill, 1))))
    burials, people = len(drill.burials), len(drill.searchers)
    few = burials <= 2 and people <= 4
    runs = MOVING_RUNS if few else MOVING_RUNS_MANY if burials <= 6 and people <= 12 else LEAST_RUNS
    return runs if most is None else max(LEAST_RUNS, min(runs, most))


def lanes_of(drill: Drill) -> tuple[LanePlan | None, LanePlan | None]:
    """Return the lanes of both passes; kept for drills that differ in nothing that lanes depend on."""
    sets = [b.transmitter for b in drill.burials]
    if not any(sets):
        return None, None
    given = drill.conditions.strip_width_m
    width: object = given
    if given is None:
        # The edge width follows from receivers, sets and noise alone.
        receivers = [s.receiver for s in drill.searchers]
        width = (receivers, [s for s in sets if s is not None], drill.conditions.noise_rise_db)
    people = [(s.id, s.skill) for s in drill.searchers]
    day = (drill.conditions.travel, drill.conditions.lane_heading_rad)
    return _passes(_Alike(repr((drill.site, people, day, width)), drill))


@dataclass(frozen=True, slots=True)
class _Alike:
    """A drill that is equal to every other one with the same text `by`."""

    by: str
    drill: Drill = field(compare=False)
    cancelled: Cancelled | None = field(default=None, compare=False)


@lru_cache(maxsize=KEPT_LANES)
def _passes(alike: _Alike) -> tuple[LanePlan | None, LanePlan | None]:
    return both_passes(alike.drill, None)


@lru_cache(maxsize=KEPT_ANSWERS)
def _settled(alike: _Alike, runs: int) -> LiveAnswer:
    """Keep the last settled answers: who comes back to a drill, or undoes, waits for nothing."""
    return _played(alike.drill, runs, settled=True, cancelled=alike.cancelled)
