"""How the ground under the snow changes the field: half-space, layers, or a conducting whole space.

Everything else assumes free space; this module shows how far off that is.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from math import pi

import numpy as np
from numpy.typing import ArrayLike, NDArray

from coldfield.beacon.field import FREQUENCY_HZ, SPEED_OF_LIGHT_M_S, harmonic_dipole_field, whole_field
from coldfield.errors import OutOfModel
from coldfield.message import message

MU_0 = 4.0e-7 * pi
"""Permeability of free space, H/m; its measured value differs by less than 1e-9 of it."""

PARTS = ("in line", "side by side", "upright", "upright to level", "level to upright")
"""Relative to the plane through both sets: level in it, level across it, both upright, and two mixed."""

SNOW_BELOW_M, UP_M = 1.0, 1.8
"""Heights used for the tables: of the set above the ground, and of the receiver above the set. Settings."""


_QUADRATURE = {"a": 1e-6, "b": 20.0, "limit": 2000, "pts_per_dec": 200}
"""Limits wide and fine enough for the kink of the integrand at the wave number of air."""


@dataclass(frozen=True, slots=True)
class Ground:
    """One kind of ground: conductivity, S/m, and relative permittivity."""

    conductivity_s_per_m: float
    permittivity: float


GROUNDS: dict[str, Ground] = {
    "dry rock or frozen ground": Ground(1e-4, 3.0),
    "dry soil": Ground(1e-3, 15.0),
    "wet soil": Ground(1e-2, 30.0),
    "bog or clay": Ground(5e-2, 40.0),
}
"""Kinds of ground in words. The first three: ITU-R P.527, very dry, medium dry and wet ground (from
memory); the last one: setting."""


def ground_parts(words: str, distance_m: ArrayLike) -> dict[str, NDArray[np.complex128]]:
    """Return the field of a unit moment over a kind of ground, 1/m3, by part.

    Parameters
    ----------
    words : str
        One of `GROUNDS`.
    distance_m : array_like, shape (...)
        Distance on the snow, 1 to 120 m.

    Returns
    -------
    dict of ndarray, shape (...)
        For each of `PARTS` the complex peak field, A/m for a moment of 1 A m2.

    Raises
    ------
    OutOfModel
        If there is no such ground, or a distance is outside the table.

    Notes
    -----
    The values come from a table of 30 distances, computed by a reference library for level ground,
    a set 1.0 m above it and a receiver 1.8 m above the set. Between them, cubic splines in the
    logarithm of the distance are within 1 % of the largest part.
    """
    from coldfield.beacon.ground_table import DISTANCE_M

    if words not in GROUNDS:
        raise OutOfModel(message("fault.no_such_ground", name=words, known=tuple(GROUNDS)))
    rho = np.asarray(distance_m, dtype=np.float64)
    if not (np.isfinite(rho).all() and rho.min() >= DISTANCE_M[0] and rho.max() <= DISTANCE_M[-1]):
        raise OutOfModel(message("fault.ground_distance"))
    r3 = 4.0 * pi * np.hypot(rho, UP_M) ** 3
    table = _spline(words)(np.log(rho))
    return {name: np.asarray((table[..., k, 0] + 1j * table[..., k, 1]) / r3) for k, name in enumerate(PARTS)}


@lru_cache(maxsize=len(GROUNDS))
def _spline(words: str) -> Callable[[NDArray[np.float64]], NDArray[np.float64]]:
    from scipy.interpolate import CubicSpline

    from coldfield.beacon.ground_table import DISTANCE_M, PARTS_TIMES_R3

    columns = np.stack([np.array(PARTS_TIMES_R3[words][name]) for name in PARTS], axis=1)
    return CubicSpline(np.log(np.array(DISTANCE_M)), columns, axis=0)


def free_parts(distance_m: ArrayLike, up_m: float = UP_M) -> dict[str, NDArray[np.complex128]]:
    """Return the same parts in the same shape for free space, to compare with `ground_parts`."""
    rho = np.asarray(distance_m, dtype=np.float64)
    offset = np.stack([rho, np.zeros_like(rho), np.full(rho.shape, up_m)], axis=-1)
    fields = [harmonic_dipole_field(m, offset) for m in np.eye(3)]
    return {
        "in line": fields[0][..., 0],
        "side by side": fields[1][..., 1],
        "upright": fields[2][..., 2],
        "upright to level": fields[2][..., 0],
        "level to upright": fields[0][..., 2],
    }


def layered_parts(
    distance_m: ArrayLike,
    grounds: list[Ground],
    thickness_m: list[float],
    *,
    snow_below_m: float = SNOW_BELOW_M,
    up_m: float = UP_M,
    exact: bool = False,
) -> dict[str, NDArray[np.complex128]]:
    """Return the field of a unit moment over layered ground, 1/m3, computed without a table.

    Parameters
    ----------
    distance_m : array_like, shape (k,)
        Distance on the snow, m.
    grounds : list of Ground
        The layers from the top; the last one has no lower end.
    thickness_m : list of float
        Thickness of each layer except the last, m.
    snow_below_m, up_m : float
        Height of the set above the ground and of the receiver above the set, m. Snow counts as air.
    exact : bool
        True: adaptive quadrature, which takes about a second per distance. False: a digital filter,
        which takes milliseconds; its error grows from 0.1 % of the largest part at 20 m to some 3 %
        at 70 m.

    Raises
    ------
    OutOfModel
        If the reference library is not installed, or a figure is outside the model.

    References
    ----------
    .. [1] D. Werthmüller, "An open-source full 3D electromagnetic modeler for 1D VTI media in Python:
       empymod", Geophysics 82 (2017) WB9-WB19.
    """
    try:
        import empymod
    except ImportError:
        raise OutOfModel(message("fault.ground_extra")) from None
    rho = np.atleast_1d(np.asarray(distance_m, dtype=np.float64))
    _check_layers(rho, grounds, thickness_m, snow_below_m)
    permittivity = [1.0, *(g.permittivity for g in grounds)]
    shared = {
        "src": [0.0, 0.0, -snow_below_m],
        "rec": [rho, np.zeros_like(rho), -(snow_below_m + up_m)],
        "depth": [0.0, *np.cumsum(thickness_m)],
        "res": [2e14, *(1.0 / g.conductivity_s_per_m for g in grounds)],
        "freqtime": FREQUENCY_HZ,
        "epermH": permittivity,
        "epermV": permittivity,
        "xdirect": True,
        "verb": 0,
        "ht": "quad" if exact else "dlf",
        "htarg": _QUADRATURE if exact else {"dlf": "wer_2001_2018"},
    }
    # The library has z down, exp(+i w t) and sources of 1 / (i w mu); converted here. The sign of the mixed
    # parts changes with the direction of z.
    turn = 2j * pi * FREQUENCY_HZ * MU_0
    codes = {"in line": 44, "side by side": 55, "upright": 66, "upright to level": 46, "level to upright": 64}
    parts = {}
    for name, code in codes.items():
        part = np.conj(np.atleast_1d(np.asarray(empymod.dipole(ab=code, **shared))) * turn)
        parts[name] = np.asarray(-part if "to" in name else part, dtype=np.complex128)
    return parts


def conducting_dipole_field(
    moment_am2: ArrayLike, offset_m: ArrayLike, medium: Ground
) -> NDArray[np.complex128]:
    """Return the full field at 457 kHz in a conducting whole space, A/m, shape (..., 3).

    The formula of free space with a complex wave number. It shows how much a wet medium all round,
    such as soaked debris, weakens the field. Time factor exp(-i w t).

    Raises
    ------
    OutOfModel
        If the medium's figures are not physical, or an offset is zero.

    References
    ----------
    .. [1] J. D. Jackson, *Classical Electrodynamics*, 3rd ed., eq. (9.35), with k^2 = eps mu w^2 +
       i w mu sigma (from memory).

    Examples
    --------
    Wet snow of 10 uS/m weakens the field by less than a hundredth at 40 m:

    >>> medium = Ground(conductivity_s_per_m=1e-5, permittivity=1.6)
    >>> snow = np.linalg.norm(conducting_dipole_field([0, 0, 1], [40.0, 0, 0], medium))
    >>> air = np.linalg.norm(harmonic_dipole_field([0, 0, 1], [40.0, 0, 0]))
    >>> round(float(snow / air), 2)
    1.0
    """
    _check_layers(np.ones(1), [medium], [], 1.0)
    m, d = np.asarray(moment_am2, dtype=np.float64), np.asarray(offset_m, dtype=np.float64)
    omega = 2.0 * pi * FREQUENCY_HZ
    k = np.sqrt(
        medium.permittivity * (omega / SPEED_OF_LIGHT_M_S) ** 2
        + 1j * omega * MU_0 * medium.conductivity_s_per_m
    )
    r = np.linalg.norm(d, axis=-1, keepdims=True)
    if not (r > 0.0).all():
        raise OutOfModel(message("fault.zero_offset"))
    return whole_field(m, d, k * r)


def _check_layers(
    rho: NDArray[np.float64], grounds: list[Ground], thickness_m: list[float], snow_below_m: float
) -> None:
    if not grounds or len(thickness_m) != len(grounds) - 1:
        raise OutOfModel(message("fault.layer_thickness"))
    figures = [*thickness_m, *(g.conductivity_s_per_m for g in grounds), snow_below_m]
    if not (np.isfinite(figures).all() and min(figures) > 0.0):
        raise OutOfModel(message("fault.layer_figures"))
    if not all(1.0 <= g.permittivity <= 100.0 for g in grounds):
        raise OutOfModel(message("fault.permittivity"))
    if not (np.isfinite(rho).all() and rho.min() > 0.0):
        raise OutOfModel(message("fault.distances_above_0"))
