"""The clock of the compiled searcher model: from the alarm to the last airway, run after run."""

from __future__ import annotations

from math import cos, exp, inf, nan, pi, sin, tan

from coldfield.rescue.kernel.approach import coarse_pulse, fine_pulse, lane_pulse, to_fine, want_probe
from coldfield.rescue.kernel.compiled import door, inner, part
from coldfield.rescue.kernel.crew import (
    circle_timer,
    end_search,
    go_timer,
    lane_timer,
    row_timer,
    searches,
    share_out,
    strike,
)
from coldfield.rescue.kernel.dig import dig_timer, join
from coldfield.rescue.kernel.draws import BODY, KEYING, MARK, PERSON, START, STRAY, bell, four
from coldfield.rescue.kernel.layout import (
    AT,
    CIRCLE,
    COARSE,
    FINE,
    FIRST_SIGNAL_T,
    GO,
    HEARD,
    HEARD_K,
    IDLE,
    LANE,
    LOSSES,
    LOST_K,
    LOWEST_T,
    MARKS,
    READY,
    SEARCH_HEIGHT_M,
    STRAY_PERIOD_S,
    STRAY_PULSE_S,
    TO_LANE,
    TURNS,
    Fixed,
)
from coldfield.rescue.kernel.moves import candidate
from coldfield.rescue.kernel.receiver import on_air
from coldfield.shipped_loops import Loop

_PERSON, _DIG, _ROW, _PULSE, _NOTHING, _END = range(6)
MOST_EVENTS = 1_000_000


