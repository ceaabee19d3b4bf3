"""How uncertain the constants make a rehearsal: the same runs, with the constants drawn from their ranges.

Nobody has measured most constants of the model. A table gives each of them with a factor within which its
median is assumed to lie. Here every run draws a complete set of constants, the same for all people of the
run. The spread of the times then includes both how runs scatter and how little is known.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from functools import cache, lru_cache
from math import exp, log
from typing import Any

import numpy as np
from numpy.typing import NDArray

from coldfield.drill import Drill, Skill
from coldfield.drill.skills import TABLE
from coldfield.rescue.digging import UNSURE_DIGGING
from coldfield.rescue.draws import Draws, Purpose
from coldfield.rescue.outcome import quantile
from coldfield.rescue.rehearsal import Moved, Rehearsal, Scene, moved, rehearse
from coldfield.rescue.settings import UNSURE_SETTINGS, Settings

_DIGGING = "digging."

DrawnFor = Callable[[Drill, Settings, int], tuple[Drill, Settings]]
"""Gives a drill and settings with the constants of one draw."""


@dataclass(frozen=True, slots=True, kw_only=True)
class UnsureConstant:
    """One constant that is drawn: its median lies within `factor`, uniformly on the log scale."""

    name: str
    factor: float
    share: bool
    skilled: bool


@cache
def unsure_constants() -> tuple[UnsureConstant, ...]:
    """Return what is drawn: constants of skills, settings and digging, in the order of their tables."""
    skilled = [
        UnsureConstant(name=line.name, factor=line.unsure, share=line.kind == "share", skilled=True)
        for line in TABLE
        if line.unsure > 1.0
    ]
    rest = [
        UnsureConstant(name=name, factor=factor, share=False, skilled=False)
        for name, factor in UNSURE_SETTINGS.items()
    ]
    digging = [
        UnsureConstant(name=f"{_DIGGING}{name}", factor=factor, share=False, skilled=False)
        for name, factor in UNSURE_DIGGING.items()
    ]
    return (*skilled, *rest, *digging)


MOST_KEPT = 4096
"""Number of runs whose shifts are cached, because every step of a drag plays the same runs. Setting."""


MOST_GROUPS = 1100
"""Number of runs for which the group with its shifted constants is cached, about 15 kB each: those
of a settled rehearsal and a few more. They stay valid while a burial is dragged. Setting."""


@lru_cache(maxsize=MOST_KEPT)
def drawn_shifts(*, seed: int, run: int) -> NDArray[np.float64]:
    """Return the shift of each constant in a run, shape (constants,): of the log, or of the logit.

    Uniform from -log(factor) to log(factor); the same run has the same shifts wherever it is computed.
    The array is read-only.
    """
    constants = unsure_constants()
    evens = Draws(seed=seed, run=run).fours(Purpose.CONSTANT, (len(constants) + 3) // 4)
    shifts = np.array([log(c.factor) * (2.0 * u - 1.0) for c, u in zip(constants, evens, strict=False)])
    shifts.flags.writeable = False
    return shifts


@lru_cache(maxsize=MOST_KEPT)
def _drawn_settings(settings: Settings, *, seed: int, run: int) -> Settings:
    return _moved_settings(settings, drawn_shifts(seed=seed, run=run))


def shifted(drill: Drill, settings: Settings, shifts: NDArray[np.float64]) -> tuple[Drill, Settings]:
    """Return a drill and settings with every constant changed by its shift, (constants,)."""
    return _moved_people(drill, shifts), _moved_settings(settings, shifts)


def _moved_people(drill: Drill, shifts: NDArray[np.float64]) -> Drill:
    """Return the drill with shifted skills; people who share a skill share the shifted one."""
    moves = {
        constant.name: _moved(shift, constant.share)
        for constant, shift in zip(unsure_constants(), shifts.tolist(), strict=True)
        if constant.skilled
    }
    made: dict[int, Skill] = {}
    people = []
    for searcher in drill.searchers:
        skill = searcher.skill
        if id(skill) not in made:
            moved: dict[str, Any] = {name: move(getattr(skill, name)) for name, move in moves.items()}
            made[id(skill)] = replace(skill, **moved)
        people.append(replace(searcher, skill=made[id(skill)]))
    return replace(drill, searchers=tuple(people))


def _moved_settings(settings: Settings, shifts: NDArray[np.float64]) -> Settings:
    of_settings: dict[str, Any] = {}
    of_digging: dict[str, Any] = {}
    for constant, shift in zip(unsure_constants(), shifts.tolist(), strict=True):
        if constant.skilled:
            continue
        if constant.name.startswith(_DIGGING):
            name = constant.name.removeprefix(_DIGGING)
            of_digging[name] = getattr(settings.digging, name) * exp(shift)
        else:
            of_settings[constant.name] = getattr(settings, constant.name) * exp(shift)
    return replace(settings, digging=replace(settings.digging, **of_digging), **of_settings)


def _moved(shift: float, share: bool) -> Callable[[float], float]:
    odds = exp(shift)
    if share:
        return lambda p: p * odds / (1.0 - p + p * odds)
    return lambda value: value * odds


def _drawn(scene: Scene, run: int) -> tuple[Drill, Settings]:
    moved = _moved_people(scene.drill, drawn_shifts(seed=scene.seed, run=run))
    return moved, _drawn_settings(scene.settings, seed=scene.seed, run=run)


@dataclass(frozen=True, slots=True)
class _Group:
    """Ground, people, conditions and settings; equal for drills that differ only in their burials."""

    by: str
    scene: Scene = field(compare=False)
    ready: object = field(compare=False)

    @classmethod
    def of(cls, scene: Scene, ready: object) -> _Group:
        drill = scene.drill
        alike = (drill.site, drill.searchers, drill.conditions, scene.settings, ready is None)
        return cls(repr(alike), scene, ready)


@lru_cache(maxsize=MOST_GROUPS)
def _moved_group(group: _Group, *, seed: int, run: int) -> Moved:
    """Return the people and settings of one run."""
    drill, settings = _drawn(replace(group.scene, seed=seed), run)
    return moved(group.ready, drill, settings)


def rehearse_unsure(
    scene: Scene,
    *,
    first_run: int,
    last_run: int,
    block_runs: int = 1,
    compiled: bool = True,
    prepared: object | None = None,
    drawn: DrawnFor | None = None,
) -> Rehearsal:
    """Play the runs from `first_run` up to but not including `last_run`, with constants drawn too.

    `drawn` draws them from the drill, the settings and the number of the draw; by default from the ranges of
    the tables. It may change only skills and settings. `block_runs` successive runs share their constants: 1
    for a band, more to see what the runs of one draw have in common. All other draws are those of the same
    runs with the constants at their medians, so two such rehearsals differ only in the constants. For other
    arguments see `coldfield.rescue.rehearsal.rehearse`.
    """
    ready = prepared or (scene.prepared() if compiled else None)
    of_run = [run // block_runs for run in range(first_run, last_run)]
    if drawn is None:
        group = _Group.of(scene, ready)
        of_block = {block: _moved_group(group, seed=scene.seed, run=block) for block in set(of_run)}
    else:
        of_block = {block: moved(ready, *drawn(scene.drill, scene.settings, block)) for block in set(of_run)}
    each = [of_block[block] for block in of_run]
    told = {"first_run": first_run, "last_run": last_run}
    return rehearse(scene, **told, compiled=compiled, prepared=ready, each=each)


@dataclass(frozen=True, slots=True, kw_only=True)
class UnsureBand:
    """The airway of one burial with uncertain constants, s since the alarm; None: not by the horizon."""

    id: str
    p10: float | None
    p50: float | None
    p90: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class MadeBy:
    """One constant and its share, 0 to 1, of the spread that all constants together cause."""

    constant: str
    share: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Unsure:
    """The uncertainty from the constants: a band per burial, and which constants cause it, largest first."""

    runs: int
    burials: tuple[UnsureBand, ...]
    made_by: tuple[MadeBy, ...]


def unsure(rehearsal: Rehearsal) -> Unsure:
    """Summarise a rehearsal made by `rehearse_unsure`.

    Notes
    -----
    A constant's share is its squared rank correlation with the time to the airway, averaged over the
    burials and divided by the sum over all constants. Correlations that chance alone could give (within
    three standard errors of zero, 3 / sqrt(runs)) count as zero. A burial not found ranks last.
    """
    airway = rehearsal.or_never(rehearsal.column("airway"))
    bands = []
    for j, name in enumerate(rehearsal.burials):
        known = np.sort(airway[:, j])
        p10, p50, p90 = (quantile(known, share) for share in (0.1, 0.5, 0.9))
        bands.append(UnsureBand(id=name, p10=p10, p50=p50, p90=p90))
    return Unsure(runs=rehearsal.runs, burials=tuple(bands), made_by=_made_by(rehearsal, airway))


def _made_by(rehearsal: Rehearsal, airway: NDArray[np.float64]) -> tuple[MadeBy, ...]:
    if rehearsal.runs < 3:
        return ()
    runs = range(rehearsal.first_run, rehearsal.last_run)
    shifts = np.array([drawn_shifts(seed=rehearsal.seed, run=run) for run in runs])
    ranks = np.apply_along_axis(_ranks, 0, shifts)
    times = np.apply_along_axis(_ranks, 0, np.where(np.isfinite(airway), airway, 1e12))
    ranks = ranks - ranks.mean(axis=0)
    times = times - times.mean(axis=0)
    scale = np.linalg.norm(ranks, axis=0)[:, None] * np.linalg.norm(times, axis=0)[None, :]
    with np.errstate(invalid="ignore", divide="ignore"):
        r = np.where(scale > 0.0, ranks.T @ times / scale, 0.0)
    r = np.where(np.abs(r) > 3.0 / np.sqrt(rehearsal.runs), r, 0.0)
    weight = (r**2).mean(axis=1)
    if weight.sum() <= 0.0:
        return ()
    found = [
        MadeBy(constant=c.name, share=float(w / weight.sum()))
        for c, w in zip(unsure_constants(), weight, strict=True)
        if w > 0.0
    ]
    return tuple(sorted(found, key=lambda part: (-part.share, part.constant)))


def _ranks(values: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the rank of each value from 1 up; equal values share their mean rank."""
    # Written out, because scipy.stats takes a second to load.
    _, which, many = np.unique(values, return_inverse=True, return_counts=True)
    last = np.cumsum(many)
    return (last - 0.5 * (many - 1))[which]
