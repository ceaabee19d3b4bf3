"""Envelope detection in noise: the Rice detector behind the chance mode of a receiver.

A signal of amplitude s in Gaussian noise of deviation sigma per quadrature has an envelope with the
Rice distribution; it passes a threshold T with probability Q1(s / sigma, T / sigma), Marcum's Q.
The threshold follows from the false alarm rate, so Q1 is needed only as a function of one variable.
It comes from a table with linear interpolation (error below 1e-6).

References
----------
.. [1] S. O. Rice, "Mathematical Analysis of Random Noise", Bell System Technical Journal 24 (1945)
   46-156, eq. (3.10-11) (equation number from memory).
.. [2] J. I. Marcum, "A statistical theory of target detection by pulsed radar", RAND RM-754, 1947
   (from memory).
"""

from __future__ import annotations

from functools import lru_cache
from math import log, sqrt

import numpy as np
from numpy.typing import ArrayLike, NDArray

from coldfield.errors import OutOfModel
from coldfield.message import message

FALSE_ALARM = 1e-3
"""Chance that a pulse is reported where there is none, over all antennas of a set. Setting."""

RANGE_PROBABILITY = 0.9
"""A measured range is where 'heard' has this probability. Setting."""

TABLE_STEP, TABLE_END = 0.002, 12.0
"""Step and end of the table in signal over noise; beyond it a pulse is missed less than once in 1e14."""


def threshold_ratio(antennas: int) -> float:
    """Return threshold over noise for one antenna that gives all antennas together the false alarm rate.

    Examples
    --------
    >>> [round(threshold_ratio(k), 3) for k in (1, 2, 3)]
    [3.717, 3.899, 4.002]
    """
    if antennas not in (1, 2, 3):
        raise OutOfModel(message("fault.antennas_1_to_3").at("antennas"))
    each = 1.0 - (1.0 - FALSE_ALARM) ** (1.0 / antennas)
    return sqrt(-2.0 * log(each))


def marcum_q1(signal: ArrayLike, threshold: float) -> NDArray[np.float64]:
    """Return Marcum's Q of first order by integrating the Rice density from 0 to the threshold.

    Gauss-Legendre with 96 nodes. The integrand is entire and at most some 12 wide, so the error is
    that of the arithmetic, about 1e-13. For signals up to 40 and thresholds up to 10; keeps any
    shape.

    Examples
    --------
    Without a signal the envelope is Rayleigh's, exp(-b^2 / 2):

    >>> abs(round(marcum_q1(0.0, 2.0).item() - float(np.exp(-2.0)), 12))
    0.0
    """
    a = np.asarray(signal, dtype=np.float64)[..., None]
    node, weight = np.polynomial.legendre.leggauss(96)
    x = 0.5 * threshold * (node + 1.0)
    density = x * np.exp(-0.5 * (x * x + a * a)) * np.i0(a * x)
    return np.asarray(np.clip(1.0 - 0.5 * threshold * np.sum(weight * density, axis=-1), 0.0, 1.0))


@lru_cache(maxsize=3)
def probability_table(antennas: int) -> NDArray[np.float64]:
    """Return one antenna's detection probability, (6001,), for signal over noise 0 to TABLE_END."""
    signal = np.linspace(0.0, TABLE_END, round(TABLE_END / TABLE_STEP) + 1)
    table = marcum_q1(signal, threshold_ratio(antennas))
    table.setflags(write=False)
    return table


def antenna_probability(signal_to_noise: ArrayLike, antennas: int) -> NDArray[np.float64]:
    """Return the chance that one of this many antennas detects a pulse; any shape.

    Examples
    --------
    >>> antenna_probability([0.0, 4.0, 8.0], 3).round(4).tolist()
    [0.0003, 0.5497, 1.0]
    """
    table = probability_table(antennas)
    signal = np.asarray(signal_to_noise, dtype=np.float64)
    return np.asarray(np.interp(signal, np.linspace(0.0, TABLE_END, len(table)), table))


@lru_cache(maxsize=3)
def range_ratio(antennas: int) -> float:
    """Return signal over noise, on one antenna, at which 'heard' has probability 0.9.

    'Heard' means 2 of 3 pulses: 3 p^2 - 2 p^3 = 0.9, so p = 0.8042 per pulse.

    Examples
    --------
    >>> [round(range_ratio(k), 2) for k in (1, 2, 3)]
    [4.45, 4.64, 4.74]
    """
    lone = probability_table(antennas)
    pulse = 1.0 - (1.0 - lone) * (1.0 - lone[0]) ** (antennas - 1)
    return float(
        np.interp(RANGE_PROBABILITY, pulse**2 * (3.0 - 2.0 * pulse), np.arange(len(lone)) * TABLE_STEP)
    )


def noise_a_per_m(threshold_a_per_m: float, antennas: int) -> float:
    """Return the noise, A/m per quadrature on the best antenna, that matches a definite threshold.

    The definite threshold is the amplitude at the measured range, where 'heard' has probability 0.9.
    """
    return threshold_a_per_m / range_ratio(antennas)
