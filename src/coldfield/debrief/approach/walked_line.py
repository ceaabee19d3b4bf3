"""Measures of the walked way of a coarse search: side distance, wrong ways, speed, its length."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from coldfield.debrief.approach.arrival import Listener
from coldfield.debrief.ensemble import Middle, drawn_evenly, middle_of, stream
from coldfield.debrief.snow import Snow

Floats = NDArray[np.float64]

STEP_S = 3
"""Lengths are measured along a drawn way sampled this often, s: at every second its noise would count too.
Setting."""

LONGER, CORNERS = 0.009, 0.045
"""Relative excess of such a length over the walked one, and its spread: noise, cut corners, weaving.
Settings."""

CREEP_M_S = 0.025
"""Mean speed of the small steps of people who work on the spot, m/s, exponentially distributed over the ways.
Setting."""

RISES = 0.4
"""A way is wrong where the reading rises by at least this share of its length. Setting."""

FELL = 0.25
"""A way on which the reading fell by more than this share of its length is not wrong. Setting."""

LEAST_READING_M = 6.0
"""A wrong way ends at a larger reading than this, m: nearer, people move about for other reasons. Setting."""

LONGEST_OUT_S, FALLS_M = 25, 0.5
"""Longest time for a wrong way, s, and the most by which the reading may fall on one that comes back, m.
Settings."""

BACK_M = 3.0
"""A way has come back when it is this near to where it began, m. Setting."""

AHEAD_S, GONE_M = 15, 3.5
"""The coarse search is over where a person gets less than `GONE_M` farther within `AHEAD_S`. Settings."""

AT_M = 8.0
"""A person who stops getting on at a larger reading than this, m, has slowed down early. Setting."""

STOPS_M, SPREAD_M, EARLY = 3.0, 2.0, 0.03
"""Reading at which people slow down for the fine search, m; its usual excess, m; and the relative likelihood
of any larger reading. Settings."""

NEAR_LEAST_S = 7
"""Shortest time over which the speed near a burial is measured, s. Setting."""

LEAST_S = 3.0
"""Shortest time from which a speed is given, s. Setting."""


def side_distance_m(walked: Floats, line: Floats) -> float:
    """Return the greatest distance of the walked places from the flux line, m."""
    if len(line) < 2 or not len(walked):
        return 0.0
    start, leg = line[:-1], np.diff(line, axis=0)
    square = np.maximum(np.sum(leg**2, axis=1), 1e-12)
    along = np.clip(np.einsum("wlc,lc->wl", walked[:, None] - start[None], leg) / square, 0.0, 1.0)
    gap = walked[:, None] - (start[None] + along[..., None] * leg[None])
    return float(np.linalg.norm(gap, axis=-1).min(axis=1).max())


def walked_m(t_s: Floats, on_snow: Floats, start_s: Floats, end_s: Floats) -> Floats:
    """Return the length of each way, (w,), between two moments of its own; places (w, n, 3), moments (n,)."""
    at = np.unique(np.append(np.arange(0, t_s.size, STEP_S), t_s.size - 1))
    step = np.linalg.norm(np.diff(on_snow[:, at], axis=1), axis=2)
    along = np.concatenate([np.zeros((len(step), 1)), np.cumsum(step, axis=1)], axis=1)
    return np.array(
        [
            np.interp(b, t_s[at], s) - np.interp(a, t_s[at], s)
            for a, b, s in zip(start_s, end_s, along, strict=True)
        ]
    )


def length_of(listener: Listener, terrain: Snow) -> Middle:
    """Return the length of a person's way on the snow with standing taken out, m: the middle of all ways."""
    t = listener.ways.t_s
    at = np.arange(0, t.size, STEP_S)
    step = np.linalg.norm(np.diff(terrain.to_snow(listener.ways.position_m[:, at]), axis=1), axis=2)
    still = listener.walk.still[np.maximum(t[at], 0.0).astype(int)]
    walked = ~still[1:] | ~still[:-1]
    creep = CREEP_M_S * stream(6).exponential(size=len(step)) * STEP_S * float((~walked).sum())
    corners = 1.0 - LONGER + CORNERS * stream(8).standard_normal(len(step))
    return middle_of(step[:, walked].sum(axis=1) * corners + creep, grain=1.0)


