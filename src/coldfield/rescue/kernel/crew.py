"""Who does what next: lanes, gathering, digging, the probe line; compiled."""

from __future__ import annotations

from math import ceil, cos, exp, inf, nan, pi, sin

from coldfield.rescue.kernel.approach import spiral
from coldfield.rescue.kernel.compiled import part
from coldfield.rescue.kernel.dig import join
from coldfield.rescue.kernel.draws import LINE, SNOW, bell, four
from coldfield.rescue.kernel.layout import (
    AT,
    CIRCLE,
    CIRCLE_CORNERS,
    COARSE,
    CROSS_T,
    DIG,
    FINE,
    GO,
    IDLE,
    LANE,
    LOWEST_T,
    MARKS,
    PROBE,
    READY,
    ROW,
    SEARCH_HEIGHT_M,
    STRIKE_T,
    TO_LANE,
    TURN_T,
)
from coldfield.rescue.kernel.moves import candidate, head_for, off_lane, stop, unheard
from coldfield.rescue.kernel.receiver import where


@part
def searches(mode):
    """True for people on a lane or on their way to it."""
    return mode in (TO_LANE, LANE, CIRCLE)


@part
def share_out(fixed, state, t):
    """Give everybody who is free their next task; a finder who cannot mark the set walks circles."""
    rules, over = fixed.rules[0], state.misc[0].over
    for j in range(len(state.buried)):
        # No probe struck: people dig as if whoever searched last had struck.
        if state.buried[j].blind >= 0 and not state.buried[j].struck and not over:
            strike(fixed, state, state.buried[j].blind, j, t)
    finder = state.misc[0].finder
    state.misc[0].share, state.misc[0].finder = 0, -1
    left, missing, some = 0, 0, False
    for s in range(len(state.people)):
        p = state.people[s]
        free = searches(p.mode) or p.mode in (ROW, IDLE)
        if p.mode in (GO, AT) and not p.probe_job:
            free = not state.buried[p.target].struck
        state.people[s].free = 1 if free else 0
        left += state.people[s].free
    for j in range(len(state.buried)):
        if candidate(state, j):
            some = some or not over
            missing += fixed.laid[j].has_set
    lanes_left = False
    for w in range(len(state.ways)):
        lanes_left = lanes_left or not state.ways[w].done
    go_on = not over and missing > 0 and lanes_left
    left -= _probers(fixed, state, t)
    keep = min(left, rules.per_set * missing) if go_on else 0
    _diggers(fixed, state, t, left, keep, finder, go_on, some)
    for s in range(len(state.people)):
        if state.people[s].free and not (go_on and _onto_lane(fixed, state, s, t)):
            _stand_by(fixed, state, s, t, go_on)
    update_row(fixed, state, t)
    if finder >= 0:
        _circle(fixed, state, finder, t)


@part
def _circle(fixed, state, s, t):
    person = state.people[s]
    for j in range(len(state.buried)):
        b = state.buried[j]
        just = b.finder == s and state.moments[j, STRIKE_T] == t
        if just and person.mode == TO_LANE and not state.pairs[s, j, MARKS]:
            person.mode, person.circle, person.cx, person.cy = CIRCLE, 0, b.px, b.py
            circle_timer(fixed, state, s, t)


@part
def _closest(state, t, x, y, last, least_probe, who):
    """Return the nearest free person with a probe longer than `least_probe`; `last` only if alone."""
    best, found = inf, -1
    for s in range(len(state.people)):
        if not state.people[s].free or s == last or who[s].probe <= least_probe:
            continue
        px, py = where(state.people[s], t)
        away = (px - x) * (px - x) + (py - y) * (py - y)
        if away < best:
            best, found = away, s
    if found < 0 and last >= 0 and state.people[last].free:
        return last
    return found


@part
def _probers(fixed, state, t):
    sent = 0
    for j in range(len(state.buried)):
        b = state.buried[j]
        on_the_way = state.misc[0].over or not b.needs
        for s in range(len(state.people)):
            on_the_way = on_the_way or (state.people[s].probe_job and state.people[s].target == j)
        if on_the_way:
            continue
        s = _closest(state, t, b.px, b.py, -1, b.tried, state.who)
        if s >= 0:
            state.people[s].attempt = 0
            _go(fixed, state, s, j, t, b.px, b.py)
            state.people[s].probe_job = 1
            sent += 1
    return sent


@part
def _crew(state, j):
    count = 0
    for s in range(len(state.people)):
        p = state.people[s]
        if p.target == j and p.mode in (GO, AT, DIG):
            count += 1
    return count


