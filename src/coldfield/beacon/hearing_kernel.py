"""Hearing at one place as a compiled function, in double precision."""

from __future__ import annotations

from math import sqrt

import numpy as np
from numba import njit
from numpy.typing import NDArray

THRESHOLD, REFERENCE, WAVE, ALONG, ACROSS, UPRIGHT, BESIDE, TURNING, SINE, COSINE = range(10)


@njit(cache=True, fastmath=True)
def hear_one(
    x: float, y: float, z: float, mx: float, my: float, mz: float, day: NDArray[np.float64]
) -> tuple[float, float, float, float, float]:
    """Return squares of the field, of what the antennas make of it, of their level part; then the line.

    All times (4 pi)^2 for a receiver at (x, y, z) from the set; the last two are the cosine and the
    sine of twice the line's azimuth, times its strength. `day` is that of
    `coldfield.beacon.hearing_grid.day_of`: threshold, reference moment, wave number, 1 / factor^2 along,
    across and upright (0: none) and of the antenna beside when a direction is sought, turning (1 or 0),
    sine and cosine of the heading.
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
