"""A walk with a drifting error, in closed form: two Gaussian processes and observations of their sum.

A device records the sum of the walk, a constant offset, a drifting error and white noise. The walk has nearly
constant velocity. The drift has an exponential kernel (rough) or a Matern kernel of order 3/2 (smooth). The
offset is solved separately from the states of the others, so everything is one banded system.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

OFFSET_M = 3.0
"""Constant offset of a device from the plan on each axis, m, one standard deviation; only a known place shows
it. Setting."""

FAR_M, FAST_M_S = 1e3, 2.0
"""Prior spread of the first place, m, and of the first velocity, m/s. Settings, wide on purpose."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Drift:
    """A model of a device's drift: its standard deviation on each axis, time scale and kernel."""

    sd_m: float
    scale_s: float
    rough: bool

    @property
    def states(self) -> int:
        """The number of states: the drift, and its rate for the smooth kernel."""
        return 1 if self.rough else 2

    def steps(self, dt_s: Floats) -> tuple[Floats, Floats]:
        """Return the transition matrices over time steps, and the covariances of the noise, (k, s, s)."""
        if self.rough:
            stay = np.exp(-dt_s / self.scale_s)[:, None, None]
            return stay, self.sd_m**2 * -np.expm1(-2.0 * dt_s / self.scale_s)[:, None, None]
        rate = np.sqrt(3.0) / self.scale_s
        x = rate * dt_s
        rows = [[1.0 + x, dt_s], [-rate * x, 1.0 - x]]
        carried = np.exp(-x)[:, None, None] * np.moveaxis(np.array(rows), -1, 0)
        still = self.first()
        return carried, still - carried @ still @ carried.transpose(0, 2, 1)

    def first(self) -> Floats:
        """Return the covariance of the drift's states at any one moment, (s, s)."""
        if self.rough:
            return np.array([[self.sd_m**2]])
        return np.diag([self.sd_m**2, 3.0 * (self.sd_m / self.scale_s) ** 2])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Seen:
    """The observations of a walk at its knots, equal on both axes; shapes (n,), sums of precisions.

    `knot_s` holds the times of the knots. `jerk_m2_s3`, (n - 1,), is the spectral density of the acceleration
    up to the next knot. A place recorded `late_s` after its knot adds its precision to `written`, the
    precision times `late_s` to `written_late`, times its square to `written_late2`, and times the place, (n,
    2), to `place` and `place_late`. `stands` is the precision with which a person is known not to move,
    `there` that of a known true place, and `there_place`, (n, 2), the latter times the place.
    """

    knot_s: Floats
    jerk_m2_s3: Floats
    written: Floats
    written_late: Floats
    written_late2: Floats
    place: Floats
    place_late: Floats
    stands: Floats
    there: Floats
    there_place: Floats

    def only(self, knots: NDArray[np.bool_]) -> Seen:
        """Return the same with recorded places only at some knots, (n,)."""
        told = {name: getattr(self, name) for name in ("written", "written_late", "written_late2")}
        placed = {name: getattr(self, name) for name in ("place", "place_late")}
        return replace(
            self,
            **{name: np.where(knots, what, 0.0) for name, what in told.items()},
            **{name: np.where(knots[:, None], what, 0.0) for name, what in placed.items()},
        )


