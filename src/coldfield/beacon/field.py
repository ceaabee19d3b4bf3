"""The magnetic field of a 457 kHz transmitter: the static field, and the full field at its frequency."""

from __future__ import annotations

from math import pi
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from coldfield.beacon.formulas import dipole_parts
from coldfield.errors import OutOfModel
from coldfield.message import message

FREQUENCY_HZ = 457_000.0
"""Carrier of avalanche transceivers (EN 300 718-1 V2.2.1, scope: 456.9 to 457.1 kHz)."""

SPEED_OF_LIGHT_M_S = 299_792_458.0
"""Exact by the definition of the metre (SI Brochure, 9th ed., 2019)."""

WAVENUMBER_PER_M = 2.0 * pi * FREQUENCY_HZ / SPEED_OF_LIGHT_M_S
"""2 pi over the wavelength of 656.0 m, for air and dry snow."""

LARGE_POINTS = 20_000
"""From this number of points on, a compiled loop computes the static field."""


def dipole_field(moment_am2: ArrayLike, offset_m: ArrayLike) -> NDArray[np.float64]:
    """Return the quasi-static H-field of magnetic dipoles.

    Parameters
    ----------
    moment_am2 : array_like, shape (..., 3)
        Dipole moment, A m2. Site axes: x east, y north, z up.
    offset_m : array_like, shape (..., 3)
        Receiver minus transmitter, m. Broadcasts against `moment_am2`.

    Returns
    -------
    ndarray, shape (..., 3)
        Peak field at the receiver, A/m, in the same axes.

    Raises
    ------
    OutOfModel
        If an offset is zero or not finite, or a moment is not finite.
    ValueError
        If a last axis is not of length 3 or the shapes do not broadcast.

    Notes
    -----
    Retardation and radiation are left out. They change the field by +0.5 % on the axis and -0.5 %
    across it at 10 m, +1.8 and -1.8 % at 20 m, +7.1 and -6.5 % at 40 m, +26 and -13 % at 80 m (see
    ``tests/beacon/test_field.py``). Snow is assumed to be transparent at 457 kHz; the ground is left out.

    References
    ----------
    .. [1] J. D. Jackson, *Classical Electrodynamics*, 3rd ed., Wiley 1998, eq. (5.56), divided by
       the permeability of free space (equation number from memory).

    Examples
    --------
    On the axis the field is twice that at the same distance to the side:

    >>> dipole_field([0, 0, 0.02], [[0, 0, 10], [10, 0, 0]])[:, 2].round(9)
    array([ 3.183e-06, -1.592e-06])
    """
    m = _vectors(moment_am2, "moment_am2")
    d = _vectors(offset_m, "offset_m")
    shape = np.broadcast_shapes(m.shape, d.shape)
    if np.prod(shape) >= 3 * LARGE_POINTS:
        return _compiled_dipole_field(m, d, shape)
    r2 = _distance_squared(m, d)
    _, static = _parts(m, d, r2, 0.0)
    return np.asarray(static / _sphere(r2))


def harmonic_dipole_field(moment_am2: ArrayLike, offset_m: ArrayLike) -> NDArray[np.complex128]:
    """Return the full H-field of magnetic dipoles that oscillate at 457 kHz, in free space.

    Parameters
    ----------
    moment_am2 : array_like, shape (..., 3)
        Peak dipole moment, A m2, real. Site axes: x east, y north, z up.
    offset_m : array_like, shape (..., 3)
        Receiver minus transmitter, m. Broadcasts against `moment_am2`.

    Returns
    -------
    ndarray, shape (..., 3)
        Complex peak field at the receiver, A/m, same axes, for the time factor exp(-i w t).

    Raises
    ------
    OutOfModel
        If an offset is zero or not finite, or a moment is not finite.
    ValueError
        If a last axis is not of length 3 or the shapes do not broadcast.

    Notes
    -----
    Ground and snow are left out. Over ground of 10 mS/m the field of a set on the snow differs by a
    few per cent at 10 m and by some tens of per cent from 30 m on (`coldfield.beacon.ground`).

    References
    ----------
    .. [1] J. D. Jackson, *Classical Electrodynamics*, 3rd ed., Wiley 1998, eq. (9.35) (equation
       number from memory).

    Examples
    --------
    >>> h = harmonic_dipole_field([0, 0, 0.02], [[0, 0, 40], [40, 0, 0]])
    >>> (np.linalg.norm(h, axis=-1) / np.linalg.norm(dipole_field([0, 0, 0.02], [[0, 0, 40], [40, 0, 0]]),
    ...     axis=-1)).round(3).tolist()
    [1.071, 0.935]
    """
    m = _vectors(moment_am2, "moment_am2")
    d = _vectors(offset_m, "offset_m")
    r2 = _distance_squared(m, d)
    kr = WAVENUMBER_PER_M * np.sqrt(r2)
    return whole_field(m, d, kr)


def whole_field(
    moment_am2: NDArray[np.float64], offset_m: NDArray[np.float64], kr: NDArray[Any]
) -> NDArray[np.complex128]:
    """Return the full field for the wave number times the distance, (..., 1); complex in a lossy medium.

    Moments and offsets of shape (..., 3) broadcast; no offset may be zero. See `harmonic_dipole_field`.
    """
    r2 = np.sum(offset_m * offset_m, axis=-1, keepdims=True)
    real, static = _parts(moment_am2, offset_m, r2, kr * kr)
    return np.asarray(np.exp(1j * kr) / _sphere(r2) * (real - 1j * kr * static))


