"""The most probable path of a person through noisy positions."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from coldfield.errors import OutOfModel
from coldfield.message import message

ACCELERATION_M2_S3 = 0.05
"""Spectral density of the acceleration of a person who walks and turns on snow. Setting."""


def smooth_path(
    t_s: ArrayLike,
    position_m: ArrayLike,
    *,
    white_m: float,
    acceleration_m2_s3: float = ACCELERATION_M2_S3,
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return positions, m, and velocities, m/s, both of shape (n, 2), of the smoothed path.

    Parameters
    ----------
    t_s : array_like, shape (n,)
        Times, strictly increasing; steps may differ.
    position_m : array_like, shape (n, 2)
        East and north as recorded.
    white_m : float
        Standard deviation on each axis of the error that is new at every point.
    acceleration_m2_s3 : float
        Spectral density of the white acceleration that drives the walker.

    Raises
    ------
    OutOfModel
        If there are fewer than two points, times do not increase, or a value is not finite.

    Notes
    -----
    The model has nearly constant velocity, separate axes, and no prior for the first point. The estimate is
    that of a Kalman filter followed by a Rauch-Tung-Striebel smoother. Because the model is linear and
    Gaussian, it is also the minimum of a quadratic form, which is solved here as one banded system: fast, and
    with the same results (``tests/debrief/tracks/test_smooth.py``). The slowly drifting part of a position's
    error is not reduced, and the residuals say nothing about it.

    References
    ----------
    .. [1] H. E. Rauch, F. Tung, C. T. Striebel, Maximum likelihood estimates of linear dynamic
       systems, AIAA Journal 3(8) 1965, 1445-1450 (from memory).
    .. [2] Y. Bar-Shalom, X. R. Li, T. Kirubarajan, *Estimation with Applications to Tracking and
       Navigation*, Wiley 2001, section 6.2.2: continuous white noise acceleration (from memory).

    Examples
    --------
    A straight walk without noise does not change:

    >>> position, velocity = smooth_path([0, 1, 3], [[0, 0], [1, 2], [3, 6]], white_m=1.0)
    >>> position[1:].round(6).tolist(), velocity[1].round(6).tolist()
    ([[1.0, 2.0], [3.0, 6.0]], [1.0, 2.0])
    """
    from scipy.linalg import solveh_banded

    t = np.asarray(t_s, dtype=np.float64)
    z = np.asarray(position_m, dtype=np.float64)
    if t.ndim != 1 or t.size < 2 or z.shape != (t.size, 2):
        raise OutOfModel(message("fault.few_points"))
    dt = np.diff(t)
    if not (np.isfinite(t).all() and np.isfinite(z).all() and (dt > 0).all()):
        raise OutOfModel(message("fault.times_increase"))
    if not (white_m > 0 and acceleration_m2_s3 > 0):
        raise OutOfModel(message("fault.smoothing_above_0"))
    n = t.size
    # Inverse of the step's covariance q [[dt^3/3, dt^2/2], [dt^2/2, dt]]: (1/q) [[a, -b], [-b, c]].
    a, b, c = 12.0 / dt**3, 6.0 / dt**2, 4.0 / dt
    q = acceleration_m2_s3
    band = np.zeros((4, 2 * n))  # upper form: row 3 is the diagonal, row 3 - k the k-th one above it
    diagonal, first, second, third = band[3], band[2], band[1], band[0]
    diagonal[0::2] = 1.0 / white_m**2
    diagonal[0:-2:2] += a / q  # (F' Q^-1 F) of the step ahead, position with position
    diagonal[2::2] += a / q
    diagonal[1:-2:2] += (a * dt**2 - 2 * b * dt + c) / q
    diagonal[3::2] += c / q
    first[1:-2:2] += (a * dt - b) / q  # position and velocity at one time
    first[3::2] += -b / q
    first[2::2] = (b - a * dt) / q  # velocity, and position one step on
    second[2::2] = -a / q
    second[3::2] = (b * dt - c) / q
    third[3::2] = b / q
    right = np.zeros((2 * n, 2))
    centre = z[0]
    right[0::2] = (z - centre) / white_m**2
    state = solveh_banded(band, right, check_finite=False)
    return state[0::2] + centre, state[1::2]


def white_level_m(t_s: ArrayLike, position_m: ArrayLike, *, default_m: float = 1.5) -> float:
    """Return the white part of the error on each axis, m, from the point-to-point scatter.

    It is the median of second differences between points at most 3 s apart, so that turns and spikes count
    little; between 0.3 and 8 m. With fewer than 20 such points it is `default_m`.

    Notes
    -----
    For white noise of standard deviation s the second difference of evenly spaced points has variance
    6 s^2. A walker's own turns add to it, so slow sampling overestimates s a little; receivers that smooth
    their output lead to an underestimate. It is never used as the accuracy of a position.
    """
    t = np.asarray(t_s, dtype=np.float64)
    z = np.asarray(position_m, dtype=np.float64)
    dt = np.diff(t)
    even = (dt[1:] <= 3.0) & (np.abs(dt[1:] - dt[:-1]) <= 0.2 * dt[1:] + 1e-9)
    if even.sum() < 20:
        return default_m
    second = np.abs(z[2:] - 2 * z[1:-1] + z[:-2])[even]
    level = float(np.median(second)) / 0.6745 / np.sqrt(6.0)
    return float(np.clip(level, 0.3, 8.0))
