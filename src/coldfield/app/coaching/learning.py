"""Learn a group's constants from its runs on record."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from functools import lru_cache, partial
from typing import Any

import numpy as np

from coldfield.app.coaching.answers import LearnedAnswer, LearnedConstant, RunDot
from coldfield.app.coaching.group_runs import GroupRuns
from coldfield.app.coaching.saying import headlines, outlier_words
from coldfield.app.jobs.stages import Steps
from coldfield.app.rehearsals.constants import constant_words
from coldfield.app.rehearsals.rehearse import both_passes
from coldfield.coaching.difficulty import CONSTANTS, Difficulty, difficulty, moved
from coldfield.coaching.learn import EIGHT_OF_TEN, OF_THE_GROUP, Learned, learn
from coldfield.drill.cautions import LIMITS
from coldfield.drill.drill import Drill
from coldfield.drill.skills import SKILLS, Constant, Skill
from coldfield.errors import ColdfieldError, Refused
from coldfield.message import message
from coldfield.rescue import MODEL_VERSION
from coldfield.rescue.lanes_like import NoLanes
from coldfield.rescue.rehearsal import Scene

WORKERS = 2

RUNS = 250
"""Rehearsals of a drill with median constants; 17 more sets have one constant changed each. Setting."""

SEED = 22

DOT = 0.3
"""A run is drawn beside a constant that changes the run's interval by at least this share. Setting."""


def learn_from(
    group: GroupRuns, *, progress: Steps | None = None, cancelled: Callable[[], bool] | None = None
) -> Learned:
    """Return what a group's runs show; each different drill is rehearsed once.

    Raises
    ------
    Refused
        If `cancelled` returned True.
    """
    drills = list(dict.fromkeys(_bare(run.drill) for run in group.runs))
    found: dict[Drill, Difficulty | None] = {}
    with ThreadPoolExecutor(max_workers=WORKERS) as pool:
        for number, (drill, hard) in enumerate(zip(drills, pool.map(_hard_or_none, drills), strict=True)):
            found[drill] = hard
            if progress is not None:
                progress(number + 1, len(drills))
            if cancelled is not None and cancelled():
                pool.shutdown(cancel_futures=True)
                raise Refused(message("fault.coach_cancelled"))
    told = [(run, hard) for run in group.runs if (hard := found[_bare(run.drill)]) is not None]
    by_run = {run.id: hard for run, hard in told}
    return learn([run for run, _ in told], lambda run: by_run[run.id], tuple(group.people))


def _hard_or_none(drill: Drill) -> Difficulty | None:
    """Return a drill's rehearsals; None if it cannot be rehearsed, for example without burials or ground."""
    try:
        return _hard(drill)
    except ColdfieldError:
        return None


def _bare(drill: Drill) -> Drill:
    """Return a drill without the names of people, since names do not make it harder."""
    return replace(drill, name="", searchers=tuple(replace(s, name=s.id) for s in drill.searchers))


@lru_cache(maxsize=64)
def _hard(drill: Drill) -> Difficulty:
    lanes, second = both_passes(drill, None)
    scene = Scene(drill=drill, lanes=lanes or NoLanes(), second=second, seed=SEED)
    return difficulty(scene, runs=RUNS)


def learned_answer(group: GroupRuns, learned: Learned) -> LearnedAnswer:
    """Return what `coldfield learn --json` prints."""
    skills = _skills(group)
    constants = []
    for person in (None, *learned.people):
        constants += _constants(group, learned, person, skills)
    return LearnedAnswer(
        model_version=MODEL_VERSION,
        group=group.group,
        course_id=group.course_id,
        runs=learned.runs,
        simulated=group.simulated,
        told_enough=learned.told_enough,
        headlines=headlines(learned),
        constants=tuple(constants),
        outliers=tuple(outlier_words(one, group) for one in learned.outliers),
        left_out=group.left_out,
        notes=(message("note.coach.pace_of_digging"), message("note.coach.not_learned")),
        cautions=LIMITS,
    )


def _skills(group: GroupRuns) -> dict[str | None, Skill]:
    """Return each person's skill from their newest drill, and the group's median skill under the key None."""
    found: dict[str | None, Skill] = {}
    for run in group.runs:
        for searcher in run.drill.searchers:
            if (who := run.people.get(searcher.id)) is not None:
                found[who] = searcher.skill
    all_of_them = list(found.values()) or [s.skill for run in group.runs for s in run.drill.searchers]
    found[None] = _middle_skill(all_of_them or [SKILLS["practised"]])
    return found


def _middle_skill(skills: list[Skill]) -> Skill:
    """Return the middle of several skills: the mean of logarithms, of logits for shares."""
    values: dict[str, Any] = {}
    for line in CONSTANTS:
        scaled = [_scaled(float(getattr(skill, line.name)), line) for skill in skills]
        values[line.name] = _unscaled(float(np.mean(scaled)), line)
    return replace(skills[0], **values)


def _scaled(value: float, line: Constant) -> float:
    value = max(value, 1e-9)
    if line.kind == "share":
        value = min(value, 1.0 - 1e-9)
        return float(np.log(value / (1.0 - value)))
    return float(np.log(value))


def _unscaled(value: float, line: Constant) -> float:
    return float(1.0 / (1.0 + np.exp(-value))) if line.kind == "share" else float(np.exp(value))


def _constants(
    group: GroupRuns, learned: Learned, person: str | None, skills: dict[str | None, Skill]
) -> list[LearnedConstant]:
    skill = skills.get(person, skills[None])
    shift, spread, before = learned.shift(person)
    known = learned.is_learned(person)
    at = partial(moved, skill)
    middle, low, high = (at(shift + k * spread) for k in (0.0, -EIGHT_OF_TEN, EIGHT_OF_TEN))
    was_low, was_high = (at(k * before) for k in (-EIGHT_OF_TEN, EIGHT_OF_TEN))
    rows = []
    for k, line in enumerate(CONSTANTS):
        if person is not None and line.name in OF_THE_GROUP:
            continue
        now = (middle, low, high) if known[k] else (skill, was_low, was_high)
        values = [float(getattr(one, line.name)) for one in now]
        rows.append(
            LearnedConstant(
                name=line.name,
                words=constant_words(line.name),
                person=person,
                person_name=None if person is None else group.people.get(person, person),
                middle=values[0],
                low=values[1],
                high=values[2],
                prior_middle=float(getattr(skill, line.name)),
                prior_low=float(getattr(was_low, line.name)),
                prior_high=float(getattr(was_high, line.name)),
                runs=learned.runs_of.get((person, line.name), 0),
                learned=bool(known[k]),
                dots=_dots(learned, person, k, skill) if known[k] else (),
            )
        )
    return rows


def _dots(learned: Learned, person: str | None, k: int, skill: Skill) -> tuple[RunDot, ...]:
    """Return the value of a constant from each run alone, with everything else at its current estimate."""
    shift, _, _ = learned.shift(person)
    dots = []
    for one, away in zip(learned.seen, learned.away.tolist(), strict=True):
        slope = float(one.predicted.slopes[k])
        if abs(slope) < DOT or not one.interval.ended or (person is not None and one.person != person):
            continue
        step = np.zeros(len(CONSTANTS))
        step[k] = shift[k] + away / slope
        value = float(getattr(moved(skill, np.clip(step, -3.0, 3.0)), CONSTANTS[k].name))
        dots.append(RunDot(run_id=one.run.id, run=one.run.name, value=value))
    return tuple(dots)
