"""What helps most: each change of a drill played with the same draws, and over draws of the constants."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from coldfield.app.rehearsal_runs import Cancelled, Choice, Progress, Scene, choice_for, play_all
from coldfield.app.rehearse import Rehearsed, both_passes
from coldfield.errors import Refused
from coldfield.rescue.helps import DRAWS, RUNS_PER_DRAW, Helps, helps, in_order
from coldfield.rescue.rehearsal import Rehearsal
from coldfield.rescue.unsure import drawn_shifts, shifted
from coldfield.rescue.worth import Change, changes, mean_minutes, worth_of


@dataclass(frozen=True, slots=True, kw_only=True)
class _Company:
    """How to play: all changes together pay for the compiler."""

    times: int
    workers: int
    meanwhile: bool
    cancelled: Cancelled | None

    def choice(self, scene: Scene, runs: int) -> Choice:
        return choice_for(scene.drill, runs * self.times, meanwhile=self.meanwhile)


def what_helps(
    before: Rehearsed,
    *,
    workers: int = 1,
    meanwhile: bool = False,
    progress: Progress | None = None,
    cancelled: Cancelled | None = None,
) -> tuple[Helps, ...]:
    """Return what each change of a rehearsed drill would bring, what saves most minutes first.

    Every change plays the same runs with the same draws; the difference is taken run by run. Then it is
    played over `DRAWS` draws of the constants, `RUNS_PER_DRAW` runs each, before and after with the same.

    Raises
    ------
    Refused
        If `cancelled` said so.
    """
    asked = changes_of(before)
    company = _Company(times=len(asked) + 1, workers=workers, meanwhile=meanwhile, cancelled=cancelled)
    drawn_before = _drawn_minutes(_scene(before), before, company)
    found = []
    for number, change in enumerate(asked):
        scene, runs = _changed(change, before), before.rehearsal.runs
        after = play_all(
            scene, company.choice(scene, runs), runs=runs, workers=workers, progress=None, cancelled=cancelled
        )
        worth = worth_of(change.name, before.rehearsal, after, horizon_s=before.settings.horizon_s)
        found.append(helps(worth, drawn_before - _drawn_minutes(scene, before, company)))
        if progress is not None:
            progress(number + 1, len(asked))
    return in_order(found)


def changes_of(before: Rehearsed) -> list[Change]:
    """Return the changes that can be asked about; without lanes none of their width."""
    found = changes(before.drill, before.settings)
    return [c for c in found if before.lanes or c.width_factor == 1.0]


def _scene(before: Rehearsed) -> Scene:
    return Scene(
        drill=before.drill,
        lanes=before.lanes,
        second=before.second,
        settings=before.settings,
        seed=before.rehearsal.seed,
        anywhere=before.anywhere,
    )


def _changed(change: Change, before: Rehearsed) -> Scene:
    lanes, second = before.lanes, before.second
    if change.replan and lanes is not None:
        lanes, second = both_passes(change.drill, lanes.strip_width_m * change.width_factor)
    return replace(_scene(before), drill=change.drill, lanes=lanes, second=second, settings=change.settings)


def _drawn_minutes(scene: Scene, before: Rehearsed, company: _Company) -> NDArray[np.float64]:
    """Return the mean minutes to the airway with each draw of the constants, shape (draws,)."""
    choice, horizon = company.choice(scene, DRAWS * RUNS_PER_DRAW), before.settings.horizon_s

    def played(draw: int) -> float:
        if company.cancelled is not None and company.cancelled():
            raise Refused("the rehearsal was cancelled")
        drill, settings = shifted(scene.drill, scene.settings, drawn_shifts(seed=scene.seed, run=draw))
        made = replace(scene, drill=drill, settings=settings)
        first = draw * RUNS_PER_DRAW
        prepared = made.prepared() if choice.now(first) else None
        part: Rehearsal = made.part(first_run=first, last_run=first + RUNS_PER_DRAW, prepared=prepared)
        return float(mean_minutes(part, horizon).mean())

    with ThreadPoolExecutor(max_workers=company.workers) as pool:
        return np.array(list(pool.map(played, range(DRAWS))))