@part
def _diggers(fixed, state, t, left, keep, finder, go_on, some):
    spare = left - keep
    last = finder if keep > 0 else -1
    if finder >= 0 and fixed.rules[0].finder_digs:
        for j in range(len(state.buried)):
            if state.buried[j].finder == finder and state.moments[j, STRIKE_T] == t:
                _go(fixed, state, finder, j, t, state.buried[j].px, state.buried[j].py)
                spare, left = spare - 1, left - 1
                break
    while left > 0:
        dig, least = -1, inf
        for j in range(len(state.buried)):
            b, crew = state.buried[j], _crew(state, j)
            if not b.struck or b.clear:
                continue
            most = ceil(fixed.laid[j].room) * (2 if go_on else 4)
            if (crew < most or not (go_on or some)) and crew / fixed.laid[j].room < least:
                dig, least = j, crew / fixed.laid[j].room
        if dig < 0 or (spare <= 0 and least > 0.0):
            return
        b = state.buried[dig]
        _go(fixed, state, _closest(state, t, b.px, b.py, last, -1.0, state.who), dig, t, b.px, b.py)
        spare, left = spare - 1, left - 1


@part
def _go(fixed, state, s, j, t, x, y):
    person = state.people[s]
    state.people[s].free = 0
    off_lane(state, s, t, False)
    stop(person, t)
    person.mode, person.target, person.probe_job = GO, j, 0
    unheard(state, s)
    head_for(person, fixed.rules[0], t, x, y, state.who[s].signal)


@part
def _onto_lane(fixed, state, s, t):
    person = state.people[s]
    if searches(person.mode):
        return True
    way = person.lane
    if way < 0 or state.ways[way].done:
        way, first = -1, False
        for w in range(len(state.ways)):
            first = first or (not fixed.routes[w].second and not state.ways[w].done)
        for w in range(len(state.ways)):
            free = not state.ways[w].done and state.ways[w].walker < 0
            if free and bool(fixed.routes[w].second) != first:
                way = w
                break
    if way < 0:
        return False
    stop(person, t)
    person.lane, person.mode, person.target = way, TO_LANE, -1
    state.ways[way].walker = s
    unheard(state, s)
    head_for(person, fixed.rules[0], t, state.ways[way].x, state.ways[way].y, state.who[s].signal)
    return True


@part
def _near(state, j):
    """True where somebody works close to a burial that is not struck yet."""
    b = state.buried[j]
    if state.misc[0].over:
        return False
    return b.needs or (b.claimed >= 0 and state.people[b.claimed].mode in (FINE, PROBE))


@part
def _stand_by(fixed, state, s, t, go_on):
    person = state.people[s]
    goal, least, claimed, some = -1, inf, False, False
    for j in range(len(state.buried)):
        claimed = claimed or state.buried[j].claimed >= 0
        some = some or candidate(state, j)
        if _near(state, j) and _crew(state, j) / fixed.laid[j].room < least:
            goal, least = j, _crew(state, j) / fixed.laid[j].room
    if goal >= 0:
        if person.mode in (GO, AT) and _near(state, person.target):
            return
        b = state.buried[goal]
        x, y = b.px, b.py
        if not b.needs:
            x, y = where(state.people[b.claimed], t)
        _go(fixed, state, s, goal, t, x, y)
        return
    row = some and not claimed and not go_on and not state.misc[0].over and fixed.rules[0].ground > 0.0
    mode = ROW if row and state.who[s].probe > 0.0 else IDLE
    if person.mode != mode:
        off_lane(state, s, t, False)
        stop(person, t)
        person.mode, person.target = mode, -1
        unheard(state, s)


@part
def lane_timer(fixed, state, s, t):
    """Handle reaching a corner of the lane, or the place where it was left."""
    person = state.people[s]
    w = person.lane
    way, begin, end = state.ways[w], fixed.routes[w].begin, fixed.routes[w].end
    if person.mode == TO_LANE:
        person.mode = LANE
    else:
        way.x, way.y = fixed.corners[begin + way.leg, 0], fixed.corners[begin + way.leg, 1]
        way.leg += 1
    person.x, person.y, person.since, person.speed = way.x, way.y, t, 0.0
    if begin + way.leg < end:
        x, y = fixed.corners[begin + way.leg, 0], fixed.corners[begin + way.leg, 1]
        head_for(person, fixed.rules[0], t, x, y, state.who[s].signal)
        return
    way.done, way.walker, person.lane, person.mode, person.timer = 1, -1, -1, IDLE, inf
    state.misc[0].share = 1


@part
def strike(fixed, state, s, j, t):
    """Handle a probe strike: people come to dig, and the finder marks the set and goes on."""
    person, b = state.people[s], state.buried[j]
    rules, blind = fixed.rules[0], b.blind >= 0
    u, v, w, _ = four(state.misc[0].seed, state.misc[0].run, SNOW, 0, j, 0)
    b.struck, b.finder, b.claimed, b.needs = 1, s, -1, 0
    state.moments[j, STRIKE_T] = t
    b.snow, b.luck = fixed.laid[j].snow, exp(rules.snow_spread * bell(u, v))
    if not blind:
        b.px, b.py = person.x, person.y
    if w < state.who[s].far:
        b.snow *= rules.far_factor
    if blind:
        b.snow *= rules.blind_factor
    person.since, person.speed, person.timer = t, 0.0, inf
    person.mode, person.target, person.height = IDLE, -1, SEARCH_HEIGHT_M
    for o in range(len(state.people)):
        if state.people[o].mode == AT and state.people[o].target == j and state.people[o].at_ready:
            join(fixed, state, o, t)
    state.misc[0].share, state.misc[0].finder = 1, s


