"""The formulas of field, antennas and carrying, each once: for plain numbers, arrays and compiled loops.

Every function here is plain arithmetic, without literals that would widen a number. It accepts
floats, NumPy arrays that broadcast against each other and, inside compiled loops, numbers of either
precision (`coldfield.beacon.compiled` gives the inlined forms). Vectors are given as components.

The full field of a dipole m at an offset of length r along n, at the wave number k, is::

    H = exp(ikr) / (4 pi r^3) * (p - ikr s)
    s = 3 n (n.m) - m,    p = s + k^2 r^2 (m - n (n.m))

The static field is s / (4 pi r^3).

References
----------
.. [1] J. D. Jackson, *Classical Electrodynamics*, 3rd ed., Wiley 1998, eq. (9.35), arranged by powers of
   kr (equation number from memory; checked in ``tests/beacon/test_field.py`` by geoana and sympy).
"""

from __future__ import annotations

from collections.abc import Sequence
from math import pi, sqrt
from typing import Any, TypeAlias

Number: TypeAlias = Any
"""A float, or an array; in compiled loops a number of either precision."""

FAR_HEIGHT_M, NEAR_HEIGHT_M = 1.0, 0.1
"""Height above the snow at which a set is carried far from the burial, and in the fine search.
Common practice, no source."""

FAR_READING_M, NEAR_READING_M = 10.0, 3.0
"""The set is lowered from the first of these readings on and is at its lowest from the second.
Common practice; no source for the straight line in between."""

CARRY_SETTLED, CARRY_ROUNDS = 8, 12
"""Rounds after which a carry height that has not settled can only be lowered, and the total of rounds."""


def dipole_parts(
    x: Number, y: Number, z: Number, mx: Number, my: Number, mz: Number, inverse_r2: Number, kr2: Number
) -> tuple[Number, Number, Number, Number, Number, Number]:
    """Return p and s of a dipole's field (see the module's docstring), each as three components, A m2.

    Parameters
    ----------
    x, y, z
        Receiver minus transmitter, m; only its direction counts.
    mx, my, mz
        Dipole moment, A m2.
    inverse_r2
        1 / (x^2 + y^2 + z^2), 1/m2.
    kr2
        (k r)^2; 0 for the static field. Complex in a conducting medium.

    Examples
    --------
    On the axis the static field is twice that at the same distance to the side:

    >>> dipole_parts(0.0, 0.0, 2.0, 0.0, 0.0, 1.0, 0.25, 0.0)[3:]
    (0.0, 0.0, 2.0)
    >>> dipole_parts(2.0, 0.0, 0.0, 0.0, 0.0, 1.0, 0.25, 0.0)[3:]
    (0.0, 0.0, -1.0)
    """
    c = (x * mx + y * my + z * mz) * inverse_r2
    ax, ay, az = c * x, c * y, c * z
    sx, sy, sz = ax + ax + ax - mx, ay + ay + ay - my, az + az + az - mz
    return sx + kr2 * (mx - ax), sy + kr2 * (my - ay), sz + kr2 * (mz - az), sx, sy, sz


def ellipse_squares(
    px: Number, py: Number, pz: Number, sx: Number, sy: Number, sz: Number, kr2: Number
) -> tuple[Number, Number, Number, Number]:
    """Return |Hx|^2, |Hy|^2, |Hz|^2 and Re(Hx Hy*) of a field p - i kr s."""
    xx, yy, zz = px * px + kr2 * sx * sx, py * py + kr2 * sy * sy, pz * pz + kr2 * sz * sz
    return xx, yy, zz, px * py + kr2 * sx * sy


def ellipse_gap2(
    px: Number, py: Number, pz: Number, sx: Number, sy: Number, sz: Number, kr2: Number
) -> Number:
    """Return |H.H|^2 of a field p - i kr s.

    The squares of the long and the short half axis are |H|^2 / 2 plus and minus half the root of this.
    """
    real = px * px + py * py + pz * pz - kr2 * (sx * sx + sy * sy + sz * sz)
    mixed = px * sx + py * sy + pz * sz
    twice = mixed + mixed
    return real * real + kr2 * twice * twice


