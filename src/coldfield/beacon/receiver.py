"""How a receiver responds to a field: the field it needs, what it shows, and how likely it hears a set."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from coldfield.beacon import envelope_detection
from coldfield.beacon.field import (
    WAVENUMBER_PER_M,
    axial_field_a_per_m,
    broadside_field_a_per_m,
    moment_am2,
)
from coldfield.beacon.formulas import reading_m
from coldfield.drill import Receiver
from coldfield.errors import BadInput, OutOfModel
from coldfield.message import Message, message, number

NEAREST_M = 0.1
"""Closer than this to a transmitter, a set's own size matters; outside the model."""

FARTHEST_M = 200.0
"""Nothing is computed farther away than this; outside the model."""


def check_receiver(receiver: Receiver) -> None:
    """Refuse figures of a receiver that contradict each other or lie outside the model.

    Raises
    ------
    BadInput
        With one line per fault.

    Examples
    --------
    >>> check_receiver(Receiver(coaxial_range_m=45.0, threshold_a_per_m=1e-8))
    Traceback (most recent call last):
    ...
    coldfield.errors.BadInput: give either coaxial_range_m or a threshold, not both
    """
    faults: list[Message] = []
    if receiver.coaxial_range_m is not None and receiver.threshold_a_per_m is not None:
        faults.append(message("fault.either_range_or_threshold"))
    if receiver.coaxial_range_m is None and receiver.threshold_a_per_m is None:
        faults.append(message("fault.range_or_a_threshold"))
    for name, value in (
        ("coaxial_range_m", receiver.coaxial_range_m),
        ("vertical_range_m", receiver.vertical_range_m),
    ):
        if value is not None and not NEAREST_M <= value <= FARTHEST_M:
            limits = {"low": number(NEAREST_M), "high": number(FARTHEST_M, 0)}
            faults.append(message("fault.beyond_model", **limits).at(name))
    for name, value in (
        ("threshold", receiver.threshold_a_per_m),
        ("reference_field_at_10m", receiver.reference_field_at_10m_a_per_m),
    ):
        if value is not None and not (np.isfinite(value) and value > 0.0):
            faults.append(message("fault.finite_above_0").at(name))
    faults += _antenna_faults(receiver)
    if faults:
        raise BadInput(faults)


def _antenna_faults(receiver: Receiver) -> list[Message]:
    factors = np.asarray(receiver.antenna_factors, dtype=np.float64)
    if receiver.antennas not in (1, 2, 3):
        return [message("fault.antennas_1_to_3").at("antennas")]
    if len(factors) != receiver.antennas:
        count = {"n": len(factors), "antennas": receiver.antennas}
        return [message("fault.factors_for_antennas", **count).at("antenna_factors")]
    if not np.isfinite(factors).all() or factors.min() != 1.0:
        return [message("fault.best_factor").at("antenna_factors")]
    if receiver.vertical_range_m is not None and receiver.antennas < 3:
        return [message("fault.upright_antennas").at("vertical_range_m")]
    return []


def reference_moment_am2(receiver: Receiver) -> float:
    """Return the moment of the transmitter to which a receiver's readings and range refer, A m2.

    Examples
    --------
    >>> round(reference_moment_am2(Receiver(coaxial_range_m=45.0)), 6)
    0.006255
    """
    return float(moment_am2(receiver.reference_field_at_10m_a_per_m))


def threshold_a_per_m(receiver: Receiver, noise_rise_db: float = 0.0) -> float:
    """Return the combined amplitude at which a receiver starts to hear a set, A/m.

    Parameters
    ----------
    receiver : Receiver
        It gives a measured coaxial range or the threshold itself.
    noise_rise_db : float
        Rise of today's noise over quiet, dB, as a ratio of amplitudes: 20 dB is ten times.

    Raises
    ------
    BadInput
        If the receiver's figures contradict each other.
    OutOfModel
        If the noise rise is not finite, or outside -20 to 80 dB.

    Examples
    --------
    Three decibels raise the threshold by a factor of 1.41 and shorten the range to 0.891 of itself:

    >>> quiet, loud = (threshold_a_per_m(Receiver(threshold_a_per_m=1e-8), db) for db in (0.0, 3.0))
    >>> round(loud / quiet, 3)
    1.413
    """
    check_receiver(receiver)
    if not -20.0 <= noise_rise_db <= 80.0:
        raise OutOfModel(message("fault.noise_rise"))
    if receiver.threshold_a_per_m is not None:
        quiet = receiver.threshold_a_per_m
    else:
        assert receiver.coaxial_range_m is not None
        quiet = float(axial_field_a_per_m(reference_moment_am2(receiver), receiver.coaxial_range_m))
    return float(quiet * 10.0 ** (noise_rise_db / 20.0))