@part
def circle_timer(fixed, state, s, t):
    """Walk to the next corner of the circles round an unmarked set, and finally back to the lane."""
    person, rules = state.people[s], fixed.rules[0]
    if person.circle > 0:
        person.x, person.y, person.since, person.speed = person.gx, person.gy, t, 0.0
    ring, corner = person.circle // (CIRCLE_CORNERS + 1), person.circle % (CIRCLE_CORNERS + 1)
    if ring > 2:
        person.mode = TO_LANE
        way = state.ways[person.lane]
        head_for(person, rules, t, way.x, way.y, state.who[s].signal)
        return
    radius = rules.c1 if ring == 0 else rules.c2 if ring == 1 else rules.c3
    angle = 2.0 * pi * corner / CIRCLE_CORNERS
    person.circle += 1
    x, y = person.cx + radius * cos(angle), person.cy + radius * sin(angle)
    head_for(person, rules, t, x, y, state.who[s].near)


@part
def go_timer(fixed, state, s, t):
    """Handle somebody's arrival at a burial."""
    person = state.people[s]
    person.x, person.y, person.since, person.speed = person.gx, person.gy, t, 0.0
    person.timer, person.mode = inf, AT
    if person.probe_job:
        spiral(fixed, state, s, person.target, t)
        state.misc[0].share = 1
        return
    person.at_ready = person.shovel_ready
    if not person.shovel_ready:
        person.timer = t + state.who[s].shovel_ready
    elif state.buried[person.target].struck:
        join(fixed, state, s, t)


@part
def update_row(fixed, state, t):
    """Update the probe line: the ground done so far, and when it reaches the next burial."""
    row, rules, n = state.misc[0], fixed.rules[0], 0
    for s in range(len(state.people)):
        if state.people[s].mode == ROW:
            n += 1
    if row.row_since == row.row_since:
        row.row_done += row.row_rate * (t - row.row_since)
    row.row_since = t if n > 0 else nan
    row.row_rate = rules.row_rate * n
    row.row_due, row.row_next = inf, -1
    if n == 0:
        return
    if row.row_began != row.row_began:
        row.row_began = t
    passes, best = int(row.row_done / rules.ground), inf
    for j in range(len(state.buried)):
        if not candidate(state, j):
            continue
        for number in range(passes, passes + 2):
            at = number * rules.ground + fixed.laid[j].row_area
            if at > row.row_done + 1e-6 and at < best:
                best, row.row_next, row.row_pass = at, j, number
    if row.row_next >= 0:
        row.row_at = best
        row.row_due = t + (best - row.row_done) / row.row_rate


@part
def row_timer(fixed, state, t):
    """Handle the line reaching a burial, which it strikes or misses."""
    row, rules = state.misc[0], fixed.rules[0]
    j, first, reach = row.row_next, -1, 0.0
    row.row_done, row.row_since = row.row_at, t
    for s in range(len(state.people)):
        if state.people[s].mode == ROW:
            first = s if first < 0 else first
            reach = max(reach, state.who[s].probe)
    if row.row_pass == 0:
        reach = min(reach, rules.row_depth)
    u, _, _, _ = four(row.seed, row.run, LINE, 0, j, row.row_pass)
    if fixed.laid[j].has_set:
        state.buried[j].probed = 1
    if fixed.laid[j].top > reach or u >= rules.row_pod:
        update_row(fixed, state, t)
        return
    for s in range(len(state.people)):
        if state.people[s].mode == ROW:
            state.people[s].x, state.people[s].y = fixed.laid[j].x, fixed.laid[j].y
    state.moments[j, TURN_T] = row.row_began
    state.moments[j, CROSS_T] = state.moments[j, LOWEST_T] = nan
    strike(fixed, state, first, j, t)


@part
def end_search(fixed, state, t):
    """End the search at the horizon; whoever is free helps to dig."""
    state.misc[0].over = 1
    for s in range(len(state.people)):
        person = state.people[s]
        busy = searches(person.mode) or person.mode in (COARSE, FINE, PROBE, ROW, READY)
        if busy or person.probe_job:
            stop(person, t)
            person.mode, person.target, person.probe_job = IDLE, -1, 0
    for j in range(len(state.buried)):
        state.buried[j].claimed, state.buried[j].needs = -1, 0
    state.misc[0].share = 1
