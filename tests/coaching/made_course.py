"""Courses of made groups: people from other tables than ours, 5 to 20 runs to learn from, others held out.

Medians are shifted log-normally by up to one deviation between people, spreads are 0.7 to 1.4 times ours, and
all runs of a day share one effect. With `other_digging` the hole and the snow are also different.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "rescue"))

from made_groups import _member, _on_a_day, _table_of_a_group
from small_drills import burial, drill, searcher, straight_lanes

from coldfield.coaching.difficulty import Difficulty, difficulty
from coldfield.coaching.learn import Learned, learn
from coldfield.coaching.own import Own
from coldfield.coaching.timed import Moment, TimedRun
from coldfield.drill import SKILLS, Drill, Skill
from coldfield.rescue.digging import UNSURE_DIGGING
from coldfield.rescue.rehearsal import MOMENTS, Scene, rehearse
from coldfield.rescue.settings import SETTINGS, Settings
from coldfield.rescue.unsure import rehearse_unsure

DAY = 0.15
PEOPLE = ("ada", "ben", "cem", "dot")
SKILL_NAMES = ("novice", "practised", "expert")
HARD_RUNS, BAND_RUNS, LEFT_OUT = 250, 500, 4
PRESSED = ("first_signal", "within_10_m", "lowest_reading", "probe_strike", "airway")


@cache
def plans(skill: str) -> tuple[Drill, ...]:
    """Six drills of one skill: one or two burials, two to four people, 0.5 to 1.5 m deep."""
    made = []
    for k in range(6):
        sets = [burial("A", (8.0 + 5.0 * k, 30.0 - 4.0 * k), 0.5 + 0.2 * k)]
        if k % 2:
            sets.append(burial("B", (33.0 - 3.0 * k, 12.0 + 4.0 * k), 1.3 - 0.15 * k))
        made.append(drill(sets, [searcher(who, skill) for who in PEOPLE[: 2 + k % 3]]))
    return tuple(made)


def scene(plan: Drill, *, seed: int = 4, settings: Settings = SETTINGS) -> Scene:
    lanes = straight_lanes(plan)
    return Scene(drill=plan, lanes=lanes, seed=seed, second=lanes, settings=settings)


@cache
def hard(plan: Drill) -> Difficulty:
    return difficulty(scene(plan, seed=11), runs=HARD_RUNS)


@dataclass(frozen=True)
class MadeCourse:
    """A made group: its true people, the runs to learn from, and held-out runs with their drills."""

    skill: str
    members: dict[str, Skill]
    settings: Settings
    runs: tuple[TimedRun, ...]
    left_out: tuple[tuple[Drill, np.ndarray], ...]


def made_course(
    number: int, *, family: int, other_digging: bool, runs: int | None = None, day: float = DAY
) -> MadeCourse:
    rng = np.random.default_rng([number, family])
    skill = SKILL_NAMES[number % 3]
    table = _table_of_a_group(rng, SKILLS[skill])
    members = {who: _member(rng, table) for who in PEOPLE}
    settings = _digging_of(rng) if other_digging else SETTINGS
    count = int(rng.integers(5, 21)) if runs is None else runs
    told, left, effect = [], [], 0.0
    for k in range(count + LEFT_OUT):
        if k % 3 == 0 or k >= count:
            effect = day * float(rng.normal())
        plan = plans(skill)[int(rng.integers(6))]
        people = [_on_a_day(members[s.id], effect) for s in plan.searchers]
        done = rehearse(
            scene(
                replace(
                    plan,
                    searchers=tuple(replace(s, skill=p) for s, p in zip(plan.searchers, people, strict=True)),
                ),
                seed=500_000 + 1000 * family + number,
                settings=settings,
            ),
            first_run=k,
            last_run=k + 1,
        )
        if k < count:
            told.append(_timed(f"r{k}", f"day {k // 3}", plan, done))
        else:
            left.append((plan, done.or_never(done.column("airway"))[0]))
    return MadeCourse(skill, members, settings, tuple(told), tuple(left))


def _digging_of(rng: np.random.Generator) -> Settings:
    dug = {
        name: getattr(SETTINGS.digging, name) * factor ** float(rng.uniform(-1.0, 1.0))
        for name, factor in UNSURE_DIGGING.items()
    }
    return replace(SETTINGS, digging=replace(SETTINGS.digging, **dug))


def _timed(name: str, day: str, plan: Drill, done) -> TimedRun:
    moments = {}
    for j, one in enumerate(plan.burials):
        who = int(done.finder[0, j])
        finder = plan.searchers[who].id if who >= 0 else None
        at = {m: float(done.moments_s[0, j, MOMENTS.index(m)]) for m in PRESSED}
        moments[one.id] = {
            m: Moment(t_s=t, searcher=finder if m != "airway" else None)
            for m, t in at.items()
            if np.isfinite(t) and t <= SETTINGS.horizon_s
        }
    return TimedRun(
        id=name,
        name=name,
        day=day,
        drill=plan,
        people={who: who for who in PEOPLE},
        moments=moments,
        end_s=SETTINGS.horizon_s,
    )


def learned(course: MadeCourse) -> Learned:
    return learn(course.runs, lambda run: hard(run.drill), PEOPLE)


@cache
def band_before(plan: Drill) -> tuple[np.ndarray, np.ndarray]:
    """p10 and p90 of each airway before any run, from the rehearsal's wide band."""
    told = rehearse_unsure(scene(plan), first_run=0, last_run=2 * BAND_RUNS)
    return _band(told)


