"""The minutes of a drill while it is being changed: the same runs with the same draws, only few at first."""

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
"""The key of the draws. The page requests its rehearsals with the same one, so both give the same figure."""

SETTLED_RUNS = 2000
"""The number of runs once nothing moves any more, as in a rehearsal on the page."""

MOVING_RUNS, MOVING_RUNS_MANY, LEAST_RUNS = 200, 60, 20
"""Runs while something moves: for up to two burials and four people, up to six and twelve, more. Settings."""

MOVING_UNSURE, LEAST_UNSURE = 0.5, 40
"""The share of those runs for the wider band, which is rounded to half minutes, and the fewest. Settings."""

MOST_WORK = 40_000
"""The most work for a settled answer, in runs of two burials and four people: a few seconds. Setting."""

THREADS = 2
"""Both bands are played at the same time, in two pieces each, to keep both cores busy. Setting."""

KEPT_ANSWERS = 64
"""The number of cached settled answers. Setting."""

KEPT_LANES = 32
"""The number of grounds and widths whose lanes are cached: a dragged burial does not change them. Setting."""


def live_minutes(
    drill: Drill, *, settled: bool = False, most_runs: int | None = None, cancelled: Cancelled | None = None
) -> LiveAnswer:
    """Return when the last airway is free, from a few runs or as many as in a rehearsal.

    Parameters
    ----------
    drill : Drill
        With at least one burial and one searcher.
    settled : bool
        False: something moves, so a quick answer is needed.
    most_runs : int, optional
        The most runs while something moves; if answers are slow, fewer runs follow the hand better.
    cancelled : callable, optional
        Called between pieces of at most 250 runs; True stops the work.

    Raises
    ------
    BadInput
        If the drill lacks something.
    Refused
        If `cancelled` returned True.

    Notes
    -----
    Runs and draws are those of `rehearse_drill` with the seed `SEED`, so settled minutes are equal to those
    of a rehearsal of `SETTLED_RUNS` runs. With 200 runs, the tenth percentile lies between the true 6th and
    14th percentiles in 95 % of cases. Since the draws stay the same, the comparison of two places of a burial
    is much more precise than that.
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
    """Return how many runs to play, at most `most` while something moves."""
    if settled:
        return max(LEAST_RUNS, min(SETTLED_RUNS, int(MOST_WORK / as_runs(drill, 1))))
    burials, people = len(drill.burials), len(drill.searchers)
    few = burials <= 2 and people <= 4
    runs = MOVING_RUNS if few else MOVING_RUNS_MANY if burials <= 6 and people <= 12 else LEAST_RUNS
    return runs if most is None else max(LEAST_RUNS, min(runs, most))


def lanes_of(drill: Drill) -> tuple[LanePlan | None, LanePlan | None]:
    """Return the lanes of both passes, cached by everything that lanes depend on."""
    sets = [b.transmitter for b in drill.burials]
    if not any(sets):
        return None, None
    given = drill.conditions.strip_width_m
    width: object = given
    if given is None:
        # The edge width depends only on receivers, sets and noise.
        receivers = [s.receiver for s in drill.searchers]
        width = (receivers, [s for s in sets if s is not None], drill.conditions.noise_rise_db)
    people = [(s.id, s.skill) for s in drill.searchers]
    day = (drill.conditions.travel, drill.conditions.lane_heading_rad)
    return _passes(_Alike(repr((drill.site, people, day, width)), drill))


@dataclass(frozen=True, slots=True)
class _Alike:
    """A drill that is compared by the text `by` only."""

    by: str
    drill: Drill = field(compare=False)
    cancelled: Cancelled | None = field(default=None, compare=False)


@lru_cache(maxsize=KEPT_LANES)
def _passes(alike: _Alike) -> tuple[LanePlan | None, LanePlan | None]:
    return both_passes(alike.drill, None)


@lru_cache(maxsize=KEPT_ANSWERS)
def _settled(alike: _Alike, runs: int) -> LiveAnswer:
    """Cache the last settled answers, so that an undo or a return to a drill shows them at once."""
    return _played(alike.drill, runs, settled=True, cancelled=alike.cancelled)
