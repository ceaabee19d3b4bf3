"""A time that no way of sharing the ground can beat."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import pi

import numpy as np
from numpy.typing import NDArray

from coldfield.search.lanes.pace import level_metres


@dataclass(frozen=True, slots=True, kw_only=True)
class BoundTask:
    """The least that any plan must do; lengths and areas on the snow, heights in m.

    `distance_m` (p,) and `rise_m` (p,) are measured from the entry to the places that must be covered.
    `way_m` is the distance from the entry to the nearest ground, `steepest_rise` the greatest rise per
    metre in any direction on the ground.
    """

    area_m2: float
    way_m: float
    distance_m: NDArray[np.float64]
    rise_m: NDArray[np.float64]
    steepest_rise: float


def lower_bound_s(task: BoundTask, *, width_m: float, speeds_m_s: Sequence[float]) -> float:
    """Return a time that no plan can beat, s, for people with these speeds on level snow.

    Notes
    -----
    A line of length L covers at most L w + pi w^2 / 4 of ground within half a width, and nobody
    reaches the ground without walking to its nearest place. The k people who take part are at best the
    k fastest, who together walk at least A / w + k (way - pi w / 4) for some k. Someone must also come
    within half a width of the farthest, the highest and the lowest place. On a slope, each metre of a
    leg whose grade has the sine s costs c(s) metres of level snow. For any b, c(s) >= a + b max(s, 0),
    where a is the minimum of c(s) - b max(s, 0). So L metres that climb H cost at least a L + b H; the
    same applies downhill. The best of 41 values of b in each direction is used.
    """
    speeds = np.sort(np.asarray(speeds_m_s))[::-1]
    people = np.arange(1, len(speeds) + 1)
    walked = np.maximum(task.area_m2 / width_m + people * (task.way_m - pi * width_m / 4.0), 0.0)
    reach = np.maximum(task.distance_m - 0.5 * width_m, 0.0)
    top_sine = task.steepest_rise / np.hypot(1.0, task.steepest_rise)
    sine = np.linspace(-top_sine, top_sine, 801)
    cost = level_metres(np.sqrt(1.0 - sine**2), sine)
    best = 0.0
    for sign in (1.0, -1.0):
        climb = np.maximum(sign * task.rise_m - 0.5 * width_m * top_sine, 0.0)
        for b in np.linspace(0.0, float(cost.max()), 41):
            a = max(float((cost - b * np.maximum(sign * sine, 0.0)).min()), 0.0)
            together = (a * walked + b * climb.max(initial=0.0)) / np.cumsum(speeds)
            someone = (a * reach + b * climb).max(initial=0.0) / speeds[0]
            best = max(best, float(together.min()), float(someone))
    return best
