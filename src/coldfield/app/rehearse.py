"""Rehearse a drill: many runs in the computer, spread over workers, with progress and cancel."""

from __future__ import annotations

from dataclasses import dataclass, replace

from coldfield.app.lanes import lanes_for
from coldfield.app.rehearsal_runs import Cancelled, Progress, Scene, choice_for, play_all
from coldfield.drill import Drill
from coldfield.errors import BadInput
from coldfield.rescue.rehearsal import Outcome, Rehearsal, outcome
from coldfield.rescue.settings import SETTINGS, Settings
from coldfield.search.lanes import LanePlan

MOST_RUNS, MOST_WORKERS = 1_000_000, 64

MOST_UNSURE_RUNS = 1000
"""So many runs tell the wider band: a p90 among them lies between the true p88 and p92. Setting."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Rehearsed:
    """A rehearsal with its lanes and what it amounts to; without any set there are no lanes.

    `unsure` holds the first runs again, at most `MOST_UNSURE_RUNS`, with the constants drawn too.
    """

    drill: Drill
    lanes: LanePlan | None
    second: LanePlan | None
    anywhere: bool
    settings: Settings
    rehearsal: Rehearsal
    outcome: Outcome
    unsure: Rehearsal


def rehearse_drill(
    drill: Drill,
    *,
    runs: int,
    seed: int,
    workers: int = 1,
    strip_width_m: float | None = None,
    anywhere: bool = False,
    settings: Settings = SETTINGS,
    meanwhile: bool = False,
    progress: Progress | None = None,
    unsure_progress: Progress | None = None,
    cancelled: Cancelled | None = None,
) -> Rehearsed:
    """Play a drill many times and sum it up; the numbers do not depend on the number of workers.

    Parameters
    ----------
    drill : Drill
        With at least one burial and one searcher.
    runs, seed, workers : int
        How many runs, the key of their draws, and how many threads compute.
    strip_width_m : float, optional
        Default: the drill's own, else the edge width of the group.
    anywhere : bool
        True: the burials lie somewhere else in each run, evenly over the ground, in any direction.
    meanwhile : bool
        True: another process compiles the rehearsal's program just now; plain Python plays until it
        is ready, instead of waiting. Same numbers.
    progress, unsure_progress, cancelled : callable, optional
        Called between pieces of work: of the runs, and of those with the constants drawn.

    Raises
    ------
    BadInput
        If a number is out of bounds or the drill lacks something; one line per fault.
    Refused
        If `cancelled` said so.
    """
    _check(drill, runs=runs, seed=seed, workers=workers)
    lanes, second = both_passes(drill, strip_width_m)
    scene = Scene(drill=drill, lanes=lanes, second=second, settings=settings, seed=seed, anywhere=anywhere)
    choice = choice_for(drill, runs, meanwhile=meanwhile)
    rehearsal = play_all(scene, choice, runs=runs, workers=workers, progress=progress, cancelled=cancelled)
    unsure = play_all(
        replace(scene, unsure=True),
        choice,
        runs=min(runs, MOST_UNSURE_RUNS),
        workers=workers,
        progress=unsure_progress,
        cancelled=cancelled,
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
    )


def both_passes(drill: Drill, strip_width_m: float | None) -> tuple[LanePlan | None, LanePlan | None]:
    """Return the lanes of the first pass, and of a second one with strips half as wide."""
    if all(burial.transmitter is None for burial in drill.burials):
        return None, None
    lanes = lanes_for(drill, strip_width_m=strip_width_m)
    return lanes, lanes_for(drill, strip_width_m=0.5 * lanes.strip_width_m)


def _check(drill: Drill, *, runs: int, seed: int, workers: int) -> None:
    faults = []
    if not 1 <= runs <= MOST_RUNS:
        faults.append(f"runs: must be from 1 to {MOST_RUNS}, not {runs}")
    if not 0 <= seed < 2**63:
        faults.append(f"seed: must be from 0 to 2^63 - 1, not {seed}")
    if not 1 <= workers <= MOST_WORKERS:
        faults.append(f"workers: must be from 1 to {MOST_WORKERS}, not {workers}")
    if not drill.burials:
        faults.append("burials: a rehearsal needs at least one")
    if faults:
        raise BadInput(faults)
