"""Hearing at one place as a compiled function, in double precision."""

from __future__ import annotations

from math import pi

import numpy as np
from numpy.typing import NDArray

from coldfield.beacon.compiled import (
    along_and_across,
    dipole_parts,
    ellipse_gap2,
    ellipse_squares,
    held_square,
    inlined,
    turned_square,
)

TURNING, LEVEL_ALONG, LEVEL_ACROSS, WAVE = 3, 5, 6, 7
FIELD_SCALE = 1.0 / (16.0 * pi * pi)


@inlined
def hear_one(
    x: float,
    y: float,
    z: float,
    mx: float,
    my: float,
    mz: float,
    east: float,
    north: float,
    weights: NDArray[np.float64],
) -> tuple[float, float, float, float, float]:
    """Return the squares of the field, of the combined amplitude and of its level part; then the line.

    The receiver is at (x, y, z) from the set and heads along the unit vector (east, north). Squares are in
    A2/m2 (or 1/m6 for a moment of 1). The last two values are the cosine and the sine of twice the line's
    azimuth, times its strength. `weights` are those of `coldfield.beacon.receiver.hearing_weights`.
    """
    r2 = x * x + y * y + z * z
    inverse, kr2 = 1.0 / r2, weights[WAVE] * weights[WAVE] * r2
    px, py, pz, sx, sy, sz = dipole_parts(x, y, z, mx, my, mz, inverse, kr2)
    xx, yy, zz, xy = ellipse_squares(px, py, pz, sx, sy, sz, kr2)
    along, across = along_and_across(xx, yy, xy, east * east, 2.0 * east * north, north * north)
    size = xx + yy + zz
    heard = held_square(along, across, zz, weights)
    if weights[TURNING] > 0.0:
        heard = turned_square(size, ellipse_gap2(px, py, pz, sx, sy, sz, kr2), weights)
    level = weights[LEVEL_ALONG] * along + weights[LEVEL_ACROSS] * across
    scale = FIELD_SCALE * inverse * inverse * inverse
    return scale * size, scale * heard, scale * level, yy - xx, 2.0 * xy
