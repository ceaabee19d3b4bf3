"""From a first signal to the end of the spiral, for one searcher; compiled.

Functions that change somebody's task return True; the caller then assigns all tasks again.
"""

from __future__ import annotations

from math import atan2, cos, hypot, inf, nan, pi, sin, sqrt

from coldfield.beacon.compiled import carry_height_m
from coldfield.rescue.kernel.compiled import inner, part
from coldfield.rescue.kernel.draws import HOLE, PLACE, TURN, bell, four
from coldfield.rescue.kernel.layout import (
    AT,
    COARSE,
    CROSS_T,
    FINE,
    FINE_HEIGHT_M,
    FIRST_SIGNAL_T,
    HEARD,
    HEARD_K,
    HOLE_LENGTH_M,
    IDLE,
    LOSSES,
    LOST_K,
    LOWEST_T,
    MISSES_IN_FINE,
    PROBE,
    SEARCH_HEIGHT_M,
    TEN_T,
    TURN_T,
    TURNS,
)
from coldfield.rescue.kernel.moves import candidate, off_lane, pace, stop, unheard
from coldfield.rescue.kernel.receiver import sense, where

ON, ABOUT, TO_FINE, LOSE = 0, 1, 2, 3


@inner
def lane_pulse(fixed, state, s, i, k, t):
    """Test a pulse for somebody on a lane; True if they turn."""
    rules = fixed.rules[0]
    n = len(state.buried)
    if (i < n and not candidate(state, i)) or state.pairs[s, i, LOSSES] >= rules.most_losses:
        return False
    if k <= state.pairs[s, i, LOST_K]:
        return False
    bits = state.pairs[s, i, HEARD] if state.pairs[s, i, HEARD_K] == k - 1 else 0
    reading, x, y, aimed = sense(fixed, state, s, i, k, t)
    here = 1 if reading >= 0.0 else 0
    bits = ((bits << 1) | here) & 7
    state.pairs[s, i, HEARD], state.pairs[s, i, HEARD_K] = bits, k
    count = (bits & 1) + ((bits >> 1) & 1) + (bits >> 2)
    if here == 0 or count < (1 if rules.definite else 2):
        return False
    if i < n and state.moments[i, FIRST_SIGNAL_T] != state.moments[i, FIRST_SIGNAL_T]:
        state.moments[i, FIRST_SIGNAL_T] = t
    if not aimed:
        return False
    _turn(fixed, state, s, i, t, reading, x, y)
    return True


@part
def _turn(fixed, state, s, i, t, reading, x, y):
    rules, who, person = fixed.rules[0], state.who[s], state.people[s]
    off_lane(state, s, t, True)
    stop(person, t)
    unheard(state, s)
    person.mode, person.target, person.turned, person.height = COARSE, i, t, SEARCH_HEIGHT_M
    person.misses = person.abouts = person.attempt = person.swings = 0
    person.walked = person.best_walked = 0.0
    person.best, person.bx, person.by = reading, person.x, person.y
    if i < len(state.buried):
        state.buried[i].claimed = s
        state.moments[i, TURN_T] = t
        state.moments[i, TEN_T] = t if reading < rules.near_reading else nan
        state.moments[i, CROSS_T] = state.moments[i, LOWEST_T] = nan
    turn = state.pairs[s, i, TURNS]
    state.pairs[s, i, TURNS] = turn + 1
    _head(person, x, y)
    u, _, _, _ = four(state.misc[0].seed, state.misc[0].run, TURN, s, i, turn)
    if u < who.wrong:
        person.dx, person.dy = -person.dx, -person.dy
    _on(rules, who, person, t, who.stop, reading)
    if reading <= rules.fine_reading:
        to_fine(fixed, state, s, t)


@part
def _head(person, x, y):
    sign = 1.0 if person.dx * x + person.dy * y >= 0.0 else -1.0
    person.dx, person.dy = sign * x, sign * y


@part
def _on(rules, who, person, t, wait, reading):
    base = who.near if reading < rules.near_reading else who.coarse
    person.speed = base * pace(rules, person.dx, person.dy)
    person.since = max(t + wait, person.since)
    person.height = carry_height_m(reading, SEARCH_HEIGHT_M)


