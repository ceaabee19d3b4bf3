"""Digging: who is at the face, how fast, until when; compiled."""

from __future__ import annotations

from math import exp, inf

from coldfield.rescue.kernel.compiled import part
from coldfield.rescue.kernel.layout import AIRWAY_T, AT, DIG, GO, IDLE
from coldfield.rescue.kernel.moves import stop


@part
def join(fixed, state, s, t):
    """Begin to dig."""
    person = state.people[s]
    person.mode, person.timer, person.dig_began = DIG, inf, t
    person.since, person.speed = t, 0.0
    update_dig(fixed, state, person.target, t)


@part
def _hands(people, room, rules):
    """Return the equivalent number of fresh people at the face for a crew."""
    if people <= room:
        return people
    return room * (1.0 + rules.turns * (1.0 - exp(-(people - room) / room)))


@part
def update_dig(fixed, state, j, t):
    """Subtract what was dug since the last change, and work out when the dig ends at this rate."""
    b, rules, room = state.buried[j], fixed.rules[0], fixed.laid[j].room
    b.snow -= b.rate * (t - b.updated)
    b.updated = t
    if b.uncovering:
        return
    if not b.dug:
        b.dug, b.dug_since = 1, t
    n = 0
    for s in range(len(state.people)):
        if state.people[s].mode == DIG and state.people[s].target == j:
            rate, k = state.who[s].dig, n
            while k > 0 and state.people[k - 1].crew_rate < rate:
                state.people[k].crew_rate = state.people[k - 1].crew_rate
                k -= 1
            state.people[k].crew_rate = rate
            n += 1
    total = 0.0
    for k in range(n):
        total += state.people[k].crew_rate * (_hands(k + 1.0, room, rules) - _hands(1.0 * k, room, rules))
    fresh = 1.0 - rules.block_loss * b.block
    working = min(1.0, room / n) if n > 0 else 1.0
    b.rate = total * (1.0 - (1.0 - max(rules.sustained, fresh)) * working) * b.luck
    end = t + b.snow / b.rate
    boundary = inf if fresh <= rules.sustained else b.dug_since + rules.block * (b.block + 1)
    b.ends = 1 if end <= boundary else 0
    b.due = min(end, boundary)


@part
def dig_timer(fixed, state, j, t):
    """Handle the end of a stage: the face is reached, the crew is more tired, or the airway is free."""
    b = state.buried[j]
    if not b.uncovering:
        if b.ends:
            b.uncovering, b.due = 1, t + fixed.rules[0].uncover
        else:
            b.block += 1
            update_dig(fixed, state, j, t)
        return
    b.clear, b.due = 1, inf
    state.moments[j, AIRWAY_T] = t
    for s in range(len(state.people)):
        person = state.people[s]
        if person.target == j and person.mode in (GO, AT, DIG):
            stop(person, t)
            person.mode, person.target = IDLE, -1
    state.misc[0].share = 1