def wrong_stretch(walk_m: Floats, reading_m: Floats, turned: int) -> tuple[int, int, bool] | None:
    """Return from where to where a walk led farthest the wrong way, and whether it came back from there.

    Places (n, 2) and readings (n,) in order of time. A way on which the reading rose is wrong from index
    `turned` on: before, it may be the lane. A way that came back to where it began, without the reading
    falling, is wrong anywhere. Both end beyond a reading of 6 m.
    """
    best, found = 0.0, None
    for first in range(len(walk_m)):
        away = np.linalg.norm(walk_m[first : first + LONGEST_OUT_S] - walk_m[first], axis=1)
        reading = reading_m[first : first + LONGEST_OUT_S]
        back = np.flatnonzero(away <= BACK_M)
        out = np.where(np.arange(away.size) < back[-1], away, 0.0) * (reading >= reading[0] - FALLS_M)
        rose = np.where(reading - reading[0] >= RISES * away, away, 0.0) * (first >= turned)
        size = np.maximum(rose, out) * (reading >= LEAST_READING_M)
        top = int(size.argmax())
        if size[top] > best:
            best, found = float(size[top]), (int(first), int(first) + top, bool(out[top] > 0.0))
    return found


def wrong_m(
    t_s: Floats, on_snow: Floats, reading_m: Floats, stretch: tuple[int, int, bool], turn_s: Floats
) -> Floats:
    """Return how far each way led the wrong way over a stretch, (w,), m.

    Places (w, n, 3) and readings (w, n). A way that did not come back counts from where the lane was left, at
    `turn_s` (w,). No way at all where the reading fell in this way of it.
    """
    first, top, back = stretch
    each = np.arange(len(turn_s))
    turn = np.searchsorted(t_s, turn_s)
    start = np.where((turn > top) & back, first, np.clip(turn, first, top))
    away = np.linalg.norm(on_snow[:, top] - on_snow[each, start], axis=1)
    rose = reading_m[:, top] - reading_m[each, start]
    return np.asarray(np.where(rose >= -FELL * away, away, 0.0))


def stop_at(walk_m: Floats) -> int:
    """Return where a walk, places (n, 2) at seconds, last got on as a walk does; its end if it always did."""
    n = len(walk_m)
    ahead = np.minimum(np.arange(n) + AHEAD_S, n - 1)
    goes = np.flatnonzero(np.linalg.norm(walk_m[ahead] - walk_m, axis=1) >= GONE_M)
    return min(int(goes[-1]) + 2, n - 1) if goes.size else n - 1


def near_speed_m_s(
    t_s: Floats, on_snow: Floats, walk_m: Floats, reading_m: Floats, turn_s: Floats, fine_s: Floats
) -> Floats:
    """Return the speed of each way, (w,), from when its reading last fell to 10 m to the fine search, m/s.

    Places (w, n, 3), their middle way (n, 2) and readings (w, n) at seconds; turns and starts of the fine
    search (w,). A way ends where the middle way stops getting on, if that is near the set in this way: a
    person who creeps from farther off is slow. The speed is that of the straight line between both ends, over
    at least 7 s: noise makes a walked line longer and would look like haste. Ways in which people slow down
    where they usually do count for more: ways are drawn again by how usual that is. NaN where no reading is
    below 10 m.
    """
    near = (reading_m <= 10.0) & (t_s >= turn_s[:, None])
    stop = stop_at(walk_m)
    end = np.searchsorted(t_s, fine_s)
    end = np.where(reading_m[:, stop] <= AT_M, np.minimum(end, stop), end)
    end = np.clip(end, min(NEAR_LEAST_S, t_s.size - 1), t_s.size - 1)
    second = np.arange(t_s.size)
    begin = np.max(np.where(~near & (second <= end[:, None]), second, 0), axis=1)
    begin = np.clip(begin, 0, np.maximum(end - NEAR_LEAST_S, 0))
    each = np.arange(turn_s.size)
    way = np.linalg.norm(on_snow[each, end] - on_snow[each, begin], axis=1)
    speed_m_s = np.where(near.any(axis=1), way / np.maximum(t_s[end] - t_s[begin], 1.0), np.nan)
    early_m = np.maximum(reading_m[:, stop] - STOPS_M, 0.0)
    usual = np.maximum(np.exp(-0.5 * (early_m / SPREAD_M) ** 2), EARLY)
    told = np.isfinite(speed_m_s)
    return np.asarray(
        speed_m_s[drawn_evenly(np.where(told, usual, 0.0), told.size)] if told.any() else speed_m_s
    )


def speed(step: Floats, seconds: Floats, where: NDArray[np.bool_]) -> float | None:
    """Return the speed over the steps `where` says, m/s, None where they last less than 3 s."""
    time = float(seconds[where].sum()) if step.size else 0.0
    return float(step[where].sum()) / time if time >= LEAST_S else None