@part
def coarse_pulse(fixed, state, s, k, t):
    """Follow the line for one pulse; True if the approach ended or became the fine search."""
    rules, who, person = fixed.rules[0], state.who[s], state.people[s]
    i = person.target
    x, y = where(person, t)
    person.walked += hypot(x - person.x, y - person.y)
    person.x, person.y, person.since = x, y, max(t, person.since)
    reading, lx, ly, aimed = sense(fixed, state, s, i, k, t)
    if reading < 0.0:
        person.misses += 1
        if person.misses >= rules.lost_after:
            lose(fixed, state, s, k, t)
            return True
        further = person.walked > person.best_walked
        if person.misses == rules.back and person.abouts < rules.most_abouts and further:
            person.abouts += 1
            person.dx, person.dy = -person.dx, -person.dy
            person.best_walked, person.swings = person.walked, 0
            _on(rules, who, person, t, who.stop, person.best)
        return False
    person.misses = 0
    near = reading < rules.near_reading
    if i < len(state.buried) and near and state.moments[i, TEN_T] != state.moments[i, TEN_T]:
        state.moments[i, TEN_T] = t
    if reading < person.best:
        _lowest(person, reading)
    swung = bool(aimed) and near and _swung(rules, person, lx, ly)
    what = _what(rules, person, t, reading, swung)
    if what == LOSE:
        lose(fixed, state, s, k, t)
        return True
    if what == TO_FINE:
        to_fine(fixed, state, s, t)
        return True
    if what == ABOUT:
        person.abouts += 1
        person.dx, person.dy = -person.dx, -person.dy
        _lowest(person, reading)
        person.swings = 0
        _on(rules, who, person, t, who.stop, reading)
        return False
    if aimed:
        _head(person, lx, ly)
    _on(rules, who, person, t, 0.0, reading)
    return False


@part
def _lowest(person, reading):
    person.best, person.bx, person.by, person.best_walked = reading, person.x, person.y, person.walked


@part
def _what(rules, person, t, reading, swung):
    if reading <= rules.fine_reading or swung:
        return TO_FINE
    ending = TO_FINE if reading < rules.near_reading else LOSE
    if t - person.turned > rules.coarse_limit:
        return ending
    past = person.walked - person.best_walked
    if person.best > rules.about_above:
        if past > 0.0 and reading >= person.best + max(rules.about, rules.about_share * person.best):
            return ABOUT if person.abouts < rules.most_abouts else ending
    elif past >= rules.past and reading > person.best:
        return TO_FINE
    return ON


@part
def _swung(rules, person, x, y):
    angle = atan2(y, x)
    swung = False
    if person.swings > 0:
        swung = _apart(angle, person.s1) > rules.swing and _just(rules, person.walked - person.s1_walked)
    if person.swings > 1 and _just(rules, person.walked - person.s2_walked):
        swung = swung or _apart(angle, person.s2) > rules.swing
    person.s2, person.s2_walked = person.s1, person.s1_walked
    person.s1, person.s1_walked = angle, person.walked
    person.swings = min(person.swings + 1, 2)
    return swung


@part
def _just(rules, way):
    return way > 0.0 and way <= rules.swing_within


@part
def _apart(a, b):
    apart = abs(a - b) % pi
    return min(apart, pi - apart)


@part
def lose(fixed, state, s, k, t):
    """End an approach without a strike."""
    person = state.people[s]
    i = person.target
    state.pairs[s, i, LOSSES] += 1
    state.pairs[s, i, LOST_K] = k + fixed.rules[0].pause
    if i < len(state.buried):
        state.buried[i].claimed = -1
    stop(person, t)
    person.mode, person.target, person.height = IDLE, -1, SEARCH_HEIGHT_M


@part
def to_fine(fixed, state, s, t):
    """Start the fine search at the snow surface; a colleague's set is switched off instead."""
    person = state.people[s]
    n = len(state.buried)
    i = person.target
    stop(person, t)
    if i >= n:
        state.people[i - n].solved = 1
        state.misc[0].strays += 1
        person.mode, person.target, person.height = IDLE, -1, SEARCH_HEIGHT_M
        return
    if state.moments[i, CROSS_T] != state.moments[i, CROSS_T]:
        state.moments[i, CROSS_T] = t
    person.mode, person.height = FINE, FINE_HEIGHT_M
    person.ax, person.ay = person.dx, person.dy
    if person.attempt % 2 == 1:
        slant = sqrt(0.5)
        person.ax, person.ay = slant * (person.dx - person.dy), slant * (person.dx + person.dy)
    person.best, person.best_leg, person.leg, person.misses = inf, -1, 0, 0
    person.ex, person.ey = person.bx, person.by
    off = 0.0 if person.gear_off else fixed.rules[0].gear_off
    person.gear_off = 1
    _arm(state, s, t, off)


