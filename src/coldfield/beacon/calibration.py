"""A receiver's figures from ranges measured on the snow."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

import numpy as np

from coldfield.beacon.field import axial_field_a_per_m, broadside_field_a_per_m, moment_am2
from coldfield.beacon.receiver import FARTHEST_M, NEAREST_M
from coldfield.drill import Receiver
from coldfield.drill.searcher import DEFAULT_ANTENNA_FACTORS
from coldfield.errors import BadInput
from coldfield.message import Message, message, number

MOST_RUNS = 20
LONE_RUN_SHARE = 0.05
"""Standard deviation of one run as a share of the range, used if only one run was made. Setting."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """Mean of several runs, and its standard error, m."""

    range_m: float
    standard_error_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Calibration:
    """A receiver fitted to measured ranges, each figure with its standard error.

    `agreement` is the gap between the thresholds from the coaxial and from the coplanar runs, in
    standard errors (None without coplanar runs). A gap above 3 is not due to chance.
    """

    receiver: Receiver
    coaxial_range_m: float
    coaxial_range_error_m: float
    threshold_a_per_m: float
    threshold_error_a_per_m: float
    upright_factor: float | None
    upright_factor_error: float | None
    agreement: float | None
    notes: tuple[Message, ...]


def measured(runs_m: tuple[float, ...], name: str) -> Measured:
    """Return mean and standard error of runs made in one position.

    Three runs each are common practice (text seen: DAV range test). For a single run a scatter of 5
    % of the range is assumed (setting). For more runs their own scatter is used, but at least 1 %
    of the range.

    Raises
    ------
    BadInput
        If there are no runs, too many, or one outside 0.1 to 200 m.
    """
    if not 1 <= len(runs_m) <= MOST_RUNS:
        raise BadInput(message("fault.runs_count", most=MOST_RUNS).at(name))
    if not all(NEAREST_M <= r <= FARTHEST_M for r in runs_m):
        raise BadInput(
            message("fault.runs_range", low=number(NEAREST_M), high=number(FARTHEST_M, 0)).at(name)
        )
    mean = float(np.mean(runs_m))
    if len(runs_m) == 1:
        return Measured(range_m=mean, standard_error_m=LONE_RUN_SHARE * mean)
    scatter = max(float(np.std(runs_m, ddof=1)), 0.01 * mean)
    return Measured(range_m=mean, standard_error_m=scatter / sqrt(len(runs_m)))


def calibrate(
    *,
    coaxial_runs_m: tuple[float, ...],
    coplanar_runs_m: tuple[float, ...] = (),
    upright_runs_m: tuple[float, ...] = (),
    reference_field_at_10m_a_per_m: float = 1.0e-6,
    antennas: int = 3,
) -> Calibration:
    """Return a receiver fitted to the ranges measured against one transmitter.

    Parameters
    ----------
    coaxial_runs_m, coplanar_runs_m, upright_runs_m : tuple of float
        Ranges of a stable signal, m: both antennas in one line; side by side and parallel; and with
        the transmitter upright and the receiver level.
    reference_field_at_10m_a_per_m : float
        Strength of that transmitter.
    antennas : int
        Antennas of the receiver; upright runs need three.

    Raises
    ------
    BadInput
        If runs are missing or out of range, or upright runs contradict the others.

    Notes
    -----
    Coaxial and coplanar runs each give a threshold, the full field at the mean range; they are
    averaged in the logarithm, weighted by their errors. Errors follow from the field's slope,
    about 3 times the relative error of a range. The upright runs give the third antenna's factor.
    """
    moment = float(moment_am2(reference_field_at_10m_a_per_m))
    coaxial = measured(coaxial_runs_m, "coaxial")
    estimates = [_log_field(axial_field_a_per_m, moment, coaxial)]
    if coplanar_runs_m:
        estimates.append(_log_field(broadside_field_a_per_m, moment, measured(coplanar_runs_m, "coplanar")))
    logs, errors = (np.array(column) for column in zip(*estimates, strict=True))
    weight = errors**-2.0 / np.sum(errors**-2.0)
    log_threshold, log_error = float(logs @ weight), float(np.sum(errors**-2.0) ** -0.5)
    agreement = float(abs(logs[0] - logs[1]) / np.hypot(*errors)) if len(logs) > 1 else None
    threshold = float(np.exp(log_threshold))
    factor = factor_error = None
    if upright_runs_m:
        if antennas != 3:
            raise BadInput(message("fault.upright_antennas").at("upright"))
        log_upright, error = _log_field(broadside_field_a_per_m, moment, measured(upright_runs_m, "upright"))
        factor = float(np.exp(log_upright - log_threshold))
        factor_error = factor * float(np.hypot(error, log_error))
        if factor < 0.8:
            raise BadInput(message("fault.upright_too_long").at("upright"))
    usual = DEFAULT_ANTENNA_FACTORS[antennas]
    reach, reach_error = _range_of(threshold, moment, log_error)
    receiver = Receiver(
        threshold_a_per_m=threshold,
        reference_field_at_10m_a_per_m=reference_field_at_10m_a_per_m,
        antennas=antennas,
        antenna_factors=usual if factor is None else (*usual[:2], max(factor, 1.0)),
    )
    return Calibration(
        receiver=receiver,
        coaxial_range_m=reach,
        coaxial_range_error_m=reach_error,
        threshold_a_per_m=threshold,
        threshold_error_a_per_m=threshold * log_error,
        upright_factor=factor,
        upright_factor_error=factor_error,
        agreement=agreement,
        notes=_notes(agreement, factor, antennas),
    )


def _log_field(field_of: object, moment: float, value: Measured) -> tuple[float, float]:
    assert callable(field_of)
    at, error = value.range_m, value.standard_error_m
    low, high = (float(np.log(field_of(moment, at * f))) for f in (0.99, 1.01))
    slope = (high - low) / (0.02 * at)
    return float(np.log(field_of(moment, at))), abs(slope) * error


def _range_of(threshold: float, moment: float, log_error: float) -> tuple[float, float]:
    low, high = np.log(NEAREST_M / 2.0), np.log(2.0 * FARTHEST_M)
    for _ in range(60):
        middle = 0.5 * (low + high)
        heard = axial_field_a_per_m(moment, float(np.exp(middle))) >= threshold
        low, high = (middle, high) if heard else (low, middle)
    reach = float(np.exp(0.5 * (low + high)))
    slope = _log_field(axial_field_a_per_m, moment, Measured(range_m=reach, standard_error_m=1.0))[1]
    return reach, log_error / slope


def _notes(agreement: float | None, factor: float | None, antennas: int) -> tuple[Message, ...]:
    notes = []
    if agreement is not None and agreement > 3.0:
        notes.append(message("note.ranges_do_not_fit"))
    if factor is None and antennas == 3:
        notes.append(message("note.no_upright_runs"))
    if factor is not None and factor < 1.0:
        notes.append(message("note.upright_better"))
    return tuple(notes)
