"""What to practise next: what frees the most airways in time, and what takes a person longest."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import exp, sqrt

import numpy as np

from coldfield.coaching.exercises import Exercise, exercise_for_phase
from coldfield.coaching.learn import Learned, Seen
from coldfield.coaching.timed import ALARM
from coldfield.rescue.worth import Worth

PHASE_OF_CHANGE: Mapping[str, str] = {
    "change.signal_faster": "signal",
    "change.coarse_faster": "coarse",
    "change.fine_faster": "fine",
    "change.probing_faster": "probe",
    "change.digging_faster": "dig",
}
"""The phase that each change of 'what helps most' makes faster; other changes cannot be practised."""

PHASE_OF_END: Mapping[str, str] = {
    "first_signal": "signal",
    "turn": "signal",
    "within_10_m": "coarse",
    "fine_start": "coarse",
    "lowest_reading": "fine",
    "probe_strike": "probe",
}
"""The phase of an interval, by the moment at which it ends; only if it began with the phase."""

_BEGINS = {
    "signal": (ALARM,),
    "coarse": ("first_signal", "turn"),
    "fine": ("within_10_m", "fine_start"),
    "probe": ("lowest_reading",),
}

LEAST_MINUTES = 0.05
"""A phase that saves fewer minutes per run is not suggested for practice. Setting."""

BEYOND = 1.0
"""Standard errors beyond which a person's phase takes longer than expected. Setting."""


@dataclass(frozen=True, slots=True, kw_only=True)
class GroupNeed:
    """The gain from practising a phase: airways freed in time and minutes saved, averaged over drills."""

    phase: str
    gain_survivors: float
    gain_minutes: float
    exercise: Exercise


@dataclass(frozen=True, slots=True, kw_only=True)
class PersonNeed:
    """The phase in which a person is slowest for their skill, s per run, with its uncertainty, s."""

    person: str
    phase: str | None
    seconds: float
    doubt_s: float
    runs: int
    exercise: Exercise | None


def group_needs(worth: Sequence[Sequence[Worth]]) -> list[GroupNeed]:
    """Return what helps the group, largest gain first; there is one sequence for each drill.

    A change that counts in no drill is left out (`Worth.counts`).
    """
    found = []
    for code, phase in PHASE_OF_CHANGE.items():
        told = [one for drill in worth for one in drill if one.change.code == code]
        exercise = exercise_for_phase(phase)
        minutes = float(np.mean([one.gain_minutes for one in told])) if told else 0.0
        if exercise is None or minutes < LEAST_MINUTES or not any(one.counts for one in told):
            continue
        found.append(
            GroupNeed(
                phase=phase,
                gain_survivors=float(np.mean([one.gain_survivors for one in told])),
                gain_minutes=minutes,
                exercise=exercise,
            )
        )
    return sorted(found, key=lambda need: (-need.gain_survivors, -need.gain_minutes))


def person_need(learned: Learned, person: str) -> PersonNeed:
    """Return the phase that a person should practise, or None if too little is known."""
    by_phase: dict[str, list[Seen]] = {}
    for one in learned.seen:
        phase = PHASE_OF_END.get(one.interval.end)
        if one.person == person and phase is not None and one.interval.begin in _BEGINS[phase]:
            by_phase.setdefault(phase, []).append(one)
    runs = len({one.run.id for told in by_phase.values() for one in told})
    needs = [(*_longer(learned, person, told), phase) for phase, told in by_phase.items()]
    sure = [need for need in needs if need[0] > BEYOND * need[1]]
    if not sure:
        return PersonNeed(person=person, phase=None, seconds=0.0, doubt_s=0.0, runs=runs, exercise=None)
    seconds, doubt, phase = max(sure)
    return PersonNeed(
        person=person,
        phase=phase,
        seconds=seconds,
        doubt_s=doubt,
        runs=runs,
        exercise=exercise_for_phase(phase),
    )


def _longer(learned: Learned, person: str, told: Sequence[Seen]) -> tuple[float, float]:
    """Return how much longer a person takes for a phase than their skill suggests, s, and its deviation."""
    slopes = np.mean([one.predicted.slopes for one in told], axis=0)
    group, own = learned.row(None), learned.row(person)
    row = np.zeros(len(learned.fitted.middle))
    row[group] += slopes
    row[own] += slopes
    away = float(row @ learned.fitted.middle)
    spread = sqrt(max(float(row @ learned.fitted.covariance @ row), 0.0))
    usual = float(np.mean([exp(one.predicted.middle) for one in told]))
    return usual * (exp(away) - 1.0), usual * spread
