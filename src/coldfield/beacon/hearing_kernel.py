"""Hearing over a whole grid as a compiled loop."""

from __future__ import annotations

from math import pi, sqrt

import numpy as np
from numba import njit
from numpy.typing import NDArray

THRESHOLD, REFERENCE, WAVE, ALONG, ACROSS, UPRIGHT, BESIDE, TURNING, SINE, COSINE = range(10)


@njit(cache=True, fastmath=True)
def hear_one(
    x: float, y: float, z: float, mx: float, my: float, mz: float, day: NDArray[np.float64]
) -> tuple[float, float, float, float, float]:  # pragma: no cover - compiled
    """Return squares of the field, of what the antennas make of it, of their level part; then the line.

    All times (4 pi)^2 for a receiver at (x, y, z) from the set; the last two are the cosine and the
    sine of twice the line's azimuth, times its strength. `day` is that of `fill_grid`.
    """
    r2 = x * x + y * y + z * z
    kr2 = day[WAVE] * day[WAVE] * r2
    c = (x * mx + y * my + z * mz) / r2
    far, near = 3.0 - kr2, 1.0 - kr2
    rx, ry, rz = far * c * x - near * mx, far * c * y - near * my, far * c * z - near * mz
    k = sqrt(kr2)
    ix, iy, iz = k * (mx - 3.0 * c * x), k * (my - 3.0 * c * y), k * (mz - 3.0 * c * z)
    xx, yy, zz = rx * rx + ix * ix, ry * ry + iy * iy, rz * rz + iz * iz
    xy = rx * ry + ix * iy
    sn, cs = day[SINE], day[COSINE]
    along = xx * sn * sn + 2.0 * xy * sn * cs + yy * cs * cs
    across = xx * cs * cs - 2.0 * xy * sn * cs + yy * sn * sn
    size = xx + yy + zz
    if day[TURNING] > 0.0:
        real = rx * rx + ry * ry + rz * rz
        gap = sqrt((2.0 * real - size) ** 2 + 4.0 * (rx * ix + ry * iy + rz * iz) ** 2)
        heard = 0.5 * (day[ALONG] * (size + gap) + day[ACROSS] * max(size - gap, 0.0))
    else:
        heard = day[ALONG] * along + day[ACROSS] * across + day[UPRIGHT] * zz
    scale = 1.0 / (r2 * r2 * r2)
    level = day[ALONG] * along + day[BESIDE] * across
    return scale * size, scale * heard, scale * level, yy - xx, 2.0 * xy


@njit(cache=True, fastmath=True)
def fill_grid(
    surface: NDArray[np.float64],
    normal: NDArray[np.float64],
    sources: NDArray[np.float64],
    moments: NDArray[np.float64],
    day: NDArray[np.float64],
    out: NDArray[np.float32],
) -> None:  # pragma: no cover - compiled
    """Write what each set gives at each point into out (4, points, sets).

    The root of the field's size (times a scale that makes it 1 / reading^3), the square of the
    amplitude over the threshold, and cosine and sine of twice the line's azimuth times a strength,
    both 0 where there is no line. Cube roots and angles are left to array functions, which are
    faster at them. The set is held at the carried height. `day`: threshold, reference moment, wave number,
    1 / factor^2 along, across and upright (0: none) and of the antenna beside when a direction is
    sought, turning (1 or 0), sine and cosine of the heading.
    """
    unit = 1.0 / (2.0 * day[REFERENCE]) ** 2
    floor = (4.0 * pi * day[THRESHOLD]) ** 2
    for i in range(surface.shape[0]):
        height = 1.0
        for _round in range(10):
            strongest = 0.0
            for j in range(sources.shape[0]):
                x = surface[i, 0] + height * normal[i, 0] - sources[j, 0]
                y = surface[i, 1] + height * normal[i, 1] - sources[j, 1]
                z = surface[i, 2] + height * normal[i, 2] - sources[j, 2]
                size, heard, level, even, odd = hear_one(
                    x, y, z, moments[j, 0], moments[j, 1], moments[j, 2], day
                )
                if heard >= floor and size > strongest:
                    strongest = size
                out[0, i, j] = sqrt(unit * size)
                out[1, i, j] = heard / floor
                lined = heard >= floor and level >= floor
                out[2, i, j] = even / day[REFERENCE] ** 2 if lined else 0.0
                out[3, i, j] = odd / day[REFERENCE] ** 2 if lined else 0.0
            wanted = 1.0
            if strongest > 0.0:
                lowest = 1.0 / np.cbrt(sqrt(unit * strongest))
                wanted = 0.1 + 0.9 * min(max((lowest - 3.0) / 7.0, 0.0), 1.0)
            if abs(wanted - height) < 1e-6:
                break
            height = wanted
