"""How fast people walk on a slope."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from coldfield.drill.conditions import Travel

FASTEST_RISE = -0.05
"""The rise per metre, dh/dx, at which Tobler's walker is fastest: 5 % downhill (2.9 degrees)."""

OFF_PATH_FACTOR = 0.6
"""Tobler's factor for walking off a path, for those whose level speed was measured on one."""

TRAVEL_FACTOR: dict[Travel, float] = {"on foot": 1.0, "on ski": 1.0, "on snowshoe": 0.9}
"""Level speed by way of travel, over that on foot on the same snow. Settings, no source."""


def tobler_speed_m_s(rise_per_m: ArrayLike) -> NDArray[np.float64]:
    """Return the walking speed on a path, m/s, that Tobler's function gives.

    Parameters
    ----------
    rise_per_m : array_like
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
    """Return the speed at a rise per metre over the speed on the level, by Tobler's function."""
    return np.asarray(tobler_speed_m_s(rise_per_m) / tobler_speed_m_s(0.0))


def greatest_speed_factor(slope_rad: float) -> float:
    """Return the greatest factor that any direction on a slope of at most `slope_rad` gives."""
    return float(speed_factor(max(FASTEST_RISE, -np.tan(slope_rad))))
