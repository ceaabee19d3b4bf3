"""Why a proposed drill is hard, and what it trains, from its burials and from where its minutes go."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations
from math import dist, pi

import numpy as np

from coldfield.coaching.candidates import (
    APART_M,
    CLOSE_M,
    DEEP_M,
    HEARD_TOGETHER_M,
    LIKE_PERIODS_S,
    Wish,
)
from coldfield.coaching.exercises import EXERCISES, Exercise, exercise_for_phase
from coldfield.coaching.propose import Proposal
from coldfield.drill import Burial
from coldfield.message import Message, about, length, message, share

UPRIGHT_RAD = 0.9 * pi / 2.0
"""A set tilted more than this counts as upright. Setting."""

MOST_TRAINED = 3

PHASE_WORDS = {
    "signal": message("coach.phase.signal"),
    "coarse": message("coach.phase.coarse"),
    "fine": message("coach.phase.fine"),
    "probe": message("coach.phase.probe"),
    "dig": message("coach.phase.dig"),
}


def why_hard(told: Proposal) -> tuple[Message, ...]:
    """Return what makes a drill hard: where its minutes go, then how its sets lie."""
    burials = told.drill.burials
    found = [_minutes(told)]
    deepest = max(burials, key=lambda b: b.depth_m)
    if deepest.depth_m >= DEEP_M[0]:
        found.append(message("why.deep", id=deepest.id, depth=length(deepest.depth_m)))
    found += [message("why.upright", id=b.id) for b in burials if abs(b.antenna.tilt_rad) > UPRIGHT_RAD]
    for one, other in combinations(burials, 2):
        away = dist(one.position_m, other.position_m)
        if away <= CLOSE_M[1]:
            found.append(message("why.close", one=one.id, other=other.id, away=length(away)))
        if away <= HEARD_TOGETHER_M and _in_step(one, other):
            found.append(message("why.overlap", one=one.id, other=other.id))
    entry = told.drill.site.entry_m
    farthest = max(burials, key=lambda b: dist(b.position_m, entry))
    found.append(message("why.far", id=farthest.id, away=length(dist(farthest.position_m, entry))))
    if len(burials) > 1 and _nearest(burials) > APART_M:
        found.append(message("why.apart", away=length(_nearest(burials))))
    return tuple(found)


def _nearest(burials: Sequence[Burial]) -> float:
    return min(dist(a.position_m, b.position_m) for a, b in combinations(burials, 2))


def _in_step(one: Burial, other: Burial) -> bool:
    first, second = one.transmitter, other.transmitter
    if first is None or second is None:
        return False
    return abs(first.period_s - second.period_s) <= LIKE_PERIODS_S


def slowest_phase(told: Proposal) -> tuple[str, str, float]:
    """Return the burial most often freed last, and the phase that takes most of its time, with its share."""
    airway = told.rehearsal.or_never(told.rehearsal.column("airway"))
    last = int(np.bincount(np.argmax(airway, axis=1), minlength=airway.shape[1]).argmax())
    minutes = {name: float(np.nanmean(s[:, last])) for name, s in told.rehearsal.durations_s().items()}
    known = {name: value for name, value in minutes.items() if np.isfinite(value)}
    most = max(known, key=lambda name: known[name])
    return told.rehearsal.burials[last], most, known[most] / sum(known.values())


def _minutes(told: Proposal) -> Message:
    burial, phase, part = slowest_phase(told)
    return message(
        "why.minutes", id=burial, phase=PHASE_WORDS[phase], share=share(part), half=about(told.p50_s)
    )


def trained(told: Proposal, wishes: Sequence[Wish]) -> tuple[Exercise, ...]:
    """Return what a drill trains: the exercises for its wishes, and the one for its slowest phase."""
    served = (next((one for one in EXERCISES if one.wish == wish), None) for wish in wishes)
    found = [one for one in served if one is not None]
    slowest = exercise_for_phase(slowest_phase(told)[1])
    by_id = {one.id: one for one in (*([slowest] if slowest else []), *found)}
    return tuple(by_id.values())[:MOST_TRAINED]