def antenna_factors(receiver: Receiver) -> NDArray[np.float64]:
    """Return the factors of the antennas along the heading, across it and upright, shape (antennas,).

    A range measured against an upright set overrides the factor of the upright antenna: at that
    range the upright field, broadside to the set, just reaches the threshold.

    Raises
    ------
    BadInput
        If the upright range is so long that the upright antenna would be more than a quarter
        better than the best one: the two ranges contradict each other.

    Examples
    --------
    >>> antenna_factors(Receiver(coaxial_range_m=45.0, vertical_range_m=24.0)).round(2).tolist()
    [1.0, 1.0, 2.95]
    """
    check_receiver(receiver)
    factors = np.array(receiver.antenna_factors, dtype=np.float64)
    if receiver.vertical_range_m is not None:
        upright = broadside_field_a_per_m(reference_moment_am2(receiver), receiver.vertical_range_m)
        factors[2] = float(upright) / threshold_a_per_m(receiver)
        if factors[2] < 0.8:
            raise BadInput(message("fault.vertical_too_long").at("vertical_range_m"))
    return factors


def square_weights(receiver: Receiver) -> NDArray[np.float64]:
    """Return the weights of a field's squares in the square of the combined amplitude, shape (5,).

    The squares are those of the part along the heading, of the part across it, of the upright part, of the
    whole field, and the difference between the squares of the long and the short axis of its ellipse. The
    last two are for a set that is turned about: its best antenna lies along the long axis, the second best
    along the short one.

    Examples
    --------
    >>> square_weights(Receiver(coaxial_range_m=45.0)).round(3).tolist()
    [1.0, 1.0, 0.111, 0.0, 0.0]
    >>> square_weights(Receiver(coaxial_range_m=45.0, turning=True)).round(3).tolist()
    [0.0, 0.0, 0.0, 1.0, 0.0]
    """
    factors = antenna_factors(receiver)
    weight = np.zeros(5)
    if receiver.turning:
        best = np.sort(factors) ** -2.0
        second = best[1] if len(best) > 1 else 0.0
        weight[3:] = 0.5 * (best[0] + second), 0.5 * (best[0] - second)
    else:
        weight[: len(factors)] = factors**-2.0
    return weight


def level_weights(receiver: Receiver) -> NDArray[np.float64]:
    """Return the weights of the squares along the heading and across it for finding a direction, (2,).

    A single antenna is swung round; a set that is turned about uses its level antennas.
    """
    factors = antenna_factors(receiver)
    return np.array([factors[0] ** -2.0, factors[min(1, len(factors) - 1)] ** -2.0])


def hearing_weights(receiver: Receiver) -> NDArray[np.float64]:
    """Return a receiver as compiled loops need it, (8,): square weights, level weights, wave number."""
    return np.array([*square_weights(receiver), *level_weights(receiver), WAVENUMBER_PER_M])


def antenna_axes(receiver: Receiver, heading_rad: ArrayLike) -> NDArray[np.float64]:
    """Return unit vectors of a level set's antennas, shape (..., k, 3): along, across, upright.

    Examples
    --------
    >>> antenna_axes(Receiver(coaxial_range_m=45.0), np.pi / 2).round(9).tolist()
    [[1.0, 0.0, 0.0], [0.0, -1.0, 0.0], [0.0, 0.0, 1.0]]
    """
    heading = np.asarray(heading_rad, dtype=np.float64)
    sin, cos, zero = np.sin(heading), np.cos(heading), np.zeros_like(heading)
    axes = [[sin, cos, zero], [cos, -sin, zero], [zero, zero, zero + 1.0]]
    return np.stack([np.stack(axis, axis=-1) for axis in axes[: receiver.antennas]], axis=-2)


def antenna_amplitudes_a_per_m(
    receiver: Receiver, field_a_per_m: ArrayLike, heading_rad: ArrayLike = 0.0
) -> NDArray[np.float64]:
    """Return |H.a| / f of each antenna, A/m, shape (..., k), of complex peak fields (..., 3).

    If a set is turned about (`turning`), its best antenna lies along the long axis of the
    polarisation ellipse and the second best along the short one; a third one receives nothing.
    """
    h = np.asarray(field_a_per_m, dtype=np.complex128)
    factors = antenna_factors(receiver)
    if receiver.turning:
        half_sum = 0.5 * np.sum(np.abs(h) ** 2, axis=-1)
        half_gap = 0.5 * np.abs(np.sum(h * h, axis=-1))
        squares = [half_sum + half_gap, np.maximum(half_sum - half_gap, 0.0), np.zeros_like(half_sum)]
        return np.asarray(np.sqrt(np.stack(squares[: len(factors)], axis=-1)) / np.sort(factors))
    axes = antenna_axes(receiver, heading_rad)
    return np.asarray(np.abs(np.sum(axes * h[..., None, :], axis=-1)) / factors)


