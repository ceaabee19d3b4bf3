"""Rehearse a drill: many runs in the computer, spread over workers, with progress and cancel."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ThreadPoolExecutor, wait
from dataclasses import asdict, dataclass
from functools import partial
from typing import Any

import numpy as np

from coldfield.app.lanes import lanes_for
from coldfield.drill import Drill
from coldfield.drill.cautions import LIMITS
from coldfield.errors import BadInput, Refused
from coldfield.rescue.digging import HAND_FACTOR, DigTime, seconds_to_airway
from coldfield.rescue.digging import NOTE as DIGGING_NOTE
from coldfield.rescue.lanes_like import NoLanes
from coldfield.rescue.order import MOST_BURIALS, MOST_PEOPLE, DigOrder, Located, dig_orders
from coldfield.rescue.rehearsal import Outcome, Rehearsal, joined, outcome, prepare, rehearse
from coldfield.rescue.searcher_model import NOTES
from coldfield.rescue.settings import SETTINGS, Settings
from coldfield.rescue.worth import Worth, changes, sorted_worth, worth_of
from coldfield.search.lanes import LanePlan
from coldfield.survival.curves import BETWEEN, DEFAULT

CHUNK_RUNS = 250
"""Runs per piece of work: small enough for progress and cancel, the same for any number of workers."""

FEW_RUNS, MANY_RUNS = 60, 600
"""Up to so many runs of two burials and four people the plain-Python program is quicker than loading the
compiled one; up to so many it is quicker than compiling it for the first time. Same numbers from both."""

MOST_RUNS, MOST_WORKERS = 1_000_000, 64

Progress = Callable[[int, int], None]
"""Called with the runs done so far and all runs."""

Cancelled = Callable[[], bool]
"""Asked between two pieces of work; True ends the rehearsal."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Rehearsed:
    """A rehearsal with its lanes and what it amounts to; without any set there are no lanes."""

    drill: Drill
    lanes: LanePlan | None
    second: LanePlan | None
    anywhere: bool
    settings: Settings
    rehearsal: Rehearsal
    outcome: Outcome


