"""How a set responds to a pulse: field, antennas, chance, reading, direction; compiled.

All vectors are in level axes: along the contour, uphill, upright. The field is kept as the squares of
its ellipse, because a set uses nothing else.
"""

from __future__ import annotations

from math import atan2, cos, floor, inf, pi, sin, sqrt

from coldfield.beacon.compiled import (
    along_and_across,
    dipole_parts,
    ellipse_gap2,
    ellipse_squares,
    half_axes,
    reading_m,
    table_value,
)
from coldfield.beacon.field import WAVENUMBER_PER_M
from coldfield.beacon.receiver import NEAREST_M
from coldfield.rescue.kernel.compiled import inner, part
from coldfield.rescue.kernel.draws import PULSE, bell, four
from coldfield.rescue.kernel.layout import DIG, FINE, MARKS, STRAY_HEIGHT_M


@inner
def where(person, t):
    """Return where a person is on the snow."""
    gone = t - person.since
    walked = person.speed * gone if gone > 0.0 else 0.0
    return person.x + person.dx * walked, person.y + person.dy * walked


@part
def _raised(rules, x, y, above):
    """Return a point above the snow in level axes."""
    c, s = rules.cos_slope, rules.sin_slope
    return x, y * c - above * s, y * s + above * c


@inner
def on_air(state, i, t, fallback):
    """Return the time from which a source transmits, not before t; inf for never."""
    n = len(state.buried)
    if i < n:
        return inf if state.sources[i].period <= 0.0 or state.buried[i].clear else t
    person = state.people[i - n]
    if person.mode != DIG or not person.left_on or person.solved:
        return inf
    begin = person.dig_began + fallback
    return begin if begin > t else t


@inner
def squares(fixed, state, s, i, t):
    """Return the `ellipse_squares` of the field of source i at searcher s, A2/m2, and its `ellipse_gap2`.

    The last one is 0 for a set that is held level; only a set that is turned about uses it.
    """
    rules = fixed.rules[0]
    x, y = where(state.people[s], t)
    rx, ry, rz = _raised(rules, x, y, state.people[s].height)
    n = len(state.buried)
    if i < n:
        sx, sy, sz = _raised(rules, fixed.laid[i].x, fixed.laid[i].y, -fixed.laid[i].depth)
    else:
        bx, by = where(state.people[i - n], t)
        sx, sy, sz = _raised(rules, bx, by, STRAY_HEIGHT_M)
    x, y, z = rx - sx, ry - sy, rz - sz
    r2 = x * x + y * y + z * z
    if r2 == 0.0:
        z = r2 = 1e-30
    inverse, r2 = 1.0 / r2, max(r2, NEAREST_M * NEAREST_M)
    m, kr2 = state.sources[i], WAVENUMBER_PER_M * WAVENUMBER_PER_M * r2
    px, py, pz, sx, sy, sz = dipole_parts(x, y, z, m.mx, m.my, m.mz, inverse, kr2)
    xx, yy, zz, xy = ellipse_squares(px, py, pz, sx, sy, sz, kr2)
    gap2 = ellipse_gap2(px, py, pz, sx, sy, sz, kr2) if state.who[s].turning else 0.0
    scale = 1.0 / (16.0 * pi * pi * r2 * r2 * r2)
    return xx * scale, yy * scale, zz * scale, xy * scale, gap2 * scale * scale


@inner
def antennas(who, rules, dx, dy, h):
    """Return |H.a| / f of up to three antennas, squared, and of the level part, squared."""
    xx, yy, upright, xy, gap2 = h
    east, north = dx, dy * rules.cos_slope
    size2 = east * east + north * north
    along, across = along_and_across(
        xx, yy, xy, east * east / size2, 2.0 * east * north / size2, north * north / size2
    )
    f1, f2, f3 = who.f1 * who.f1, who.f2 * who.f2, who.f3 * who.f3
    level = along / f1 + across / (f2 if who.antennas > 1 else f1)
    if who.turning:
        along, across = half_axes(xx + yy + upright, gap2)
        upright = 0.0
        if who.antennas == 2:
            f1, f2 = min(f1, f2), max(f1, f2)
        elif who.antennas == 3:
            low, high = min(f1, f2, f3), max(f1, f2, f3)
            f1, f2, f3 = low, f1 + f2 + f3 - low - high, high
    if who.antennas < 3:
        upright = 0.0
    if who.antennas < 2:
        across = 0.0
    return max(along, 0.0) / f1, max(across, 0.0) / f2, upright / f3, level


