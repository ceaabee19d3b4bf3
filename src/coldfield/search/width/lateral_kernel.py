"""Is a set heard by a searcher who walks past? Compiled loop over samples and distances.

Axes: x across the lane, y along it and along the heading, z up. `day` holds what all samples share:
pulse spacing (m), range on the axis (m), and squared threshold over squared moment (1/m6).
`weights` are those of `coldfield.beacon.receiver.hearing_weights`.
"""

from __future__ import annotations

from math import floor, sqrt

import numpy as np
from numpy.typing import NDArray

from coldfield.beacon.compiled import (
    compiled,
    dipole_parts,
    ellipse_gap2,
    ellipse_squares,
    held_square,
    inlined,
    turned_square,
)
from coldfield.beacon.hearing_kernel import FIELD_SCALE, TURNING, WAVE
from coldfield.shipped_loops import Loop

SPACING, REACH, LEVEL = range(3)

_loop = compiled(__name__, "coldfield.beacon.hearing_kernel", _nrt=False)


@inlined
def amplitude_squared(
    x: float, y: float, z: float, u: NDArray[np.float64], weights: NDArray[np.float64]
) -> float:
    """Return the squared combined amplitude, 1/m6, of a unit moment `u` for a receiver at (x, y, z)."""
    r2 = x * x + y * y + z * z
    inverse, kr2 = 1.0 / r2, weights[WAVE] * weights[WAVE] * r2
    px, py, pz, sx, sy, sz = dipole_parts(x, y, z, u[0], u[1], u[2], inverse, kr2)
    xx, yy, zz, _ = ellipse_squares(px, py, pz, sx, sy, sz, kr2)
    scale = FIELD_SCALE * inverse * inverse * inverse
    if weights[TURNING] > 0.0:
        turned: float = scale * turned_square(
            xx + yy + zz, ellipse_gap2(px, py, pz, sx, sy, sz, kr2), weights
        )
        return turned
    held: float = scale * held_square(yy, xx, zz, weights)
    return held


@_loop
def pass_is_heard(
    x: float,
    z: float,
    u: NDArray[np.float64],
    phase: float,
    day: NDArray[np.float64],
    weights: NDArray[np.float64],
) -> bool:
    """Return whether any pulse is heard on a lane at lateral distance x, nearest first; axis u (3,)."""
    room = day[REACH] * day[REACH] - x * x - z * z
    if room <= 0.0:
        return False
    end = sqrt(room)
    ahead, behind = phase * day[SPACING], (phase - 1.0) * day[SPACING]
    while ahead <= end or behind >= -end:
        if ahead <= end and amplitude_squared(x, ahead, z, u, weights) >= day[LEVEL]:
            return True
        if behind >= -end and amplitude_squared(x, behind, z, u, weights) >= day[LEVEL]:
            return True
        ahead += day[SPACING]
        behind -= day[SPACING]
    return False


@Loop
@_loop
def fill_table(
    lateral: NDArray[np.float64],
    u: NDArray[np.float64],
    z: NDArray[np.float64],
    phase: NDArray[np.float64],
    day: NDArray[np.float64],
    weights: NDArray[np.float64],
    out: NDArray[np.bool_],
) -> None:
    """Write into out (samples, distances) whether each sample is heard at each lateral distance.

    Axes `u` (samples, 3); heights `z` and phases (samples,); lateral distances (distances,).
    """
    for j in range(u.shape[0]):
        for i in range(lateral.shape[0]):
            out[j, i] = pass_is_heard(lateral[i], z[j], u[j], phase[j], day, weights)


@Loop
@_loop
def count_heard(
    lateral: float,
    u: NDArray[np.float64],
    z: NDArray[np.float64],
    phase: NDArray[np.float64],
    day: NDArray[np.float64],
    weights: NDArray[np.float64],
    counts: NDArray[np.int64],
) -> None:
    """Add to `counts` (blocks,) how many samples of each of the equal blocks are heard at a distance."""
    for j in range(u.shape[0]):
        if pass_is_heard(lateral, z[j], u[j], phase[j], day, weights):
            counts[floor(j * counts.shape[0] / u.shape[0])] += 1