def along_and_across(
    xx: Number, yy: Number, xy: Number, ee: Number, en: Number, nn: Number
) -> tuple[Number, Number]:
    """Return the squares of the level field along a heading and across it.

    Parameters
    ----------
    xx, yy, xy
        |Hx|^2, |Hy|^2 and Re(Hx Hy*), as of `ellipse_squares`.
    ee, en, nn
        e^2, 2 e n and n^2 of the unit vector (e, n) of the heading.
    """
    return xx * ee + xy * en + yy * nn, xx * nn - xy * en + yy * ee


def held_square(along: float, across: float, upright: float, weights: Sequence[float]) -> float:
    """Return the square of the combined amplitude for a set held level, from the squares of the parts.

    `weights` are those of `coldfield.beacon.receiver.square_weights`.
    """
    return weights[0] * along + weights[1] * across + weights[2] * upright


def turned_square(size: float, gap2: float, weights: Sequence[float]) -> float:
    """Return the same for a set that is turned about, from |H|^2 and `ellipse_gap2`."""
    return weights[3] * size + weights[4] * sqrt(gap2)


def half_axes(size: float, gap2: float) -> tuple[float, float]:
    """Return the squares of the long and the short half axis of an ellipse; numbers only.

    From |H|^2 and `ellipse_gap2`. A set that is turned about receives these two with its best antennas.
    """
    gap = sqrt(gap2)
    return 0.5 * (size + gap), 0.5 * max(size - gap, 0.0)


def reading_m(reference_am2: Number, size_a_per_m: Number) -> Number:
    """Return the distance a receiver deduces from the size of the field, m: the static law on the axis.

    Examples
    --------
    >>> round(reading_m(0.00625456, 1e-6), 2)
    9.98
    """
    return (reference_am2 / (2.0 * pi * size_a_per_m)) ** (1.0 / 3.0)


def carry_height_m(reading_m: float, highest_m: float) -> float:
    """Return the height above the snow at which a set is carried at a reading, m; numbers only.

    The height depends on the reading and the reading on the height. The two are repeated; each round
    shrinks the error to a sixth. Beside a silent zone no height may fit. From round `CARRY_SETTLED` on
    the last height is therefore the upper limit (before, `FAR_HEIGHT_M` is), so that the set settles.

    Examples
    --------
    >>> [round(carry_height_m(reading, FAR_HEIGHT_M), 3) for reading in (40.0, 6.5, 2.0)]
    [1.0, 0.55, 0.1]
    """
    share = (reading_m - NEAR_READING_M) / (FAR_READING_M - NEAR_READING_M)
    return min(NEAR_HEIGHT_M + (FAR_HEIGHT_M - NEAR_HEIGHT_M) * min(max(share, 0.0), 1.0), highest_m)


def table_value(table: Number, step: Number, at: Number) -> Number:
    """Return a table's value, interpolated between its places 0, `step`, ...; beyond them, its last value.

    Examples
    --------
    >>> table_value([0.0, 1.0, 3.0], 0.5, 0.75), table_value([0.0, 1.0, 3.0], 0.5, 9.0)
    (2.0, 3.0)
    """
    place = at / step
    last = len(table) - 1
    below = int(min(place, last - 1.0))
    return table[below] + (table[below + 1] - table[below]) * (min(place, last) - below)


def field_but_for_phase(
    x: float, y: float, z: float, mx: float, my: float, mz: float, wavenumber_per_m: float
) -> tuple[complex, complex, complex]:
    """Return the full field of one dipole at one offset without the common phase exp(ikr), A/m.

    The phase does not change sizes or ellipses. The offset must not be zero.
    """
    r2 = x * x + y * y + z * z
    kr2 = wavenumber_per_m * wavenumber_per_m * r2
    px, py, pz, sx, sy, sz = dipole_parts(x, y, z, mx, my, mz, 1.0 / r2, kr2)
    scale, kr = 1.0 / (4.0 * pi * r2 * sqrt(r2)), sqrt(kr2)
    return (
        scale * complex(px, -kr * sx),
        scale * complex(py, -kr * sy),
        scale * complex(pz, -kr * sz),
    )