def combined_amplitude_a_per_m(
    receiver: Receiver, field_a_per_m: ArrayLike, heading_rad: ArrayLike = 0.0
) -> NDArray[np.float64]:
    """Return the amplitude that a receiver compares with its threshold, A/m.

    Parameters
    ----------
    receiver : Receiver
        Its antennas and their factors.
    field_a_per_m : array_like, shape (..., 3)
        Complex peak field at the set, site axes.
    heading_rad : array_like, shape (...)
        Azimuth along which the holder walks; broadcasts against the field's leading axes.

    Returns
    -------
    ndarray, shape (...)
        sqrt(sum over antennas (|H.a| / f)^2) for a set held level. With `turning`, the greatest
        value that any orientation of the set can give.

    Examples
    --------
    An upright antenna that is three times less sensitive reduces an upright field to a third:

    >>> combined_amplitude_a_per_m(Receiver(coaxial_range_m=45.0), [[0, 3, 0], [0, 0, 3]]).round(9).tolist()
    [3.0, 1.0]
    """
    seen = antenna_amplitudes_a_per_m(receiver, field_a_per_m, heading_rad)
    return np.asarray(np.sqrt(np.sum(seen**2, axis=-1)))


def shows_line(receiver: Receiver) -> bool:
    """Return whether a receiver shows the direction of the field while it is held still.

    Two level antennas compare their parts of the field. A single antenna shows only how strong the field
    is; its holder turns it to find the loudest direction. At one place and heading it has no line.

    Examples
    --------
    >>> one = Receiver(coaxial_range_m=45.0, antennas=1, antenna_factors=(1.0,))
    >>> [shows_line(receiver) for receiver in (one, Receiver(coaxial_range_m=45.0))]
    [False, True]
    """
    return receiver.antennas > 1


def raw_reading_m(receiver: Receiver, magnitude_a_per_m: ArrayLike) -> NDArray[np.float64]:
    """Return the distance a receiver deduces from the size of the field, m, not rounded.

    The static law on the axis with the receiver's reference moment: r = (m / 2 pi H)^(1/3). Across
    the axis of a set the reading is 1.26 times the distance; for a set twice as strong it is 0.79
    times.

    Examples
    --------
    >>> receiver = Receiver(coaxial_range_m=45.0)
    >>> raw_reading_m(receiver, [1e-6, 0.5e-6]).round(2).tolist()
    [9.98, 12.58]
    """
    magnitude = np.asarray(magnitude_a_per_m, dtype=np.float64)
    with np.errstate(divide="ignore"):
        return np.asarray(reading_m(reference_moment_am2(receiver), magnitude))


def shown_reading_m(raw_m: ArrayLike) -> NDArray[np.float64]:
    """Return a reading as it is shown, any shape: whole metres from 10 m on, tenths of a metre below.

    Examples
    --------
    >>> shown_reading_m([23.4, 9.97, 2.345]).tolist()
    [23.0, 10.0, 2.3]
    """
    raw = np.asarray(raw_m, dtype=np.float64)
    return np.where(raw >= 10.0, np.round(raw), np.round(raw, 1))


def heard_probability(
    receiver: Receiver,
    field_a_per_m: ArrayLike,
    *,
    heading_rad: ArrayLike = 0.0,
    noise_rise_db: float = 0.0,
) -> NDArray[np.float64]:
    """Return the chance that a set is heard: in at least 2 of 3 successive pulses.

    Parameters
    ----------
    receiver : Receiver
        Antennas, factors, threshold or range.
    field_a_per_m : array_like, shape (..., 3)
        Complex peak field at the set, site axes, the same in all three pulses.
    heading_rad : array_like, shape (...)
        Azimuth along which the holder walks.
    noise_rise_db : float
        Rise of today's noise over quiet, dB.

    Returns
    -------
    ndarray, shape (...)
        Probability, 0 to 1. At the measured range, on the axis, it is 0.9 by definition.

    Raises
    ------
    BadInput
        If the receiver's figures contradict each other.

    Notes
    -----
    Each antenna has its own envelope detector in Gaussian noise (Rice). A pulse is detected if one
    antenna exceeds its threshold. The threshold gives a false alarm rate of 1e-3 per pulse over all
    antennas together. See `coldfield.beacon.envelope_detection`.
    """
    pulse = pulse_probability(receiver, field_a_per_m, heading_rad=heading_rad, noise_rise_db=noise_rise_db)
    return np.asarray(pulse**2 * (3.0 - 2.0 * pulse))


def pulse_probability(
    receiver: Receiver,
    field_a_per_m: ArrayLike,
    *,
    heading_rad: ArrayLike = 0.0,
    noise_rise_db: float = 0.0,
) -> NDArray[np.float64]:
    """Return the chance that one pulse is detected, shape (...); arguments as in `heard_probability`."""
    noise = envelope_detection.noise_a_per_m(threshold_a_per_m(receiver, noise_rise_db), receiver.antennas)
    seen = antenna_amplitudes_a_per_m(receiver, field_a_per_m, heading_rad)
    missed = 1.0 - envelope_detection.antenna_probability(seen / noise, receiver.antennas)
    return np.asarray(1.0 - np.prod(missed, axis=-1))