def band_after(course: MadeCourse, of: Learned, plan: Drill) -> tuple[np.ndarray, np.ndarray]:
    own = Own(learned=of, people={who: who for who in PEOPLE}, seed=4)
    told = rehearse_unsure(
        replace(scene(plan), drill=own.middle(plan)),
        first_run=0,
        last_run=BAND_RUNS,
        drawn=own.drawn,
    )
    return _band(told)


def _band(told) -> tuple[np.ndarray, np.ndarray]:
    ordered = np.sort(told.or_never(told.column("airway")), axis=0)
    n = len(ordered)
    return ordered[n // 10], ordered[9 * n // 10]


@dataclass(frozen=True)
class Honest:
    """Shares of held-out runs inside 80 % bands, and how much narrower these are."""

    share: float
    low: float
    high: float
    before: float
    width_ratio: float
    below: float
    above: float


def honesty(
    *, groups: int, family: int, other_digging: bool, day: float = DAY, runs: int | None = None
) -> Honest:
    after, before, ratios, sides = [], [], [], []
    for number in range(groups):
        course = made_course(number, family=family, other_digging=other_digging, day=day, runs=runs)
        of = learned(course)
        inside, old = [], []
        bands = {}
        for plan, airway in course.left_out:
            if plan not in bands:
                bands[plan] = band_after(course, of, plan)
            low, high = bands[plan]
            was = band_before(plan)
            inside += ((airway >= low) & (airway <= high)).tolist()
            old += ((airway >= was[0]) & (airway <= was[1])).tolist()
            sides += [
                (-1.0 if a < lo else 1.0 if a > hi else 0.0)
                for a, lo, hi in zip(airway, low, high, strict=True)
            ]
            with np.errstate(invalid="ignore"):
                ratio = np.log(high / low) / np.log(was[1] / was[0])
            ratios += ratio[np.isfinite(ratio)].tolist()
        after.append((sum(inside), len(inside)))
        before.append(float(np.mean(old)))
    rng = np.random.default_rng(8)
    hits = np.array(after, dtype=float)
    picks = rng.integers(groups, size=(2000, groups))
    shares = hits[picks, 0].sum(axis=1) / hits[picks, 1].sum(axis=1)
    low, high = np.quantile(shares, [0.025, 0.975])
    return Honest(
        share=float(hits[:, 0].sum() / hits[:, 1].sum()),
        low=float(low),
        high=float(high),
        before=float(np.mean(before)),
        width_ratio=float(np.median(ratios)),
        below=float(np.mean(np.array(sides) < 0)),
        above=float(np.mean(np.array(sides) > 0)),
    )
