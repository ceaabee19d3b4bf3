"""Chance that walked lines leave a set unheard. Compiled loop over places, burials and pulses.

A set is heard when 2 of 3 successive pulses are detected. The chance that this never happens along
a line follows exactly from the chance of each pulse, by a chain over what the last two pulses did.
"""

from __future__ import annotations

from math import pi, sqrt

import numpy as np
from numba import njit
from numpy.typing import NDArray

NOISE, REACH, WAVE, STEP, SPACING = range(5)
_SURE = 1e-7


@njit(cache=True)
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
    """Return the chance that one pulse is detected, the receiver at (x, y, z) from a unit moment.

    `weight` holds 1 / factor of the antennas along, across and upright, 0 for none.
    """
    r2 = x * x + y * y + z * z
    c = (x * u[0] + y * u[1] + z * u[2]) / r2
    kr2 = day[WAVE] * day[WAVE] * r2
    far, near, turn = 3.0 - kr2, 1.0 - kr2, sqrt(kr2)
    real_x, real_y, real_z = far * c * x - near * u[0], far * c * y - near * u[1], far * c * z - near * u[2]
    imag_x, imag_y, imag_z = (
        (3.0 * c * x - u[0]) * turn,
        (3.0 * c * y - u[1]) * turn,
        (3.0 * c * z - u[2]) * turn,
    )
    scale = 1.0 / (4.0 * pi * r2 * sqrt(r2) * day[NOISE])
    along = sqrt((real_x * ahead_x + real_y * ahead_y) ** 2 + (imag_x * ahead_x + imag_y * ahead_y) ** 2)
    across = sqrt((real_x * ahead_y - real_y * ahead_x) ** 2 + (imag_x * ahead_y - imag_y * ahead_x) ** 2)
    upright = sqrt(real_z**2 + imag_z**2)
    missed = 1.0
    last = table.shape[0] - 1
    for k in range(3):
        if weight[k] == 0.0:
            continue
        seen = along if k == 0 else (across if k == 1 else upright)
        at = seen * scale * weight[k] / day[STEP]
        if at >= last:
            return 1.0
        low = int(at)
        missed *= 1.0 - (table[low] + (at - low) * (table[low + 1] - table[low]))
    return 1.0 - missed


@njit(cache=True)
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

    `carried` (p, 3) holds places of the receiver, `ahead` (p, 2) its heading; burial j pulses at
    every `every`-th of them from `offset[j]` on.
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
            # neither: the last two pulses missed; old, new: only the last but one, only the last, seen.
            neither, old, new = 1.0, 0.0, 0.0
            k = offset[j]
            while k < count:
                x, y, z = carried[k, 0] - sx, carried[k, 1] - sy, carried[k, 2] - sz
                gap2 = x * x + y * y + z * z - reach2
                if gap2 > 0.0:
                    # Out of range: nothing is heard, and nothing before the line has come near again.
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
                # After a detection within the last two pulses another one means heard.
                neither, old, new = (neither + old) * (1.0 - p), new * (1.0 - p), neither * p
                if neither + old + new < _SURE:
                    break
                k += every
            miss[i, j] *= neither + old + new
