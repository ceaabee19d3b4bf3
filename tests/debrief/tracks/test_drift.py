from __future__ import annotations

import numpy as np
import pytest

from coldfield.debrief.tracks.drift import FAR_M, FAST_M_S, OFFSET_M, Drift, Seen, Walks

KINDS = (Drift(sd_m=3.0, scale_s=90.0, rough=True), Drift(sd_m=2.0, scale_s=60.0, rough=False))


def seen(n: int = 25, *, rng: np.random.Generator) -> tuple[Seen, dict[str, np.ndarray]]:
    """Return a short walk with white noise of 0.7 m, a dropout, a stand and one known place; and its parts."""
    knots = 2.0 * np.arange(n)
    at = np.array([k for k in range(n) if k not in (8, 9, 10)])
    late = rng.uniform(0.0, 2.0, at.size)
    place = np.column_stack([1.1 * (knots[at] + late), 0.3 * knots[at]]) + rng.normal(0, 2, (at.size, 2))
    jerk = np.full(n - 1, 0.05)
    jerk[15:20] = 1e-4
    stands = np.zeros(n)
    stands[15:21] = 0.05**-2
    there, there_place = np.zeros(n), np.zeros((n, 2))
    there[18], there_place[18] = 1.5**-2, np.array([40.0, 9.0]) * 1.5**-2
    sure = 0.7**-2

    def summed(what: np.ndarray) -> np.ndarray:
        return np.bincount(at, sure * what, minlength=n)

    told = Seen(
        knot_s=knots,
        jerk_m2_s3=jerk,
        written=summed(np.ones(at.size)),
        written_late=summed(late),
        written_late2=summed(late**2),
        place=np.column_stack([summed(place[:, i]) for i in (0, 1)]),
        place_late=np.column_stack([summed(late * place[:, i]) for i in (0, 1)]),
        stands=stands,
        there=there,
        there_place=there_place,
    )
    return told, {"at": at, "late": late, "place": place}


def kernel_m2(drift: Drift, apart_s: np.ndarray) -> np.ndarray:
    """Return the covariance of a drift at two moments: exponential, or Matern of order 3/2.

    C. E. Rasmussen and C. K. I. Williams, Gaussian Processes for Machine Learning, MIT Press 2006, eq. (4.17).
    """
    x = np.abs(apart_s) * (1.0 if drift.rough else np.sqrt(3.0)) / drift.scale_s
    return drift.sd_m**2 * np.exp(-x) * (1.0 if drift.rough else 1.0 + x)


def walk_covariance(told: Seen) -> np.ndarray:
    """Return the covariance of places and velocities, (2 n, 2 n): a double integral of white jerk, by sums."""
    n = told.knot_s.size
    made = [np.diag([FAR_M**2, FAST_M_S**2])]
    for dt, q in zip(np.diff(told.knot_s), told.jerk_m2_s3, strict=True):
        made.append(q * np.array([[dt**3 / 3, dt**2 / 2], [dt**2 / 2, dt]]))
    # State k is the sum of the noise of each earlier step, propagated over the time since.
    carried = np.zeros((2 * n, 2 * n))
    for k in range(n):
        for j in range(k + 1):
            since = told.knot_s[k] - told.knot_s[j]
            carried[2 * k : 2 * k + 2, 2 * j : 2 * j + 2] = [[1.0, since], [0.0, 1.0]]
    came = np.zeros((2 * n, 2 * n))
    for j, block in enumerate(made):
        came[2 * j : 2 * j + 2, 2 * j : 2 * j + 2] = block
    return carried @ came @ carried.T


def dense(told: Seen, parts: dict[str, np.ndarray], drift: Drift) -> tuple[np.ndarray, np.ndarray, float]:
    """Return mean and covariance of the places, and the log likelihood, by dense Gaussian conditioning."""
    n, at, late = told.knot_s.size, parts["at"], parts["late"]
    prior = np.zeros((3 * n, 3 * n))  # places and velocities, then offset and drift at each knot
    prior[: 2 * n, : 2 * n] = walk_covariance(told)
    prior[2 * n :, 2 * n :] = OFFSET_M**2 + kernel_m2(drift, told.knot_s[:, None] - told.knot_s)
    rows, noise, values = [], [], []
    for k, s, z in zip(at, late, parts["place"], strict=True):
        row = np.zeros(3 * n)
        row[[2 * k, 2 * n + k]], row[2 * k + 1] = 1.0, s
        rows.append(row)
        noise.append(0.7**2)
        values.append(z)
    for k in np.flatnonzero(told.stands):
        row = np.zeros(3 * n)
        row[2 * k + 1] = 1.0
        rows.append(row)
        noise.append(1.0 / told.stands[k])
        values.append(np.zeros(2))
    for k in np.flatnonzero(told.there):
        row = np.zeros(3 * n)
        row[2 * k] = 1.0
        rows.append(row)
        noise.append(1.0 / told.there[k])
        values.append(told.there_place[k] / told.there[k])
    h, z = np.array(rows), np.array(values)
    total = h @ prior @ h.T + np.diag(noise)
    gain = np.linalg.solve(total, h @ prior).T
    mean, covariance = gain @ z, prior - gain @ h @ prior
    told_by = -0.5 * np.sum(z * np.linalg.solve(total, z)) - np.linalg.slogdet(total)[1]
    places = slice(0, 2 * n, 2)
    return mean[places], covariance[places, places], float(told_by)


@pytest.mark.parametrize("drift", KINDS)
def test_independent_route_dense_conditioning_gives_the_same_walk_and_spread(drift: Drift) -> None:
    # Gaussian conditioning with the whole covariance: no states, no bands. C. E. Rasmussen and C. K. I. Williams,
    # Gaussian Processes for Machine Learning, MIT Press 2006, eq. (2.22) to (2.24).
    told, parts = seen(rng=np.random.default_rng(3))
    mean, covariance, _ = dense(told, parts, drift)
    law = Walks(told, drift)
    np.testing.assert_allclose(law.mean()[0], mean, atol=1e-5)
    drawn = law.drawn(4000, np.random.default_rng(4))[0].transpose(1, 0, 2)
    # A deviation from 2 x 4000 draws is known to 0.8 %, four times that at most.
    deviation = np.sqrt(np.mean(drawn.var(axis=0), axis=-1))
    np.testing.assert_allclose(deviation, np.sqrt(np.diag(covariance)), rtol=0.04)
    together = np.mean([np.cov(drawn[..., i].T) for i in (0, 1)], axis=0)
    np.testing.assert_allclose(together, covariance, atol=0.12 * float(np.diag(covariance).max()))


def test_independent_route_drifts_are_weighed_as_by_dense_likelihood() -> None:
    told, parts = seen(rng=np.random.default_rng(5))
    by_bands = [Walks(told, drift).log_evidence for drift in KINDS]
    by_hand = [dense(told, parts, drift)[2] for drift in KINDS]
    assert by_bands[0] - by_bands[1] == pytest.approx(by_hand[0] - by_hand[1], abs=1e-5)


@pytest.mark.parametrize("drift", KINDS)
def test_independent_route_steps_of_a_drift_add_up_to_its_covariance(drift: Drift) -> None:
    carried, comes_in = drift.steps(np.array([7.0, 40.0]))
    first = drift.first()
    for one, noise in zip(carried, comes_in, strict=True):
        np.testing.assert_allclose(one @ first @ one.T + noise, first, rtol=1e-12)
    apart = [float((step @ first)[0, 0]) for step in carried]
    np.testing.assert_allclose(apart, kernel_m2(drift, np.array([7.0, 40.0])), rtol=1e-12)
