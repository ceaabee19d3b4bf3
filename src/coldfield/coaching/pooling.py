r"""The fit: a linear model of logarithms with normal effects and heavy-tailed errors, by a fixed point.

:math:`y = X\theta + \varepsilon`, :math:`\theta \sim N(0, P)`, :math:`\varepsilon_i / s_i`
Student's t with `TAIL` degrees of freedom. An interval that never ended shows only that :math:`y_i`
is larger. For given weights the model is linear; the weights follow from its answer (iteratively
reweighted least squares: K. L. Lange, R. J. A. Little, J. M. G. Taylor, "Robust statistical
modeling using the t distribution", J. Am. Stat. Assoc. 84, 1989, 881-896, from memory). The
uncertainty is Laplace's: the inverse of the expected curvature at the solution.
`tests/coaching/test_pooling.py` compares it with a sampler.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

TAIL = 4.0
"""Degrees of freedom of the errors: few, so that a lost glove has little effect. Setting."""

LITTLE = 0.25
"""A value with less than this share of an ordinary weight is listed as an outlier. Setting."""

ROUNDS = 200
"""Limit of rounds; the fixed point is usually reached within twenty."""

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False, kw_only=True)
class Told:
    """The data: values (n,), design (n, m), deviations (n,), and whether each interval ended (n,)."""

    values: Floats
    design: Floats
    spread: Floats
    ended: NDArray[np.bool_]


@dataclass(frozen=True, eq=False, kw_only=True)
class Fit:
    """Effects: mean (m,) and covariance (m, m); `weights` (n,) are the weights of the values, at most 1."""

    middle: Floats
    covariance: Floats
    weights: Floats


def fit(told: Told, prior: Floats) -> Fit:
    """Return the effects, given their prior covariance, (m, m).

    The system solved has n equations, not m, because groups have more effects than there are values.
    """
    n, m = told.design.shape
    if n == 0:
        return Fit(middle=np.zeros(m), covariance=prior.copy(), weights=np.zeros(0))
    middle = np.zeros(m)
    across = prior @ told.design.T
    own = told.design @ across
    for _ in range(ROUNDS):
        curve, target = _working(told, told.design @ middle)
        gain = np.linalg.solve(own + np.diag(1.0 / curve), target)
        new = across @ gain
        done = float(np.max(np.abs(new - middle))) < 1e-8
        middle = 0.5 * middle + 0.5 * new if not done else new
        if done:
            break
    curve, _ = _working(told, told.design @ middle)
    expected = np.where(told.ended, curve * (TAIL + 1.0) / (TAIL + 3.0), curve)
    covariance = prior - across @ np.linalg.solve(own + np.diag(1.0 / expected), across.T)
    away = (told.values - told.design @ middle) / told.spread
    weights = np.where(told.ended, np.minimum(TAIL / (TAIL + away**2), 1.0), 1.0)
    return Fit(middle=middle, covariance=0.5 * (covariance + covariance.T), weights=weights)


def centre(values: Floats) -> tuple[float, float]:
    """Return the location and the scale of values (n,) under the error distribution of this model.

    Seconds are skewed; measured by the median, a group would look slow without being so.
    """
    place, scale = float(np.median(values)), float(np.std(values)) + 1e-6
    for _ in range(40):
        weight = (TAIL + 1.0) / (TAIL + ((values - place) / scale) ** 2)
        place = float(np.average(values, weights=weight))
        scale = float(np.sqrt(np.mean(weight * (values - place) ** 2))) + 1e-6
    return place, scale


def _working(told: Told, now: Floats) -> tuple[Floats, Floats]:
    """Return the curvature and the value to which each observation pulls, (n,) each, at these effects."""
    from scipy.stats import t as student

    away = (told.values - now) / told.spread
    curve = (TAIL + 1.0) / (TAIL + away**2) / told.spread**2
    target = told.values.copy()
    lasting = ~told.ended
    if lasting.any():
        a, s = away[lasting], told.spread[lasting]
        pull = np.exp(student.logpdf(a, TAIL) - student.logsf(a, TAIL))
        bend = pull**2 - pull * (TAIL + 1.0) * a / (TAIL + a**2)
        curve[lasting] = np.maximum(bend, 0.02) / s**2
        target[lasting] = now[lasting] + pull / s / curve[lasting]
    return curve, target