@dataclass(frozen=True, eq=False)
class Walks:
    """The distribution of a walk, given the observations and the drift of the device."""

    seen: Seen
    drift: Drift

    @cached_property
    def _system(self) -> tuple[Floats, Floats, float]:
        """Return the banded precision (upper form), right sides, and the prior's log determinant per axis.

        The right sides are the observations on each axis, and a constant offset of 1 m.
        """
        seen, drift = self.seen, self.drift
        n, m = seen.knot_s.size, 2 + drift.states
        dt = np.diff(seen.knot_s)
        ahead = np.zeros((n - 1, m, m))
        into = np.zeros((n - 1, m, m))
        ahead[:, [0, 1], [0, 1]] = 1.0
        ahead[:, 0, 1] = dt
        q = seen.jerk_m2_s3
        into[:, 0, 0], into[:, 1, 1] = 12.0 / (q * dt**3), 4.0 / (q * dt)
        into[:, 0, 1] = into[:, 1, 0] = -6.0 / (q * dt**2)
        apart, which = np.unique(dt, return_inverse=True)  # almost all knots are evenly spaced
        carried, comes_in = drift.steps(apart)
        ahead[:, 2:, 2:] = carried[which]
        into[:, 2:, 2:] = np.linalg.inv(comes_in)[which]
        first = np.zeros((m, m))
        first[0, 0], first[1, 1] = FAR_M**-2, FAST_M_S**-2
        first[2:, 2:] = np.linalg.inv(drift.first())
        block = np.zeros((n, m, m))
        block[0] += first
        back = ahead.transpose(0, 2, 1) @ into
        block[:-1] += back @ ahead
        block[1:] += into
        for a, b, what in ((0, 0, seen.written), (0, 1, seen.written_late), (1, 1, seen.written_late2)):
            block[:, a, b] += what
        block[:, 0, 2] += seen.written
        block[:, 1, 2] += seen.written_late
        block[:, 2, 2] += seen.written
        block[:, 0, 0] += seen.there
        block[:, 1, 1] += seen.stands
        right = np.zeros((n, m, 3))
        right[:, 0, :2] = seen.place + seen.there_place
        right[:, 1, :2] = seen.place_late
        right[:, 2, :2] = seen.place
        right[:, 0, 2] = right[:, 2, 2] = seen.written
        right[:, 1, 2] = seen.written_late
        log_prior = np.linalg.slogdet(first)[1] - np.linalg.slogdet(comes_in)[1][which].sum()
        log_prior += np.sum(np.log(12.0) - 2.0 * np.log(q) - 4.0 * np.log(dt))
        return _banded(block, -back), right.reshape(n * m, 3), float(log_prior)

    @cached_property
    def _solved(self) -> tuple[Floats, Floats, Floats, float, float]:
        """Return the banded upper factor; means (n m, 3); offset (2,), its uncertainty; and the log evidence.

        The means are those of all states on each axis without an offset, and the effect of an offset of 1 m.
        """
        # Imported here and below, so that opening records does not load SciPy before a debrief is made.
        from scipy.linalg import cho_solve_banded, cholesky_banded

        bands, right, log_prior = self._system
        factor = cholesky_banded(bands, check_finite=False)
        mean = cho_solve_banded((factor, False), right, check_finite=False)
        log_all = 2.0 * float(np.log(factor[-1]).sum())
        told = right.T @ mean
        sure = OFFSET_M**-2 + float(self.seen.written.sum()) - told[2, 2]
        off = (self.seen.place.sum(axis=0) - told[2, :2]) / sure
        evidence = 0.5 * float(told[0, 0] + told[1, 1] + sure * np.sum(off**2)) - np.log(sure * OFFSET_M**2)
        return factor, mean, off, sure**-0.5, evidence + log_prior - log_all

    @property
    def log_evidence(self) -> float:
        """Log-likelihood of the observations, up to a constant that is the same for every drift."""
        return self._solved[4]

    def mean(self) -> tuple[Floats, Floats]:
        """Return the means of places and velocities at the knots, (n, 2) each."""
        _, mean, off, _, _ = self._solved
        states = (mean[:, :2] - mean[:, 2:] * off).reshape(self.seen.knot_s.size, -1, 2)
        return states[:, 0], states[:, 1]

    def drawn(self, count: int, rng: np.random.Generator) -> tuple[Floats, Floats]:
        """Return `count` draws of places and of velocities at the knots, (n, count, 2) each.

        The draws are antithetic pairs, so their mean is the mean of the distribution.
        """
        from scipy.linalg.lapack import dtbtrs

        factor, mean, middle, doubt, _ = self._solved
        n, m, half = self.seen.knot_s.size, 2 + self.drift.states, (count + 1) // 2
        noise = rng.standard_normal((2 * half, n * m)).T
        off, _ = dtbtrs(factor, noise, overwrite_b=True)
        off = off.reshape(n, m, half, 2)[:, :2]
        mean = mean.reshape(n, m, 1, 3)[:, :2]
        off -= mean[..., 2:] * (doubt * rng.standard_normal((half, 2)))
        states = np.concatenate([off, -off], axis=2)[:, :, :count]
        states += mean[..., :2] - mean[..., 2:] * middle
        return states[:, 0], states[:, 1]


def _banded(block: Floats, ahead: Floats) -> Floats:
    """Return blocks on the diagonal (n, m, m) and beside it (n - 1, m, m) as bands, upper form."""
    n, m, _ = block.shape
    top = 2 * m - 1
    bands = np.zeros((top + 1, n * m))
    for a in range(m):
        for b in range(m):
            if a <= b:
                bands[top + a - b, b::m] = block[:, a, b]
            bands[top + a - b - m, m + b :: m] = ahead[:, a, b]
    return bands
