"""Chance that walked lines leave a set unheard. Compiled loop over places, burials and pulses.

A set is heard when 2 of 3 successive pulses are detected. The chance that this never happens along
a line follows exactly from the chance of each pulse, by a Markov chain over the last two pulses.
"""

from __future__ import annotations

from math import pi, sqrt

import numpy as np
from numpy.typing import NDArray

from coldfield.beacon.compiled import (
    along_and_across,
    compiled,
    dipole_parts,
    ellipse_gap2,
    ellipse_squares,
    half_axes,
    inlined,
    table_value,
)
from coldfield.shipped_loops import Loop

NOISE, REACH, WAVE, STEP, SPACING, TURNING = range(6)
_SURE, _NEVER = 1e-7, 1e-12
_loop = compiled(__name__, _nrt=False)


@inlined
def pulse_chance(
    x: float,
    y: float,
    z: float,
    ahead_x: float,
    ahead_y: float,
    u: NDArray[np.float64],
    weight: NDArray[np.float64],
    day: NDArray[np.float64],
    table: NDArray[np.float64],
) -> float:
    """Return the chance that one pulse is detected by a receiver at (x, y, z) from a unit moment.

    `weight` (3,) holds 1 / factor of the antennas along, across and upright, or 0 for none; for a set
    that is turned about, the best antenna comes first.
    """
    r2 = x * x + y * y + z * z
    inverse, kr2 = 1.0 / r2, day[WAVE] * day[WAVE] * r2
    px, py, pz, sx, sy, sz = dipole_parts(x, y, z, u[0], u[1], u[2], inverse, kr2)
    xx, yy, zz, xy = ellipse_squares(px, py, pz, sx, sy, sz, kr2)
    along, across = along_and_across(
        xx, yy, xy, ahead_x * ahead_x, 2.0 * ahead_x * ahead_y, ahead_y * ahead_y
    )
    upright = zz
    if day[TURNING] > 0.0:
        along, across = half_axes(xx + yy + zz, ellipse_gap2(px, py, pz, sx, sy, sz, kr2))
        upright = 0.0
    scale = inverse / (4.0 * pi * sqrt(r2) * day[NOISE])
    missed = 1.0
    for k in range(3):
        if weight[k] == 0.0:
            continue
        square = along if k == 0 else (across if k == 1 else upright)
        missed *= 1.0 - table_value(table, day[STEP], sqrt(max(square, 0.0)) * scale * weight[k])
        if missed < _NEVER:
            return 1.0
    return 1.0 - missed


@Loop
@_loop
def multiply_misses(
    place: NDArray[np.float64],
    down: NDArray[np.float64],
    u: NDArray[np.float64],
    depth: NDArray[np.float64],
    offset: NDArray[np.int64],
    carried: NDArray[np.float64],
    ahead: NDArray[np.float64],
    every: int,
    weight: NDArray[np.float64],
    day: NDArray[np.float64],
    table: NDArray[np.float64],
    miss: NDArray[np.float64],
) -> None:
    """Multiply miss[i, j] by the chance that burial j at place i stays unheard along one line.

    `carried` (p, 3) holds places of the receiver, `ahead` (p, 2) its heading. Burial j sends a
    pulse at every `every`-th place, from `offset[j]` on.
    """
    reach2 = day[REACH] * day[REACH]
    count = carried.shape[0]
    for i in range(place.shape[0]):
        for j in range(u.shape[0]):
            if miss[i, j] < _SURE:
                continue
            sx = place[i, 0] + down[i, 0] * depth[j]
            sy = place[i, 1] + down[i, 1] * depth[j]
            sz = place[i, 2] + down[i, 2] * depth[j]
            # neither: both of the last two pulses missed; old, new: only the one before last, only
            # the last, detected.
            neither, old, new = 1.0, 0.0, 0.0
            k = offset[j]
            while k < count:
                x, y, z = carried[k, 0] - sx, carried[k, 1] - sy, carried[k, 2] - sz
                gap2 = x * x + y * y + z * z - reach2
                if gap2 > 0.0:
                    # Out of range: nothing is heard until the line comes near again.
                    near = sqrt(gap2 + reach2) - day[REACH]
                    skip = int(near / day[SPACING]) // every
                    if skip >= 2:
                        neither, old, new = neither + old + new, 0.0, 0.0
                        k += every * skip
                    else:
                        neither, old, new = neither + old, new, 0.0
                        k += every
                    continue
                p = pulse_chance(x, y, z, ahead[k, 0], ahead[k, 1], u[j], weight, day, table)
                # If one of the last two pulses was detected, another detection means the set is heard.
                neither, old, new = (neither + old) * (1.0 - p), new * (1.0 - p), neither * p
                if neither + old + new < _SURE:
                    break
                k += every
            miss[i, j] *= neither + old + new
