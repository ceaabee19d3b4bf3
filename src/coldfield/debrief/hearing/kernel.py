"""Hearing along walked ways as a compiled loop."""

from __future__ import annotations

from math import cos, inf, sin, sqrt

import numpy as np
from numpy.typing import NDArray

from coldfield.beacon.compiled import FINITE, carry_height_m, compiled, reading_m
from coldfield.beacon.formulas import CARRY_ROUNDS, CARRY_SETTLED, FAR_HEIGHT_M
from coldfield.beacon.hearing_kernel import hear_one


@compiled(__name__, "coldfield.beacon.hearing_kernel", fastmath=FINITE)
def hear_places(
    surface: NDArray[np.float64],
    normal: NDArray[np.float64],
    heading: NDArray[np.float64],
    sources: NDArray[np.float64],
    moments: NDArray[np.float64],
    weights: NDArray[np.float64],
    reference: float,
    threshold: float,
    above: float,
    out: NDArray[np.float64],
) -> None:
    """Write the values of each set at each place into out (4, places, sets).

    The values are the size of the field, A/m, the squared amplitude relative to the threshold, and cosine and
    sine of twice the line's azimuth times a strength, both 0 if there is no line. `surface` and `normal`
    (places, 3) are the snow and its unit normal, `heading` (places,) azimuths, `sources` and `moments` (sets,
    3); `weights` are those of `coldfield.beacon.receiver.hearing_weights`. The receiver is held `above`
    metres over the snow; a negative value means the carry height.
    """
    floor = threshold * threshold * (1.0 - 2e-12)
    for i in range(surface.shape[0]):
        east, north = sin(heading[i]), cos(heading[i])
        height = above if above >= 0.0 else FAR_HEIGHT_M
        for turn in range(CARRY_ROUNDS):
            lowest = inf
            for j in range(sources.shape[0]):
                x = surface[i, 0] + height * normal[i, 0] - sources[j, 0]
                y = surface[i, 1] + height * normal[i, 1] - sources[j, 1]
                z = surface[i, 2] + height * normal[i, 2] - sources[j, 2]
                size, heard, level, even, odd = hear_one(
                    x, y, z, moments[j, 0], moments[j, 1], moments[j, 2], east, north, weights
                )
                out[0, i, j] = sqrt(size)
                out[1, i, j] = heard / floor
                if heard >= floor:
                    lowest = min(lowest, reading_m(reference, out[0, i, j]))
                lined = heard >= floor and level >= floor
                out[2, i, j] = even if lined else 0.0
                out[3, i, j] = odd if lined else 0.0
            wanted = carry_height_m(lowest, height if turn >= CARRY_SETTLED else FAR_HEIGHT_M)
            if above >= 0.0 or abs(wanted - height) < 1e-6:
                break
            height = wanted
