"""Hearing along walked ways as a compiled loop."""

from __future__ import annotations

from math import cos, pi, sin, sqrt

import numpy as np
from numba import njit
from numpy.typing import NDArray

from coldfield.beacon.hearing import CARRY_ROUNDS, CARRY_SETTLED
from coldfield.beacon.hearing_kernel import COSINE, REFERENCE, SINE, THRESHOLD, hear_one


@njit(cache=True)
def hear_places(
    surface: NDArray[np.float64],
    normal: NDArray[np.float64],
    heading: NDArray[np.float64],
    sources: NDArray[np.float64],
    moments: NDArray[np.float64],
    day: NDArray[np.float64],
    above: float,
    out: NDArray[np.float64],
) -> None:
    """Write what each set gives at each place into out (4, places, sets).

    The inverse cube of the reading in m, the amplitude over the threshold squared, and cosine and sine of
    twice the line's azimuth times a strength, both 0 where there is no line. The set is held `above`
    metres over the snow; below 0 stands for the carried height. `day` is that of
    `coldfield.beacon.hearing_grid.day_of`; its heading is replaced by that of each place.
    """
    unit = 1.0 / (2.0 * day[REFERENCE]) ** 2
    floor = (4.0 * pi * day[THRESHOLD]) ** 2 * (1.0 - 2e-12)
    here = day.copy()
    for i in range(surface.shape[0]):
        here[SINE], here[COSINE] = sin(heading[i]), cos(heading[i])
        height = above if above >= 0.0 else 1.0
        for turn in range(CARRY_ROUNDS):
            strongest = 0.0
            for j in range(sources.shape[0]):
                x = surface[i, 0] + height * normal[i, 0] - sources[j, 0]
                y = surface[i, 1] + height * normal[i, 1] - sources[j, 1]
                z = surface[i, 2] + height * normal[i, 2] - sources[j, 2]
                size, heard, level, even, odd = hear_one(
                    x, y, z, moments[j, 0], moments[j, 1], moments[j, 2], here
                )
                if heard >= floor and size > strongest:
                    strongest = size
                out[0, i, j] = sqrt(unit * size)
                out[1, i, j] = heard / floor
                lined = heard >= floor and level >= floor
                out[2, i, j] = even if lined else 0.0
                out[3, i, j] = odd if lined else 0.0
            wanted = 1.0
            if strongest > 0.0:
                lowest = 1.0 / np.cbrt(sqrt(unit * strongest))
                wanted = 0.1 + 0.9 * min(max((lowest - 3.0) / 7.0, 0.0), 1.0)
            if turn >= CARRY_SETTLED:
                wanted = min(wanted, height)
            if above >= 0.0 or abs(wanted - height) < 1e-6:
                break
            height = wanted
