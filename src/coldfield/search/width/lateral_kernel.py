"""Is a set heard by a searcher who walks past? Compiled loop over samples and distances.

Axes: x across the lane, y along it and along the heading, z up. `day` holds what samples share:
pulse spacing (m), range on the axis (m), squared threshold over squared moment (1/m6), wave number
(1/m), then 1 / factor^2 of the antennas along, across and upright (0: none; best first for a set
that is turned about) and 1 for a set that is turned about.
"""

from __future__ import annotations

from math import floor, pi, sqrt

import numpy as np
from numba import njit
from numpy.typing import NDArray

SPACING, REACH, LEVEL, WAVE, ALONG, ACROSS, UPRIGHT, TURNING = range(8)


@njit(cache=True)
def amplitude_squared(
    x: float, y: float, z: float, u: NDArray[np.float64], day: NDArray[np.float64]
) -> float:
    """Return the squared combined amplitude, 1/m6, of a unit moment `u`, the receiver at (x, y, z)."""
    r2 = x * x + y * y + z * z
    c = (x * u[0] + y * u[1] + z * u[2]) / r2
    kr2 = day[WAVE] * day[WAVE] * r2
    # H 4 pi r^3 / e^{ikr} = (3 - k2r2 - 3ikr) n(n.u) - (1 - k2r2 - ikr) u
    far, near = 3.0 - kr2, 1.0 - kr2
    ax, ay, az = c * x, c * y, c * z
    rx, ry, rz = far * ax - near * u[0], far * ay - near * u[1], far * az - near * u[2]
    ix, iy, iz = 3.0 * ax - u[0], 3.0 * ay - u[1], 3.0 * az - u[2]
    scale = 1.0 / (16.0 * pi * pi * r2 * r2 * r2)
    if day[TURNING] > 0.0:
        real, imaginary = rx * rx + ry * ry + rz * rz, kr2 * (ix * ix + iy * iy + iz * iz)
        cross = 2.0 * sqrt(kr2) * (rx * ix + ry * iy + rz * iz)
        gap = sqrt((real - imaginary) ** 2 + cross * cross)
        size = real + imaginary
        best, second = day[ALONG] * (size + gap), day[ACROSS] * max(size - gap, 0.0)
        turned: float = scale * 0.5 * (best + second)
        return turned
    along, across, upright = ry * ry + kr2 * iy * iy, rx * rx + kr2 * ix * ix, rz * rz + kr2 * iz * iz
    level: float = scale * (day[ALONG] * along + day[ACROSS] * across + day[UPRIGHT] * upright)
    return level


@njit(cache=True)
def pass_is_heard(x: float, z: float, u: NDArray[np.float64], phase: float, day: NDArray[np.float64]) -> bool:
    """Is any pulse heard on a lane at lateral distance x? From the nearest pulse outwards."""
    room = day[REACH] * day[REACH] - x * x - z * z
    if room <= 0.0:
        return False
    end = sqrt(room)
    ahead, behind = phase * day[SPACING], (phase - 1.0) * day[SPACING]
    while ahead <= end or behind >= -end:
        if ahead <= end and amplitude_squared(x, ahead, z, u, day) >= day[LEVEL]:
            return True
        if behind >= -end and amplitude_squared(x, behind, z, u, day) >= day[LEVEL]:
            return True
        ahead += day[SPACING]
        behind -= day[SPACING]
    return False


@njit(cache=True)
def fill_heard(
    lateral: NDArray[np.float64],
    u: NDArray[np.float64],
    z: NDArray[np.float64],
    phase: NDArray[np.float64],
    day: NDArray[np.float64],
    out: NDArray[np.bool_],
) -> None:
    """Write into out[j, i] whether sample j is heard at lateral distance i."""
    for j in range(u.shape[0]):
        for i in range(lateral.shape[0]):
            out[j, i] = pass_is_heard(lateral[i], z[j], u[j], phase[j], day)


@njit(cache=True)
def heard_counts(
    lateral: float,
    u: NDArray[np.float64],
    z: NDArray[np.float64],
    phase: NDArray[np.float64],
    day: NDArray[np.float64],
    blocks: int,
) -> NDArray[np.int64]:
    """Return how many samples of each of so many equal blocks are heard at one lateral distance."""
    counts = np.zeros(blocks, dtype=np.int64)
    for j in range(u.shape[0]):
        if pass_is_heard(lateral, z[j], u[j], phase[j], day):
            counts[floor(j * blocks / u.shape[0])] += 1
    return counts