@part
def _arm(state, s, t, wait):
    person, who = state.people[s], state.who[s]
    x, y = 0.5 * (person.bx + person.ex), 0.5 * (person.by + person.ey)
    hx, hy = where(person, t)
    sign = 1.0 if person.leg % 2 == 0 else -1.0
    ax, ay = person.ax, person.ay
    if (person.leg // 2) % 2 == 1:
        ax, ay = -ay, ax
    person.x, person.y, person.since = x, y, t + wait + hypot(hx - x, hy - y) / (2.0 * who.fine)
    person.dx, person.dy, person.speed = sign * ax, sign * ay, who.fine
    person.improved = 0


@part
def fine_pulse(fixed, state, s, k, t):
    """Handle one pulse in the cross; True if somebody else may now get a task."""
    person, rules, who = state.people[s], fixed.rules[0], state.who[s]
    if t < person.since:
        return False
    reading, _, _, _ = sense(fixed, state, s, person.target, k, t)
    if reading < 0.0:
        person.misses += 1
        if person.misses < MISSES_IN_FINE:
            return False
        lose(fixed, state, s, k, t)
        return True
    person.misses = 0
    x, y = where(person, t)
    if reading < person.best - 0.05:
        person.improved = 1 if person.best < inf else 0
        person.best, person.best_leg = reading, person.leg
        person.bx, person.by, person.ex, person.ey = x, y, x, y
    elif reading < person.best + 0.05 and person.best_leg == person.leg:
        person.ex, person.ey = x, y
    if reading <= person.best + rules.rise and person.speed * (t - person.since) < rules.leg:
        return False
    person.leg += 2 if person.leg % 2 == 0 and person.improved else 1
    if person.leg < 4 * who.rounds:
        _arm(state, s, t, 0.0)
        return False
    j = person.target
    if state.moments[j, LOWEST_T] != state.moments[j, LOWEST_T]:
        state.moments[j, LOWEST_T] = t
    b = state.buried[j]
    b.px, b.py = 0.5 * (person.bx + person.ex), 0.5 * (person.by + person.ey)
    if who.probe > b.tried:
        spiral(fixed, state, s, j, t)
        return False
    want_probe(fixed, state, s, j, t)
    return True


@part
def want_probe(fixed, state, s, j, t):
    """Wait for a longer probe; if there is none, people dig at the lowest reading."""
    person, b = state.people[s], state.buried[j]
    stop(person, t)
    person.height = SEARCH_HEIGHT_M
    b.claimed = -1
    if fixed.rules[0].longest > b.tried:
        b.needs = 1
        person.mode, person.at_ready = AT, person.shovel_ready
        person.timer = inf if person.shovel_ready else t + state.who[s].shovel_ready
    else:
        b.blind = s
        person.mode, person.target = IDLE, -1


@part
def spiral(fixed, state, s, j, t):
    """Start the spiral; the timer ends at the strike or when the spiral has missed."""
    person, b, who = state.people[s], state.buried[j], state.who[s]
    seed, run = state.misc[0].seed, state.misc[0].run
    hx, hy = where(person, t)
    u, v, _, _ = four(seed, run, PLACE, s, j, 2 * b.attempts)
    person.x = b.px + who.slip * bell(u, v)
    u, v, _, _ = four(seed, run, PLACE, s, j, 2 * b.attempts + 1)
    person.y = b.py + who.slip * bell(u, v)
    begin = t + hypot(person.x - hx, person.y - hy) / who.near
    person.since, person.speed = begin, 0.0
    person.mode, person.target, person.probe_job = PROBE, j, 0
    b.claimed, b.needs, b.probed = s, 0, 1
    helped = bool(person.probe_ready)
    for o in range(len(state.people)):
        helped = helped or (o != s and state.people[o].mode == AT and state.people[o].target == j)
    wait = 0.0 if helped else who.probe_ready
    person.probe_ready = 1
    holes, person.hits = _holes(fixed, state, s, j)
    person.timer = begin + wait + holes * (who.hole * (0.5 + 0.5 * who.probe / HOLE_LENGTH_M))


@part
def _holes(fixed, state, s, j):
    rules, who, laid, person = fixed.rules[0], state.who[s], fixed.laid[j], state.people[s]
    i = 0
    while True:
        angle = sqrt(4.0 * pi * i)
        radius = rules.step * angle / (2.0 * pi)
        if radius > rules.radius:
            return i, 0
        x, y = person.x + radius * cos(angle) - laid.x, person.y + radius * sin(angle) - laid.y
        top = laid.top
        if laid.sack:
            inside = hypot(x, y) <= rules.sack
        else:
            along = x * laid.ux + y * laid.uy
            inside = abs(along) <= 0.5 * rules.person_length
            inside = inside and abs(y * laid.ux - x * laid.uy) <= 0.5 * rules.person_width
            top = laid.top - along * state.buried[j].lean
        if inside and top <= who.probe:
            place = 1000 * state.buried[j].attempts + i
            u, _, _, _ = four(state.misc[0].seed, state.misc[0].run, HOLE, s, j, place)
            if u < who.felt:
                return i + 1, 1
        i += 1
