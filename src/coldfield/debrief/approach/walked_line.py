"""Measures of the walked way of a coarse search: side distance, wrong ways, speed."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

DRIFT_S = 300.0
"""Time constant of a position's drifting error, where it has been seen or counts at two moments. Setting."""

ENDS_M = 0.6
"""What the white noise of both ends leaves in the distance between them after smoothing. Setting."""


def side_distance_m(walked: Floats, line: Floats) -> float:
    """Return the greatest distance of the walked places from the flux line, m."""
    if len(line) < 2 or not len(walked):
        return 0.0
    start, leg = line[:-1], np.diff(line, axis=0)
    square = np.maximum(np.sum(leg**2, axis=1), 1e-12)
    along = np.clip(np.einsum("wlc,lc->wl", walked[:, None] - start[None], leg) / square, 0.0, 1.0)
    gap = walked[:, None] - (start[None] + along[..., None] * leg[None])
    return float(np.linalg.norm(gap, axis=-1).min(axis=1).max())


def wrong_way(
    t: Floats, reading: Floats, step: Floats, sd: float, after_s: float
) -> tuple[tuple[float, float, float], ...]:
    """Return stretches (from, to, metres) in which the reading rose by more than its doubt, above 6 m.

    Only once it is beyond doubt that the person followed the direction.
    """
    found = []
    i = int(np.searchsorted(t, after_s))
    while i < len(t) - 1:
        if reading[i] < 6.0 or reading[i + 1] <= reading[i]:
            i += 1
            continue
        j = top = i + 1
        while j < len(t) - 1 and reading[j] > reading[i] and reading[top] - reading[j] < 1.0:
            j += 1
            top = j if reading[j] > reading[top] else top
        length = float(step[i:top].sum())
        if reading[top] - reading[i] > max(4.0, 1.5 * sd) and length > 8.0:
            found.append((float(t[i]), float(t[top]), length))
        i = top + 1
    return tuple(found)


def speed(step: Floats, seconds: Floats, where: NDArray[np.bool_]) -> float | None:
    """Return the speed over the steps `where` says, m/s, None where they last less than 3 s."""
    time = float(seconds[where].sum()) if step.size else 0.0
    return float(step[where].sum()) / time if time >= 3.0 else None


def near_speed(t: Floats, walked: Floats, reading: Floats, *, drift_m: float) -> tuple[float | None, float]:
    """Return the speed from a reading of 10 m to the end of a way, m/s, and its doubt; None below 3 s.

    Straight from place to place, (n, 2) on the snow: noise makes a walked line longer, and haste would be
    seen where there was none. `drift_m` is what a place is unsure by on each axis; over so short a time
    most of it is the same at both ends.
    """
    near = np.flatnonzero(reading <= 10.0)
    if near.size < 2 or t[near[-1]] - t[near[0]] < 3.0:
        return None, 0.0
    seconds = float(t[near[-1]] - t[near[0]])
    way = float(np.linalg.norm(walked[near[-1]] - walked[near[0]]))
    changed_m = drift_m * np.sqrt(2.0 * (1.0 - np.exp(-seconds / DRIFT_S)))
    return way / seconds, 2.0 * float(np.hypot(changed_m, ENDS_M)) / seconds
