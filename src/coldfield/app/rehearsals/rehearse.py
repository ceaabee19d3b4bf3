"""Rehearse a drill: many simulated runs on several threads, with progress and cancellation."""

from __future__ import annotations

from collections.abc import Container
from dataclasses import dataclass
from typing import Any

from coldfield.app.rehearsals.runs import Cancelled, Progress, choice_for, play_all
from coldfield.app.strips.lanes import lanes_for
from coldfield.coaching.own import Own
from coldfield.drill import Drill
from coldfield.errors import BadInput
from coldfield.message import message
from coldfield.rescue.lanes_like import NoLanes
from coldfield.rescue.outcome import Outcome, outcome
from coldfield.rescue.rehearsal import Rehearsal, Scene
from coldfield.rescue.settings import SETTINGS, Settings
from coldfield.rescue.worth import DRAWS, Change, Worth, changes, sorted_worth, worth_of
from coldfield.search.lanes.plan import LanePlan

MOST_RUNS, MOST_WORKERS = 1_000_000, 64

MOST_UNSURE_RUNS = 1000
"""The most runs for the wider band: their p90 lies between the true p88 and p92. Setting."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Rehearsed:
    """A rehearsal with its lanes and summary; without any set there are no lanes.

    `unsure` repeats the first runs, at most `MOST_UNSURE_RUNS`, with the constants also drawn.
    """

    drill: Drill
    lanes: LanePlan | None
    second: LanePlan | None
    anywhere: bool
    settings: Settings
    rehearsal: Rehearsal
    outcome: Outcome
    unsure: Rehearsal
    own: Own | None = None


def rehearse_drill(
    drill: Drill,
    *,
    runs: int,
    seed: int,
    workers: int = 1,
    strip_width_m: float | None = None,
    anywhere: bool = False,
    settings: Settings = SETTINGS,
    own: Own | None = None,
    meanwhile: bool = False,
    progress: Progress | None = None,
    cancelled: Cancelled | None = None,
) -> Rehearsed:
    """Play a drill many times and summarise it; the results do not depend on the number of workers.

    Parameters
    ----------
    drill : Drill
        With at least one burial and one searcher.
    runs, seed, workers : int
        The number of runs, the key of their draws, and the number of threads.
    strip_width_m : float, optional
        Default: the drill's own, else the edge width of the group.
    anywhere : bool
        True: the burials have new places and directions in each run, uniform over the ground.
    own : Own, optional
        The group's own figures instead of the settings, drawn from their uncertainty.
    meanwhile : bool
        True: another process is compiling the rehearsal's program; plain Python plays until it is ready, with
        the same results.
    progress, cancelled : callable, optional
        Called between pieces of work: first the runs, then those with the constants drawn, counted together.

    Raises
    ------
    BadInput
        If a number is out of bounds or the drill lacks something; one line per fault.
    Refused
        If `cancelled` returned True.
    """
    _check(drill, runs=runs, seed=seed, workers=workers)
    if own is not None:
        drill = own.middle(drill)
    lanes, second = both_passes(drill, strip_width_m)
    scene = Scene(
        drill=drill,
        lanes=lanes or NoLanes(),
        second=second,
        settings=settings,
        seed=seed,
        anywhere=anywhere,
    )
    choice = choice_for(drill, runs, meanwhile=meanwhile)
    again = min(runs, MOST_UNSURE_RUNS)

    def told(before: int) -> Progress | None:
        return None if progress is None else lambda done, _total: progress(before + done, runs + again)

    how: dict[str, Any] = {"workers": workers, "cancelled": cancelled}
    rehearsal = play_all(scene, choice, runs=runs, progress=told(0), **how)
    unsure = play_all(
        scene,
        choice,
        runs=again,
        progress=told(runs),
        block_runs=1,
        drawn=None if own is None else own.drawn,
        **how,
    )
    return Rehearsed(
        drill=drill,
        lanes=lanes,
        second=second,
        anywhere=anywhere,
        settings=settings,
        rehearsal=rehearsal,
        outcome=outcome(rehearsal),
        unsure=unsure,
        own=own,
    )


def both_passes(drill: Drill, strip_width_m: float | None) -> tuple[LanePlan | None, LanePlan | None]:
    """Return the lanes of the first pass, and of a second pass with strips half as wide."""
    if all(burial.transmitter is None for burial in drill.burials):
        return None, None
    lanes = lanes_for(drill, strip_width_m=strip_width_m)
    return lanes, lanes_for(drill, strip_width_m=0.5 * lanes.strip_width_m)


def worth_of_changes(
    before: Rehearsed,
    *,
    workers: int = 1,
    meanwhile: bool = False,
    only: Container[str] | None = None,
    progress: Progress | None = None,
    cancelled: Cancelled | None = None,
) -> tuple[Worth, ...]:
    """Return the gain of each change of a rehearsed drill, largest first.

    Every change is played with the same runs and draws, and the difference is taken run by run. This is
    repeated `DRAWS` times with the constants also drawn, to see how often the change helps. With `only`, play
    just the changes with these codes.

    Raises
    ------
    Refused
        If `cancelled` returned True.
    """
    found = []
    asked = changes_of(before.drill, before.settings)
    asked = [one for one in asked if only is None or one.name.code in only]
    block_runs = max(1, before.rehearsal.runs // DRAWS)
    how: dict[str, Any] = {"times": 2 * len(asked) + 1, "workers": workers, "meanwhile": meanwhile}
    how["cancelled"] = cancelled
    none = Change(name=message("change.none"), drill=before.drill, settings=before.settings)
    drawn = _played_with(none, before, block_runs=block_runs, **how)
    for number, change in enumerate(asked):
        found.append(
            worth_of(
                change.name,
                before.rehearsal,
                _played_with(change, before, **how),
                horizon_s=before.settings.horizon_s,
                drawn=(drawn, _played_with(change, before, block_runs=block_runs, **how)),
                block_runs=block_runs,
            )
        )
        if progress is not None:
            progress(number + 1, len(asked))
    return sorted_worth(found)


def changes_of(drill: Drill, settings: Settings = SETTINGS) -> list[Change]:
    """Return the possible changes of a drill; without any set the lane width is not one of them."""
    if not drill.searchers:
        return []
    any_set = any(burial.transmitter is not None for burial in drill.burials)
    return [c for c in changes(drill, settings) if any_set or c.width_factor == 1.0]


def _played_with(
    change: Change,
    before: Rehearsed,
    *,
    times: int,
    workers: int,
    meanwhile: bool,
    cancelled: Cancelled | None,
    block_runs: int = 0,
) -> Rehearsal:
    """Play the same runs with one change, one of `times` that share the cost of compiling."""
    runs, lanes, second = before.rehearsal.runs, before.lanes, before.second
    if change.replan and lanes is not None:
        lanes, second = both_passes(change.drill, lanes.strip_width_m * change.width_factor)
    scene = Scene(
        drill=change.drill,
        lanes=lanes or NoLanes(),
        second=second,
        settings=change.settings,
        seed=before.rehearsal.seed,
        anywhere=before.anywhere,
    )
    choice = choice_for(change.drill, runs * times, meanwhile=meanwhile)
    return play_all(
        scene,
        choice,
        runs=runs,
        workers=workers,
        progress=None,
        cancelled=cancelled,
        block_runs=block_runs,
        drawn=None if before.own is None else before.own.drawn,
    )


def _check(drill: Drill, *, runs: int, seed: int, workers: int) -> None:
    faults = []
    if not 1 <= runs <= MOST_RUNS:
        faults.append(message("fault.from_to_not", low=1, high=MOST_RUNS, found=runs).at("runs"))
    if not 0 <= seed < 2**63:
        faults.append(message("fault.seed_range", found=str(seed)).at("seed"))
    if not 1 <= workers <= MOST_WORKERS:
        faults.append(message("fault.from_to_not", low=1, high=MOST_WORKERS, found=workers).at("workers"))
    if not drill.burials:
        faults.append(message("fault.rehearsal_needs_one").at("burials"))
    if faults:
        raise BadInput(faults)