def moment_am2(field_at_10m_a_per_m: ArrayLike) -> NDArray[np.float64]:
    """Return the dipole moment of a transmitter from its field on the axis at 10 m, A m2.

    Parameters
    ----------
    field_at_10m_a_per_m : array_like, any shape
        Peak of the full field at 457 kHz on the axis at 10 m, A/m, positive.

    Raises
    ------
    OutOfModel
        If a field is not finite or not above zero.

    Examples
    --------
    >>> moment_am2(1e-6).round(8).item()
    0.00625456
    """
    field = np.asarray(field_at_10m_a_per_m, dtype=np.float64)
    if not (np.isfinite(field).all() and (field > 0.0).all()):
        raise OutOfModel(message("fault.field_at_10m"))
    return np.asarray(field / axial_field_a_per_m(1.0, 10.0))


def axial_field_a_per_m(moment_am2: ArrayLike, distance_m: ArrayLike) -> NDArray[np.float64]:
    """Return the size of the full field on the axis (coaxial position), A/m; arguments broadcast.

    Examples
    --------
    >>> axial_field_a_per_m(moment_am2(1e-6), 10.0).round(12).item()
    1e-06
    """
    r = np.asarray(distance_m, dtype=np.float64)
    return np.asarray(np.asarray(moment_am2) / (2.0 * pi * r**3) * np.hypot(1.0, WAVENUMBER_PER_M * r))


def broadside_field_a_per_m(moment_am2: ArrayLike, distance_m: ArrayLike) -> NDArray[np.float64]:
    """Return the size of the full field across the axis (coplanar position), A/m; arguments broadcast.

    Examples
    --------
    >>> (axial_field_a_per_m(1.0, 1.0) / broadside_field_a_per_m(1.0, 1.0)).round(3).item()
    2.0
    """
    r = np.asarray(distance_m, dtype=np.float64)
    kr = WAVENUMBER_PER_M * r
    return np.asarray(np.asarray(moment_am2) / (4.0 * pi * r**3) * np.hypot(1.0 - kr**2, kr))


def antenna_axis(azimuth_rad: ArrayLike, tilt_rad: ArrayLike) -> NDArray[np.float64]:
    """Return unit vectors, shape (..., 3), of antennas from their azimuth and their tilt up from level.

    Examples
    --------
    >>> antenna_axis([0.0, np.pi / 2], [0.0, np.pi / 4]).round(3).tolist()
    [[0.0, 1.0, 0.0], [0.707, 0.0, 0.707]]
    """
    azimuth, tilt = np.broadcast_arrays(
        np.asarray(azimuth_rad, dtype=np.float64), np.asarray(tilt_rad, dtype=np.float64)
    )
    level = np.cos(tilt)
    return np.stack([level * np.sin(azimuth), level * np.cos(azimuth), np.sin(tilt)], axis=-1)


def _vectors(values: ArrayLike, name: str) -> NDArray[np.float64]:
    array = np.asarray(values, dtype=np.float64)
    if array.shape[-1:] != (3,):
        raise ValueError(
            f"{name} must have x, y, z as its last axis, of length 3; its shape is {array.shape}"
        )
    return array


def _distance_squared(m: NDArray[np.float64], d: NDArray[np.float64]) -> NDArray[np.float64]:
    r2 = np.sum(d * d, axis=-1, keepdims=True)
    if not (np.isfinite(m).all() and np.isfinite(r2).all() and (r2 > 0.0).all()):
        raise _refusal()
    return np.asarray(r2)


def _sphere(r2: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.asarray(4.0 * pi * r2 * np.sqrt(r2))


def _parts(
    m: NDArray[np.float64], d: NDArray[np.float64], r2: NDArray[np.float64], kr2: ArrayLike
) -> tuple[NDArray[Any], NDArray[Any]]:
    """Return p and s of `dipole_parts`, shape (..., 3)."""
    x, y, z = d[..., 0:1], d[..., 1:2], d[..., 2:3]
    mx, my, mz = m[..., 0:1], m[..., 1:2], m[..., 2:3]
    parts = dipole_parts(x, y, z, mx, my, mz, 1.0 / r2, kr2)
    return np.concatenate(parts[:3], axis=-1), np.concatenate(parts[3:], axis=-1)


def _refusal() -> OutOfModel:
    return OutOfModel(message("fault.dipole_offset"))


def _compiled_dipole_field(
    m: NDArray[np.float64], d: NDArray[np.float64], shape: tuple[int, ...]
) -> NDArray[np.float64]:
    from coldfield.beacon.field_kernel import fill_dipole_field

    out = np.empty(shape)
    # Usually there is one moment for many points; a view with stride 0 avoids copies.
    m_rows = (
        np.broadcast_to(m, shape).reshape(-1, 3) if m.ndim > 1 else np.broadcast_to(m, (out.size // 3, 3))
    )
    d_rows = d.reshape(-1, 3) if d.shape == shape else np.broadcast_to(d, shape).reshape(-1, 3)
    if not fill_dipole_field(m_rows, d_rows, out.reshape(-1, 3)):
        raise _refusal()
    return out
