"""Time order and outliers of recorded points."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from coldfield.errors import BadInput
from coldfield.message import Message, length, message, speed

NOISE_M = 10.0
"""Allowance for the noise of both ends of a step, m. Setting."""

TOGETHER = 5
"""This many consecutive points that agree with each other are a new place, not outliers. Setting."""


def in_time_order(unix_s: NDArray[np.float64], source: str) -> tuple[NDArray[np.int64], list[Message]]:
    """Return the order that puts points in time, and notes.

    Ordered stretches may come in any order, and a few points may be out of order.

    Raises
    ------
    BadInput
        If times run backwards through the file, or stretches of it overlap in time.
    """
    back = np.flatnonzero(np.diff(unix_s) < 0) + 1
    if back.size == 0:
        return np.arange(unix_s.size), []
    if back.size > max(2, 0.05 * unix_s.size) or 2 * back.size > unix_s.size - 1:
        raise BadInput(message("fault.backwards", n=int(back.size), all=int(unix_s.size) - 1), source)
    bounds = np.concatenate([[0], back, [unix_s.size]])
    stretches = sorted(
        ((unix_s[i], unix_s[j - 1], j - i) for i, j in pairwise(bounds)),
    )
    end, shared = -np.inf, 0
    for first, last, size in stretches:
        if first < end:
            width = max(last - first, 1e-9)
            shared += int(np.ceil(size * min(1.0, (min(end, last) - first) / width)))
        end = max(end, last)
    if shared > max(2, 0.1 * unix_s.size):
        raise BadInput(message("fault.starts_again", point=int(back[0]) + 1), source)
    order = np.argsort(unix_s, kind="stable")
    return order, [message("note.put_in_order", n=int(back.size))]


def one_per_time(
    unix_s: NDArray[np.float64], position_m: NDArray[np.float64], source: str
) -> tuple[NDArray[np.bool_], list[Message]]:
    """Return which points to keep so that each time, (n,) in order, occurs once, and notes.

    Raises
    ------
    BadInput
        If only one time is left, or many points share their time with a distant one.
    """
    new = np.diff(unix_s, prepend=-np.inf) > 0
    again = np.flatnonzero(~new)
    if new.sum() < 2:
        raise BadInput(message("fault.one_time"), source)
    apart = np.linalg.norm(position_m[again] - position_m[again - 1], axis=1)
    elsewhere = int((apart > NOISE_M).sum())
    if elsewhere > max(2, 0.1 * unix_s.size):
        raise BadInput(message("fault.two_at_one_time", n=elsewhere, far=length(float(apart.max()))), source)
    return new, [message("note.times_again", n=int(again.size))] if again.size else []


def kept_after_outliers(
    unix_s: NDArray[np.float64], position_m: NDArray[np.float64], source: str, *, fastest_m_s: float
) -> tuple[NDArray[np.bool_], NDArray[np.bool_], list[Message]]:
    """Return which points to keep, before which of these the track breaks, and notes.

    Takes times (n,) in order and places (n, 2), m. A point is an outlier if it is farther from the last kept
    one than `fastest_m_s` allows plus 10 m. Five consecutive ones that agree with each other are a new place,
    and the track breaks there.

    Raises
    ------
    BadInput
        If more than a fifth of the points would be removed.
    """
    t, x, y = unix_s.tolist(), position_m[:, 0].tolist(), position_m[:, 1].tolist()
    keep = np.ones(len(t), dtype=bool)
    breaks = np.zeros(len(t), dtype=bool)
    last, rejected = 0, 0

    def reachable(i: int, j: int) -> bool:
        reach = fastest_m_s * (t[j] - t[i]) + NOISE_M
        return bool((x[j] - x[i]) ** 2 + (y[j] - y[i]) ** 2 <= reach * reach)

    for i in range(1, len(t)):
        if reachable(last, i):
            last, rejected = i, 0
            continue
        keep[i] = False
        rejected = rejected + 1 if rejected == 0 or reachable(i - 1, i) else 1
        if rejected == TOGETHER:
            keep[i - TOGETHER + 1 : i + 1] = True
            breaks[i - TOGETHER + 1] = True
            last, rejected = i, 0
    gone, jumps = int((~keep).sum()), int(breaks.sum())
    if gone > max(2, 0.2 * len(t)):
        raise BadInput(message("fault.too_fast", n=gone, all=len(t), fastest=speed(fastest_m_s)), source)
    notes = [message("note.outliers", n=gone)] if gone else []
    if jumps:
        notes.append(message("note.jumps", n=jumps))
    return keep, breaks, notes