def rehearse_drill(
    drill: Drill,
    *,
    runs: int,
    seed: int,
    workers: int = 1,
    strip_width_m: float | None = None,
    anywhere: bool = False,
    settings: Settings = SETTINGS,
    progress: Progress | None = None,
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
    progress, cancelled : callable, optional
        Called between pieces of work.

    Raises
    ------
    BadInput
        If a number is out of bounds or the drill lacks something; one line per fault.
    Refused
        If `cancelled` said so.
    """
    _check(drill, runs=runs, seed=seed, workers=workers)
    lanes, second = _both_passes(drill, strip_width_m)
    job = _job(
        drill, lanes, second, settings, seed=seed, anywhere=anywhere, compiled=uses_compiled(drill, runs)
    )
    parts = _spread(job, runs=runs, workers=workers, progress=progress, cancelled=cancelled)
    rehearsal = joined(parts)
    return Rehearsed(
        drill=drill,
        lanes=lanes,
        second=second,
        anywhere=anywhere,
        settings=settings,
        rehearsal=rehearsal,
        outcome=outcome(rehearsal),
    )


def _job(
    drill: Drill,
    lanes: LanePlan | None,
    second: LanePlan | None,
    settings: Settings,
    *,
    seed: int,
    anywhere: bool,
    compiled: bool,
) -> Callable[..., Rehearsal]:
    """Return what plays the runs from `first_run` to `last_run`, with everything else settled."""
    walked = lanes or NoLanes()
    prepared = prepare(drill, walked, second=second, settings=settings) if compiled else None
    return partial(
        rehearse,
        drill,
        walked,
        seed=seed,
        second=second,
        settings=settings,
        anywhere=anywhere,
        compiled=compiled,
        prepared=prepared,
    )


def uses_compiled(drill: Drill, runs: int) -> bool:
    """Tell whether so many runs of a drill are worth the compiled program."""
    if _as_runs(drill, runs) <= FEW_RUNS:
        return False
    return _as_runs(drill, runs) > MANY_RUNS or kernel_ready()


def must_compile(drill: Drill, runs: int) -> bool:
    """Tell whether these runs will first have to wait for the compiler, once on each machine."""
    return _as_runs(drill, runs) > MANY_RUNS and not kernel_ready()


def _as_runs(drill: Drill, runs: int) -> float:
    """Return how many runs of two burials and four people take as long; measured, roughly."""
    burials, people = len(drill.burials), len(drill.searchers)
    return runs * burials * (burials + 2) * (people + 2) / 48.0


def kernel_ready() -> bool:
    """Tell whether the compiled program was compiled before on this machine."""
    from coldfield.rescue.kernel.runs import is_compiled

    return is_compiled()


def _both_passes(drill: Drill, strip_width_m: float | None) -> tuple[LanePlan | None, LanePlan | None]:
    """Return the lanes of the first pass, and of a second one with strips half as wide."""
    if all(burial.transmitter is None for burial in drill.burials):
        return None, None
    lanes = lanes_for(drill, strip_width_m=strip_width_m)
    return lanes, lanes_for(drill, strip_width_m=0.5 * lanes.strip_width_m)


def worth_of_changes(
    before: Rehearsed,
    *,
    workers: int = 1,
    progress: Progress | None = None,
    cancelled: Cancelled | None = None,
) -> tuple[Worth, ...]:
    """Return what each change of a rehearsed drill would bring, what helps most first.

    Every change plays the same runs with the same draws; the difference is taken run by run.

    Raises
    ------
    Refused
        If `cancelled` said so.
    """
    found = []
    runs, first = before.rehearsal.runs, before.lanes
    asked = [c for c in changes(before.drill, before.settings) if first or c.width_factor == 1.0]
    for number, change in enumerate(asked):
        lanes, second = first, before.second
        if change.replan and first is not None:
            lanes, second = _both_passes(change.drill, first.strip_width_m * change.width_factor)
        job = _job(
            change.drill,
            lanes,
            second,
            change.settings,
            seed=before.rehearsal.seed,
            anywhere=before.anywhere,
            compiled=uses_compiled(change.drill, runs * len(asked)),
        )
        parts = _spread(job, runs=runs, workers=workers, progress=None, cancelled=cancelled)
        horizon = before.settings.horizon_s
        found.append(worth_of(change.name, before.rehearsal, joined(parts), horizon_s=horizon))
        if progress is not None:
            progress(number + 1, len(asked))
    return sorted_worth(found)


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


def _spread(
    job: Callable[..., Rehearsal],
    *,
    runs: int,
    workers: int,
    progress: Progress | None,
    cancelled: Cancelled | None,
) -> list[Rehearsal]:
    """Compute all pieces on a few threads; the results in the order of the runs."""
    pieces = [(first, min(first + CHUNK_RUNS, runs)) for first in range(0, runs, CHUNK_RUNS)]
    done: dict[int, Rehearsal] = {}
    waiting: dict[Future[Rehearsal], int] = {}
    queue = iter(enumerate(pieces))
    with ThreadPoolExecutor(max_workers=workers) as pool:
        try:
            while len(done) < len(pieces):
                for number, (first, last) in queue:
                    waiting[pool.submit(job, first_run=first, last_run=last)] = number
                    if len(waiting) >= 2 * workers:
                        break
                for future in wait(waiting, return_when=FIRST_COMPLETED).done:
                    number = waiting.pop(future)
                    done[number] = future.result()
                if progress is not None:
                    progress(sum(part.runs for part in done.values()), runs)
                if cancelled is not None and cancelled():
                    raise Refused("the rehearsal was cancelled")
        finally:
            for future in waiting:
                future.cancel()
    return [done[number] for number in range(len(pieces))]


def dig_times_of(drill: Drill) -> dict[str, DigTime]:
    """Return, by burial, how long digging takes when everybody with a shovel digs there, with the band.

    Without any shovel: by hand. Drills without searchers: empty.
    """
    rates = [s.skill.dig_rate_kg_s for s in drill.searchers if s.shovel]
    rates = rates or [HAND_FACTOR * s.skill.dig_rate_kg_s for s in drill.searchers]
    if not rates:
        return {}
    return {
        b.id: seconds_to_airway(
            depth_m=b.depth_m,
            rates_kg_s=rates,
            slope_rad=drill.site.slope_rad,
            density_kg_m3=drill.conditions.snow_density_kg_m3,
        )
        for b in drill.burials
    }


def dig_order_of(rehearsed: Rehearsed) -> DigOrder | None:
    """Return how the people with shovels had best share out the burials, at the median strikes.

    None where fewer than two or more than four burials are found in half of the runs, or nobody
    has a shovel.
    """
    drill, strike = rehearsed.drill, rehearsed.rehearsal.column("probe_strike")
    rates = [s.skill.dig_rate_kg_s for s in drill.searchers if s.shovel]
    located = [
        Located(id=b.id, depth_m=b.depth_m, struck_s=float(np.nanmedian(strike[:, j])))
        for j, b in enumerate(drill.burials)
        if np.mean(np.isfinite(strike[:, j])) >= 0.5
    ]
    if not 2 <= len(located) <= MOST_BURIALS or not rates or len(rates) > MOST_PEOPLE:
        return None
    return dig_orders(
        located,
        people=len(rates),
        rate_kg_s=sum(rates) / len(rates),
        burial_to_alarm_s=drill.conditions.burial_to_alarm_s,
        slope_rad=drill.site.slope_rad,
        density_kg_m3=drill.conditions.snow_density_kg_m3,
    )[0]


def rehearsal_document(rehearsed: Rehearsed, worth: Sequence[Worth] | None = None) -> dict[str, Any]:
    """Return the rehearsal as one JSON object: seconds since the alarm, shares from 0 to 1.

    With `worth` also what each change would bring.
    """
    result, order = rehearsed.outcome, dig_order_of(rehearsed)
    digs = dig_times_of(rehearsed.drill)
    document = {
        "runs": result.runs,
        "seed": rehearsed.rehearsal.seed,
        "strip_width_m": None if rehearsed.lanes is None else rehearsed.lanes.strip_width_m,
        "anywhere": rehearsed.anywhere,
        "burials": [
            {
                "id": b.id,
                "found_fraction": b.found_fraction,
                "not_found": b.not_found,
                "seconds": {phase: asdict(band) for phase, band in b.seconds.items()},
                "survival": b.survival,
                "survival_by_curve": b.survival_by_curve,
                "digging": asdict(digs[b.id]),
            }
            for b in result.burials
        ],
        "expected_survivors": result.expected_survivors,
        "standard_error": result.standard_error,
        "expected_survivors_by_curve": result.expected_by_curve,
        "survival_curve": DEFAULT.name,
        "dig_order": None if order is None else asdict(order),
        "notes": list(rehearsal_notes()),
        "cautions": list(LIMITS),
    }
    if worth is not None:
        document["worth"] = [asdict(w) for w in worth]
    return document


def rehearsal_notes() -> tuple[str, ...]:
    """Return what the model takes for granted, for whoever reads its figures."""
    return (
        *NOTES,
        "a burial not found within 60 min counts as not surviving; an organised rescue is not modelled",
        f"digging: {DIGGING_NOTE}",
        f"survival: {BETWEEN}",
    )
