"""How fast people walk on a slope."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from coldfield.drill.conditions import Travel

FASTEST_RISE = -0.05
"""The rise per metre, dh/dx, at which Tobler's walker is fastest: 5 % downhill (2.9 degrees)."""

OFF_PATH_FACTOR = 0.6
"""Tobler's factor for walking off a path, for people whose level speed was measured on one."""

TRAVEL_FACTOR: dict[Travel, float] = {"on foot": 1.0, "on ski": 1.15, "on snowshoe": 0.9}
"""Level speed by means of travel, relative to walking on the same snow: skis glide and sink in
less, snowshoes are slower on debris. Settings, no source. Rehearsals add the time to take them
off."""


def tobler_speed_m_s(rise_per_m: ArrayLike) -> NDArray[np.float64]:
    """Return the walking speed on a path from Tobler's function, m/s.

    Parameters
    ----------
    rise_per_m : array_like, any shape
        Height gained per metre of horizontal distance; negative downhill.

    Notes
    -----
    W = 6 exp(-3.5 |S + 0.05|) km/h. The publication does not say whether the speed is along the
    ground or in plan; here it is along the ground. At 30 degrees the two differ by 15 %.

    References
    ----------
    .. [1] W. Tobler, *Three presentations on geographical analysis and modeling*, NCGIA technical
       report 93-1, 1993 (formula from memory).

    Examples
    --------
    >>> (3.6 * tobler_speed_m_s([0.0, -0.05])).round(2).tolist()
    [5.04, 6.0]
    """
    rise = np.asarray(rise_per_m, dtype=np.float64)
    return np.asarray(6.0 / 3.6 * np.exp(-3.5 * np.abs(rise - FASTEST_RISE)))


def speed_factor(rise_per_m: ArrayLike) -> NDArray[np.float64]:
    """Return the speed at a rise per metre, relative to level snow, by Tobler's function; any shape."""
    return np.asarray(tobler_speed_m_s(rise_per_m) / tobler_speed_m_s(0.0))


STEEPEST_RISE = 0.2664
"""Rise per metre at which Tobler's walker gains height fastest: S (1 + S^2) = 1 / 3.5 (derived)."""


def level_metres(across_m: ArrayLike, rise_m: ArrayLike) -> NDArray[np.float64]:
    """Return the length of level snow that takes as long as straight legs, m.

    Parameters
    ----------
    across_m : array_like, any shape
        Horizontal distance of each leg, m.
    rise_m : array_like, the same shape
        Height gained on it, m; negative downhill.

    Notes
    -----
    This is the length on the snow divided by `speed_factor`. A leg steeper than 27 % up or down is
    walked in zigzags of 27 %. On an even slope these reach the same height and place in the least
    time, which depends only on the height. Going straight up 30 degrees would take 1.5 times as
    long.

    Examples
    --------
    >>> level_metres([100.0, 100.0], [0.0, 10.0]).round(1).tolist()
    [100.0, 142.6]
    """
    across, rise = np.asarray(across_m, dtype=np.float64), np.asarray(rise_m, dtype=np.float64)
    steep = np.abs(rise) > STEEPEST_RISE * across
    slope = np.where(steep, np.sign(rise) * STEEPEST_RISE, rise / np.where(across > 0.0, across, 1.0))
    length = np.where(
        steep, np.abs(rise) * np.hypot(1.0, STEEPEST_RISE) / STEEPEST_RISE, np.hypot(across, rise)
    )
    return np.asarray(length / speed_factor(slope))
