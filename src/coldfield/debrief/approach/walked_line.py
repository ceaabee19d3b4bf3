"""Measures of the walked way of a coarse search: side distance, wrong ways, speed, its length."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from coldfield.debrief.approach.arrival import Listener
from coldfield.debrief.ensemble import Middle, middle_of, stream
from coldfield.debrief.snow import Snow

Floats = NDArray[np.float64]

STEP_S = 3
"""Lengths of a drawn way count on a line with a corner each so many seconds: its noise is no way. Setting."""

CREEP_M_S = 0.025
"""People who stand at work step about: on average so fast, as an exponential law over all ways. Setting."""

RISES = 0.4
"""A way is a wrong one where the reading rises by so much of its length at least. Setting."""

LEAST_READING_M = 6.0
"""Nearer than this people step about. Setting."""

BACK_M = 3.0
"""Who comes so near to where they began has come back. Setting."""

NEAR_LEAST_S, NEAR_MOST_S = 4, 12
"""The fastest walking near a burial is looked for over so many seconds. Settings."""

LEAST_S = 3.0
"""No speed of less than this. Setting."""


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
    return middle_of(step[:, walked].sum(axis=1) + creep, grain=1.0)


def wrong_stretch(walk_m: Floats, reading_m: Floats) -> tuple[int, int] | None:
    """Return from where to where, in order of time, a walk led farthest the wrong way beyond 6 m.

    Places (n, 2) and readings (n,). Wrong is a way over which the reading rose, or one that came back to
    where it began.
    """
    best, found = 0.0, None
    for first in np.flatnonzero(reading_m >= LEAST_READING_M):
        away = np.linalg.norm(walk_m[first:] - walk_m[first], axis=1)
        back = np.flatnonzero(away <= BACK_M)
        out = away.copy()
        out[int(back[-1]) :] = 0.0
        rose = np.where(reading_m[first:] - reading_m[first] >= RISES * away, away, 0.0)
        size = np.maximum(rose, out) * (reading_m[first:] >= LEAST_READING_M)
        top = int(size.argmax())
        if size[top] > best:
            best, found = float(size[top]), (int(first), int(first) + top)
    return found


def wrong_m(t_s: Floats, on_snow: Floats, stretch: tuple[int, int], turn_s: Floats) -> Floats:
    """Return how far each way, places (w, n, 3), led over a stretch once the lane was left, (w,), m."""
    first, top = stretch
    start = np.clip(np.searchsorted(t_s, turn_s), first, top)
    return np.asarray(np.linalg.norm(on_snow[:, top] - on_snow[np.arange(len(turn_s)), start], axis=1))


def near_stretch(t_s: Floats, walk_m: Floats, reading_m: Floats) -> tuple[int, int] | None:
    """Return from where to where a walk, (n, 2), went fastest between readings, (n,), of 10 m and its end."""
    near = np.flatnonzero(reading_m <= 10.0)
    best, found = 0.0, None
    for i in near:
        if reading_m[i] > 10.0 or reading_m[i] < LEAST_READING_M:
            continue
        for j in range(int(i) + NEAR_LEAST_S, min(int(i) + NEAR_MOST_S, t_s.size)):
            way = float(np.linalg.norm(walk_m[j] - walk_m[i]))
            if way / (t_s[j] - t_s[i] + NEAR_LEAST_S) > best:
                best, found = way / (t_s[j] - t_s[i] + NEAR_LEAST_S), (int(i), j)
    return found


def near_speed_m_s(t_s: Floats, on_snow: Floats, reading_m: Floats, stretch: tuple[int, int]) -> Floats:
    """Return the speed of each way, (w,), over a stretch, from a reading of 10 m on, m/s.

    Straight from place to place: noise makes a walked line longer, and haste would be seen where there was
    none. NaN where less than 3 s of it lie below 10 m.
    """
    first, end = stretch
    near = reading_m[:, first : end + 1] <= 10.0
    begin = first + near.argmax(axis=1)
    seconds = t_s[end] - t_s[begin]
    way = np.linalg.norm(on_snow[:, end] - on_snow[np.arange(len(begin)), begin], axis=1)
    told = near.any(axis=1) & (seconds >= LEAST_S)
    return np.asarray(np.where(told, way / np.maximum(seconds, 1.0), np.nan))


def speed(step: Floats, seconds: Floats, where: NDArray[np.bool_]) -> float | None:
    """Return the speed over the steps `where` says, m/s, None where they last less than 3 s."""
    time = float(seconds[where].sum()) if step.size else 0.0
    return float(step[where].sum()) / time if time >= LEAST_S else None