@inner
def _detected(fixed, state, s, i, k, a1, a2, a3):
    """Draw whether one of the antennas detects the pulse; in a very strong field it always does."""
    who, table, step = state.who[s], fixed.table[s], fixed.rules[0].table_step
    power, noise = a1 + a2 + a3, who.noise
    if power < noise * noise:
        return False
    end = step * (len(table) - 1) * noise
    if (a1 > end * end or a2 > end * end) and table[len(table) - 1] >= 1.0:
        return True
    missed = 1.0 - table_value(table, step, sqrt(a1) / noise)
    if who.antennas > 1:
        missed *= 1.0 - table_value(table, step, sqrt(a2) / noise)
    if who.antennas > 2:
        missed *= 1.0 - table_value(table, step, sqrt(a3) / noise)
    u, _, _, _ = four(state.misc[0].seed, state.misc[0].run, PULSE, s, i, k)
    return u < 1.0 - missed


@inner
def sense(fixed, state, s, i, k, t):
    """Return (reading, x, y, aimed): what searcher s gets from pulse k of source i.

    The reading is -1 if nothing is detected; `aimed` is 1 if (x, y) is the noisy direction of the field
    on the snow.
    """
    rules, who, person = fixed.rules[0], state.who[s], state.people[s]
    h = squares(fixed, state, s, i, t)
    a1, a2, a3, level = antennas(who, rules, person.dx, person.dy, h)
    power = a1 + a2 + a3
    if rules.definite:
        if power < who.threshold * who.threshold:
            return -1.0, 0.0, 0.0, 0
    elif not _detected(fixed, state, s, i, k, a1, a2, a3):
        return -1.0, 0.0, 0.0, 0
    if _hidden(fixed, state, s, i, t, power):
        return -1.0, 0.0, 0.0, 0
    raw = reading_m(who.reference, sqrt(h[0] + h[1] + h[2]))
    reading = floor(raw + 0.5) if raw >= 10.0 else floor(raw * 10.0 + 0.5) / 10.0
    if level < who.threshold * who.threshold or person.mode == FINE:
        return reading, 0.0, 0.0, 0
    aim = who.aim * who.aim
    if not rules.definite:
        aim += who.noise * who.noise / level
    _, v, w, _ = four(state.misc[0].seed, state.misc[0].run, PULSE, s, i, k)
    x, y = _line(rules, h, bell(v, w) * sqrt(aim))
    return reading, x, y, 1


@part
def _line(rules, h, error):
    """Return the unit direction on the snow above the field's level line, turned by an error."""
    angle = 0.5 * atan2(2.0 * h[3], h[0] - h[1]) + error
    x, y = cos(angle), sin(angle) / rules.cos_slope
    size = sqrt(x * x + y * y)
    return x / size, y / size


@part
def _hidden(fixed, state, s, i, t, power):
    """True if a stronger set covers the pulse, or if a found but unmarked set is stronger."""
    rules, person = fixed.rules[0], state.people[s]
    n = len(state.buried)
    for o in range(len(state.sources)):
        if o == i or on_air(state, o, t, rules.fallback) > t:
            continue
        theirs = state.sources[o]
        cycles = (t - theirs.phase) / theirs.period
        ago = (cycles - floor(cycles)) * theirs.period
        covers = ago < theirs.pulse or theirs.period - ago < state.sources[i].pulse
        if not covers and o < n:
            covers = state.buried[o].struck and not state.pairs[s, o, MARKS]
        if covers:
            b1, b2, b3, _ = antennas(
                state.who[s], rules, person.dx, person.dy, squares(fixed, state, s, o, t)
            )
            if b1 + b2 + b3 > power:
                return True
    return False
