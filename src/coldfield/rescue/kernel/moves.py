"""Walking, standing, leaving a lane; compiled."""

from __future__ import annotations

from math import exp, inf, sqrt

from coldfield.rescue.kernel.compiled import inner, part
from coldfield.rescue.kernel.layout import HEARD, LANE
from coldfield.rescue.kernel.receiver import where


@part
def pace(rules, dx, dy):
    """Return the speed along a direction on the snow, relative to walking on level snow."""
    up = dy * rules.sin_slope
    flat = sqrt(max(dx * dx + dy * dy - up * up, 1e-300))
    grade, share = up / flat, 1.0
    if abs(grade) > rules.steepest:
        # Zigzags: only the height counts.
        grade = rules.steepest if up > 0.0 else -rules.steepest
        share = rules.steepest / (abs(up) * sqrt(1.0 + rules.steepest * rules.steepest))
    return rules.travel * share * exp(-3.5 * (abs(grade + 0.05) - 0.05))


@part
def stop(person, t):
    """Stand still where the person is."""
    person.x, person.y = where(person, t)
    person.since, person.speed, person.timer = t, 0.0, inf


@part
def head_for(person, rules, t, x, y, speed):
    """Set off straight to a place; the timer ends on arrival."""
    person.gx, person.gy, person.since = x, y, t
    ex, ey = x - person.x, y - person.y
    length = sqrt(ex * ex + ey * ey)
    if length > 0.0:
        person.dx, person.dy = ex / length, ey / length
        person.speed = speed * pace(rules, person.dx, person.dy)
        person.timer = t + length / person.speed
    else:
        person.speed, person.timer = 0.0, t


@part
def off_lane(state, s, t, keep):
    """Remember how far the lane has been walked; without `keep` somebody else may take it over."""
    person = state.people[s]
    if person.lane < 0:
        return
    way = state.ways[person.lane]
    if person.mode == LANE:
        way.x, way.y = where(person, t)
    if not keep:
        way.walker, person.lane = -1, -1


@part
def unheard(state, s):
    """Forget which pulses were heard."""
    for i in range(state.pairs.shape[1]):
        state.pairs[s, i, HEARD] = 0


@inner
def candidate(state, j):
    """True for a burial that nobody has struck and nobody follows."""
    b = state.buried[j]
    return not b.struck and b.claimed < 0 and not b.needs