@part
def _draw_person(fixed, state, s):
    """Draw the constants of a searcher for this run around their medians."""
    misc, middles = state.misc[0], fixed.words
    u, v, _, _ = four(misc.seed, misc.run, PERSON, s, 0, 0)
    quick, g, d = bell(u, v), 0.0, 0.0
    for c in range(fixed.spread.shape[1]):
        if c % 2 == 0:
            u, v, g, d = four(misc.seed, misc.run, PERSON, s, 0, 1 + c // 2)
        else:
            u, v = g, d
        by = exp(fixed.spread[s, c, 0] * quick + fixed.spread[s, c, 1] * bell(u, v))
        value = middles[s, c]
        below = 1.0 - value + value * by if fixed.spread[s, c, 2] > 0.0 else 1.0
        state.words[s, c] = value * by / below


@part
def _begin_people(fixed, state):
    rules, misc = fixed.rules[0], state.misc[0]
    for s in range(len(state.people)):
        for i in range(len(state.sources)):
            state.pairs[s, i, HEARD] = state.pairs[s, i, LOSSES] = state.pairs[s, i, TURNS] = 0
            state.pairs[s, i, HEARD_K] = -9
            state.pairs[s, i, LOST_K] = -1
    for s in range(len(state.people)):
        _draw_person(fixed, state, s)
        p, who = state.people[s], state.who[s]
        u, _, _, _ = four(misc.seed, misc.run, START, s, 0, 0)
        p.timer = who.reaction
        p.left_on = 1 if u < who.left_on else 0
        p.gear_off = 0 if rules.gear_off > 0.0 else 1
        p.x, p.y, p.since, p.dx, p.dy, p.speed = rules.entry_x, rules.entry_y, 0.0, 0.0, 1.0, 0.0
        p.height, p.dig_began, p.mode, p.lane, p.target = SEARCH_HEIGHT_M, inf, READY, -1, -1
        p.probe_job = p.probe_ready = p.shovel_ready = p.at_ready = p.solved = p.attempt = 0
        for j in range(len(state.buried)):
            u, v, _, _ = four(misc.seed, misc.run, MARK, s, j, 0)
            state.pairs[s, j, MARKS] = 1 if u < who.marking and v < who.works else 0
    for w in range(len(state.ways)):
        way, begin = state.ways[w], fixed.routes[w].begin
        way.x, way.y, way.leg, way.done = fixed.corners[begin, 0], fixed.corners[begin, 1], 1, 0
        way.walker = fixed.routes[w].owner
        if fixed.routes[w].owner >= 0:
            state.people[fixed.routes[w].owner].lane = w


@part
def _begin_buried(fixed, state):
    rules, misc, n = fixed.rules[0], state.misc[0], len(state.buried)
    for j in range(n):
        for c in range(7):
            state.moments[j, c] = nan
        b, laid, m = state.buried[j], fixed.laid[j], state.sources[j]
        b.px = b.py = b.tried = b.snow = b.rate = b.updated = 0.0
        b.due, b.finder, b.claimed = inf, -1, -1
        b.needs = b.probed = b.attempts = b.struck = b.clear = 0
        b.dug = b.block = b.ends = b.uncovering = 0
        u, v, _, _ = four(misc.seed, misc.run, BODY, 0, j, 0)
        b.blind, b.lean = -1, tan(rules.lean * bell(u, v))
        u, v, _, _ = four(misc.seed, misc.run, KEYING, 0, j, 0)
        m.mx, m.my, m.mz, m.pulse, m.k = laid.mx, laid.my, laid.mz, laid.pulse, 0
        m.period = laid.period * (1.0 + rules.period_spread * (2.0 * v - 1.0))
        m.phase = (laid.phase + u * m.period) % m.period if laid.has_set else 0.0
    for s in range(len(state.people)):
        m = state.sources[n + s]
        u, v, w, _ = four(misc.seed, misc.run, STRAY, s, 0, 0)
        m.period = STRAY_PERIOD_S * (1.0 + rules.period_spread * (2.0 * v - 1.0))
        m.phase, m.pulse, m.k, m.mz = u * m.period, STRAY_PULSE_S, 0, 0.0
        east, north = _azimuth(2.0 * pi * w)
        m.mx = rules.stray * (east * rules.along_e + north * rules.along_n)
        m.my = rules.stray * (east * rules.up_e + north * rules.up_n)
    misc.row_done, misc.row_since, misc.row_began, misc.row_due, misc.row_rate = 0.0, nan, nan, inf, 0.0
    misc.row_next, misc.row_pass, misc.over, misc.events, misc.strays = -1, 0, 0, 0, 0
    misc.share, misc.finder = 0, -1


@part
def _azimuth(angle):
    return sin(angle), cos(angle)


@inner
def _listened_to(state, i, walking):
    """True if somebody tests the pulses of a source: on a lane, if it is new, or while following it."""
    n = len(state.buried)
    if i < n and state.buried[i].claimed >= 0:
        return state.people[state.buried[i].claimed].mode in (COARSE, FINE)
    if walking and (i >= n or candidate(state, i)):
        return True
    for s in range(len(state.people) if i >= n else 0):
        if state.people[s].target == i and state.people[s].mode == COARSE:
            return True
    return False


@inner
def _next(fixed, state, t):
    when, kind, which, walking = inf, _NOTHING, -1, False
    for s in range(len(state.people)):
        p = state.people[s]
        walking = walking or searches(p.mode)
        if p.timer < when:
            when, kind, which = p.timer, _PERSON, s
    for j in range(len(state.buried)):
        if state.buried[j].due < when:
            when, kind, which = state.buried[j].due, _DIG, j
    if state.misc[0].row_due < when:
        when, kind, which = state.misc[0].row_due, _ROW, 0
    if state.misc[0].over:
        return when, kind, which
    for i in range(len(state.sources)):
        begin = on_air(state, i, t, fixed.rules[0].fallback)
        if begin == inf or not _listened_to(state, i, walking):
            continue
        m = state.sources[i]
        if m.phase + m.k * m.period < begin:
            m.k = max(m.k, int((begin - m.phase) / m.period) - 1)
            while m.phase + m.k * m.period < begin:
                m.k += 1
        if m.phase + m.k * m.period < when:
            when, kind, which = m.phase + m.k * m.period, _PULSE, i
    return when, kind, which


@inner
def _pulse(fixed, state, i, k, s, t):
    p = state.people[s]
    if searches(p.mode):
        changed = lane_pulse(fixed, state, s, i, k, t)
    elif p.target == i and p.mode == COARSE:
        changed = coarse_pulse(fixed, state, s, k, t)
    elif p.target == i and p.mode == FINE:
        changed = fine_pulse(fixed, state, s, k, t)
    else:
        changed = False
    state.misc[0].share = 1 if changed else 0


@part
def _timer(fixed, state, s, t):
    p = state.people[s]
    if p.mode == READY:
        p.timer, p.mode, p.since = inf, IDLE, t
        state.misc[0].share = 1
    elif p.mode == TO_LANE or p.mode == LANE:
        lane_timer(fixed, state, s, t)
    elif p.mode == CIRCLE:
        circle_timer(fixed, state, s, t)
    elif p.mode == GO:
        go_timer(fixed, state, s, t)
    elif p.mode == AT:
        p.shovel_ready, p.at_ready, p.timer = 1, 1, inf
        if state.buried[p.target].struck:
            join(fixed, state, s, t)
    else:
        _spiral_over(fixed, state, s, t)


@part
def _spiral_over(fixed, state, s, t):
    p = state.people[s]
    j = p.target
    b = state.buried[j]
    p.timer = inf
    if p.hits:
        strike(fixed, state, s, j, t)
        return
    b.attempts += 1
    p.attempt += 1
    if p.attempt < fixed.rules[0].attempts:
        p.bx, p.by, p.ex, p.ey = b.px, b.py, b.px, b.py
        to_fine(fixed, state, s, t)
    else:
        b.tried = max(b.tried, state.who[s].probe)
        want_probe(fixed, state, s, j, t)
        state.misc[0].share = 1


@part
def one_run(fixed, state, seed, run):
    """Play one run; return its end, s, or -1 if it does not end."""
    misc, t = state.misc[0], 0.0
    misc.seed, misc.run = seed, run
    _begin_people(fixed, state)
    _begin_buried(fixed, state)
    while True:
        going = False
        for j in range(len(state.buried)):
            going = going or not state.buried[j].clear
        if not going:
            return t
        when, kind, which = _next(fixed, state, t)
        if when > fixed.rules[0].horizon and not misc.over:
            t, kind = fixed.rules[0].horizon, _END
        elif kind == _NOTHING:
            return t
        else:
            t = when
            misc.events += 1
            if misc.events > MOST_EVENTS:
                return -1.0
        _event(fixed, state, kind, which, t)


@inner
def _event(fixed, state, kind, which, t):
    k = 0
    if kind == _PULSE:
        k = state.sources[which].k
        state.sources[which].k = k + 1
    # Searchers test a pulse one after the other, because each may change what the next one does.
    for s in range(len(state.people) if kind == _PULSE else 1):
        if kind == _PULSE:
            _pulse(fixed, state, which, k, s, t)
        elif kind == _PERSON:
            _timer(fixed, state, which, t)
        elif kind == _DIG:
            dig_timer(fixed, state, which, t)
        elif kind == _ROW:
            row_timer(fixed, state, t)
        else:
            end_search(fixed, state, t)
        if state.misc[0].share:
            share_out(fixed, state, t)


@part
def _why(fixed, state, j):
    b, longest = state.buried[j], fixed.rules[0].longest
    if b.struck:
        return -1
    if not fixed.laid[j].has_set:
        return 5
    heard = state.moments[j, FIRST_SIGNAL_T] == state.moments[j, FIRST_SIGNAL_T]
    if (b.probed or heard) and longest > 0.0 and fixed.laid[j].depth > longest:
        return 2
    if b.probed:
        return 3
    if longest == 0.0 and state.moments[j, LOWEST_T] == state.moments[j, LOWEST_T]:
        return 4
    return 1 if heard else 0


@Loop
@door
def many_runs(fixed, each, state, seed, first, moments, failure, finder, end, events):
    """Fill the rows of the outputs with the runs from `first` on."""
    for r in range(len(end)):
        of_run = Fixed(
            each.who[r % len(each.who)],
            each.words[r % len(each.words)],
            fixed.spread,
            each.laid[r % len(each.laid)],
            each.rules[r % len(each.rules)],
            fixed.routes,
            fixed.corners,
            fixed.table,
        )
        end[r] = one_run(of_run, state, seed, first + r)
        events[r] = state.misc[0].events
        for j in range(len(state.buried)):
            for c in range(7):
                moments[r, j, c] = state.moments[j, c]
            failure[r, j] = _why(of_run, state, j)
            finder[r, j] = state.buried[j].finder
