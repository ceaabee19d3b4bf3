"""Groups from other tables than ours, and how often our bands contain their results in advance.

A made group has its own people: medians are shifted log-normally by up to one deviation between people,
spreads are 0.7 to 1.4 times ours, and every run has a common effect of the day. With `other_digging` its snow
and digging are also different.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import exp

import numpy as np
from small_drills import burial, drill, searcher, straight_lanes

from coldfield.drill import Drill, Skill
from coldfield.drill.skills import TABLE, Spread
from coldfield.rescue.digging import UNSURE_DIGGING
from coldfield.rescue.rehearsal import Scene, rehearse
from coldfield.rescue.settings import SETTINGS, Settings
from coldfield.rescue.unsure import rehearse_unsure

DAY = 0.15
"""Deviation of the logarithm of the common effect of a day on speeds, rates and times."""

GROUPS, RUNS, FAMILY = 60, 10, 1604


@dataclass(frozen=True)
class Coverage:
    """Share of runs inside the 80 % bands, with a 95 % interval from resampling groups."""

    share: float
    low: float
    high: float


def _planned() -> list[Drill]:
    """Six drills: one or two burials, two to four people, all skills."""
    plans = []
    for k, skill in enumerate(("novice", "practised", "expert") * 2):
        sets = [burial("A", (14.0, 28.0), 0.7 + 0.1 * k)]
        if k % 2:
            sets.append(burial("B", (33.0, 12.0), 1.2 - 0.1 * k))
        plans.append(drill(sets, [searcher(f"s{n}", skill) for n in range(2 + k % 3)]))
    return plans


def _table_of_a_group(rng: np.random.Generator, skill: Skill) -> Skill:
    """Return a table with other medians and spreads."""
    middles, spreads = {}, {}
    for line in TABLE:
        if line.kind == "count":
            continue
        shift = float(np.clip(rng.normal(), -1.0, 1.0)) * line.spread.between
        middles[line.name] = _moved(getattr(skill, line.name), shift, line.kind)
        factor = float(rng.uniform(0.7, 1.4))
        spreads[line.name] = Spread(between=line.spread.between * factor, within=line.spread.within * factor)
    return replace(skill, spread=spreads, **middles)


def _moved(value: float, shift: float, kind: str) -> float:
    by = exp(shift)
    return value * by / (1.0 - value + value * by) if kind == "share" else value * by


def _member(rng: np.random.Generator, table: Skill) -> Skill:
    """Return one person of a group: the same in all its runs, with only a spread from run to run."""
    quick, middles, spreads = float(rng.normal()), {}, {}
    for line in TABLE:
        if line.kind == "count":
            continue
        of = table.spread[line.name]
        own = (1.0 - table.shared) ** 0.5 * float(rng.normal())
        shift = of.between * (line.quick * table.shared**0.5 * quick + own)
        middles[line.name] = _moved(getattr(table, line.name), shift, line.kind)
        spreads[line.name] = Spread(between=0.0, within=of.within)
    return replace(table, spread=spreads, **middles)


def _on_a_day(skill: Skill, effect: float) -> Skill:
    """Return a skill on a slow day: everything except shares takes longer by a factor."""
    slower = {
        line.name: getattr(skill, line.name) * exp(-line.quick * effect)
        for line in TABLE
        if line.kind == "positive"
    }
    return replace(skill, **slower)


def airways_of_group(number: int, *, other_digging: bool, family: int = FAMILY) -> tuple[int, np.ndarray]:
    """Return which drill a made group does, and its airways, s, shape (runs, burials), inf for never.

    Each `family` is another set of groups.
    """
    rng = np.random.default_rng([number, family])
    plans = _planned()
    which = number % len(plans)
    plan = plans[which]
    table = _table_of_a_group(rng, plan.searchers[0].skill)
    members = [_member(rng, table) for _ in plan.searchers]
    rules: Settings = SETTINGS
    if other_digging:
        dug = {
            name: getattr(SETTINGS.digging, name) * factor ** float(rng.uniform(-1.0, 1.0))
            for name, factor in UNSURE_DIGGING.items()
        }
        rules = replace(SETTINGS, digging=replace(SETTINGS.digging, **dug))
    lanes, airways = straight_lanes(plan), []
    for run in range(RUNS):
        effect = DAY * float(rng.normal())
        people = tuple(
            replace(s, skill=_on_a_day(m, effect)) for s, m in zip(plan.searchers, members, strict=True)
        )
        done = rehearse(
            Scene(
                drill=replace(plan, searchers=people),
                lanes=lanes,
                seed=90_000 + 1000 * (family - FAMILY) + number,
                second=lanes,
                settings=rules,
            ),
            first_run=run,
            last_run=run + 1,
        )
        airways.append(done.or_never(done.column("airway"))[0])
    return which, np.array(airways)


def coverage(
    *,
    unsure: bool,
    other_digging: bool,
    groups: int = GROUPS,
    forecast_runs: int = 600,
    family: int = FAMILY,
) -> Coverage:
    """Return how often the 80 % bands contain the results of made groups, before any run is known."""
    bands = []
    for plan in _planned():
        lanes = straight_lanes(plan)
        play = rehearse_unsure if unsure else rehearse
        scene = Scene(drill=plan, lanes=lanes, seed=4, second=lanes)
        told = play(scene, first_run=0, last_run=forecast_runs)
        ordered = np.sort(told.or_never(told.column("airway")), axis=0)
        bands.append((ordered[forecast_runs // 10], ordered[9 * forecast_runs // 10]))
    inside = []
    for number in range(groups):
        which, airways = airways_of_group(number, other_digging=other_digging, family=family)
        low, high = bands[which]
        inside.append(float(np.mean((airways >= low) & (airways <= high))))
    rng = np.random.default_rng(8)
    means = [float(np.mean(rng.choice(inside, groups))) for _ in range(2000)]
    low, high = np.quantile(means, [0.025, 0.975])
    return Coverage(share=float(np.mean(inside)), low=float(low), high=float(high))
