"""Simulate what a phone or watch records of a true walk, for the demo and for trials of the debrief."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from coldfield.errors import OutOfModel
from coldfield.message import message

Floats = NDArray[np.float64]


def record(
    t_s: ArrayLike,
    position_m: ArrayLike,
    *,
    rng: np.random.Generator,
    interval_s: float = 1.0,
    white_m: float = 0.7,
    bias_m: float = 3.0,
    correlation_s: float = 300.0,
    dropouts_per_h: float = 0.0,
    dropout_s: float = 20.0,
    clock_shift_s: float = 0.0,
) -> tuple[Floats, Floats]:
    """Return the times (n,), s, and places (n, 2), m, that a device records along a true walk.

    Parameters
    ----------
    t_s : array_like, shape (k,)
        Times of the true trace, not decreasing.
    position_m : array_like, shape (k, 2)
        True places in plan, with straight lines between them.
    rng : numpy.random.Generator
        Source of the errors; with one call per device, devices are independent.
    interval_s : float
        Time between two points.
    white_m, bias_m : float
        Standard deviations on each axis of the error that is new at every point, and of the drifting error, a
        stationary Gauss-Markov process with time constant `correlation_s`.
    correlation_s : float
        Its time constant; infinite for a constant bias.
    dropouts_per_h, dropout_s : float
        The rate of dropouts, and their mean length (exponential).
    clock_shift_s : float
        Added to the recorded times.

    Raises
    ------
    OutOfModel
        If the trace has fewer than two points or its times decrease, or `interval_s` is not above 0.

    Notes
    -----
    The drifting error makes positions wrong for minutes; its values, 3 m and 300 s, are settings. Multipath
    near rock, where errors are larger and skewed, is left out.
    """
    t = np.asarray(t_s, dtype=np.float64)
    true = np.asarray(position_m, dtype=np.float64)
    if t.ndim != 1 or t.size < 2 or true.shape != (t.size, 2) or (np.diff(t) < 0).any():
        raise OutOfModel(message("fault.trace"))
    if not interval_s > 0:
        raise OutOfModel(message("fault.interval"))
    moments = np.arange(t[0], t[-1] + 1e-9, interval_s)
    place = np.column_stack([np.interp(moments, t, true[:, axis]) for axis in (0, 1)])
    place += _drift(moments.size, interval_s, bias_m, correlation_s, rng)
    place += rng.normal(0.0, 1.0, place.shape) * white_m
    keep = _without_dropouts(moments, dropouts_per_h, dropout_s, rng)
    return moments[keep] + clock_shift_s, place[keep]


def _drift(
    n: int, interval_s: float, bias_m: float, correlation_s: float, rng: np.random.Generator
) -> Floats:
    from scipy.signal import lfilter

    stay = np.exp(-interval_s / correlation_s)
    push = rng.normal(0.0, 1.0, (n, 2)) * bias_m * np.sqrt(1.0 - stay * stay)
    push[0] = rng.normal(0.0, 1.0, 2) * bias_m
    return np.asarray(lfilter([1.0], [1.0, -stay], push, axis=0))


def _without_dropouts(
    moments: Floats, dropouts_per_h: float, dropout_s: float, rng: np.random.Generator
) -> NDArray[np.bool_]:
    keep = np.ones(moments.size, dtype=bool)
    count = rng.poisson(dropouts_per_h * (moments[-1] - moments[0]) / 3600.0)
    for start in rng.uniform(moments[0], moments[-1], count):
        keep &= (moments < start) | (moments > start + rng.exponential(dropout_s))
    keep[:1] = True
    keep[-1:] = True
    return keep
