"""The fit compared with an independent sampler, and with cases of known answer."""

from __future__ import annotations

import emcee
import numpy as np
import pytest
from scipy.stats import t as student

from coldfield.coaching.pooling import TAIL, Told, fit


def _made(seed: int, *, censored: int = 0, lost_glove: bool = False) -> tuple[Told, np.ndarray]:
    """Two groups' worth of effects: one shared, two people, one day; 14 values."""
    rng = np.random.default_rng(seed)
    design = np.zeros((14, 4))
    design[:, 0] = rng.uniform(0.4, 1.0, 14)
    design[:7, 1] = design[:7, 0]
    design[7:, 2] = design[7:, 0]
    design[::3, 3] = 0.5
    truth = np.array([0.3, -0.2, 0.25, 0.1])
    spread = rng.uniform(0.15, 0.4, 14)
    values = design @ truth + spread * student.rvs(TAIL, size=14, random_state=rng)
    ended = np.ones(14, dtype=bool)
    if censored:
        ended[:censored] = False
        values[:censored] = (design @ truth)[:censored] + 0.2
    if lost_glove:
        values[10] += 4.0
    return Told(values=values, design=design, spread=spread, ended=ended), np.diag([0.16, 0.09, 0.09, 0.0225])


def _sampled(told: Told, prior: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    inverse = np.linalg.inv(prior)

    def log_density(effects: np.ndarray) -> np.ndarray:
        """For many effects at once, (k, size)."""
        away = (told.values - effects @ told.design.T) / told.spread
        seen = student.logpdf(away[:, told.ended], TAIL).sum(axis=1)
        unseen = student.logsf(away[:, ~told.ended], TAIL).sum(axis=1)
        return seen + unseen - 0.5 * np.einsum("ki,ij,kj->k", effects, inverse, effects)

    walkers, size = 40, len(prior)
    start = np.random.default_rng(3).normal(0.0, 0.1, (walkers, size))
    sampler = emcee.EnsembleSampler(walkers, size, log_density, vectorize=True)
    sampler.random_state = np.random.RandomState(7).get_state()
    sampler.run_mcmc(start, 1500)
    draws = sampler.get_chain(discard=300, thin=5, flat=True)
    return draws.mean(axis=0), draws.std(axis=0)


@pytest.mark.parametrize(
    "case", [{}, {"censored": 3}, {"lost_glove": True}], ids=["plain", "never ended", "lost glove"]
)
def test_independent_route_the_fixed_point_is_what_a_sampler_finds(case: dict) -> None:
    told, prior = _made(5, **case)
    found = fit(told, prior)
    middle, spread = _sampled(told, prior)
    # Within a quarter of a deviation, and the deviation within 15 %, because the fit uses mode and curvature.
    assert np.abs(found.middle - middle).max() < 0.25 * spread.min() + 0.02
    assert np.sqrt(np.diag(found.covariance)) == pytest.approx(spread, rel=0.15)


def test_independent_route_with_small_errors_it_is_ordinary_least_squares() -> None:
    told, prior = _made(6)
    sharp = Told(values=told.values, design=told.design, spread=told.spread * 1e3, ended=told.ended)
    # So wide that the tail does not matter: all weights are equal, and the answer is that of ridge
    # regression.
    weight = np.diag((TAIL + 1.0) / TAIL / sharp.spread**2)
    curve = np.linalg.inv(prior) + sharp.design.T @ weight @ sharp.design
    middle = np.linalg.solve(curve, sharp.design.T @ weight @ sharp.values)
    assert fit(sharp, prior).middle == pytest.approx(middle, rel=1e-3)


def test_property_leaving_out_what_never_ended_flatters() -> None:
    told, prior = _made(5, censored=4)
    kept = told.ended
    dropped = Told(
        values=told.values[kept], design=told.design[kept], spread=told.spread[kept], ended=told.ended[kept]
    )
    # Larger is slower.
    assert fit(told, prior).middle[0] > fit(dropped, prior).middle[0]


def test_property_a_lost_glove_moves_little_and_is_found() -> None:
    plain, prior = _made(5)
    told, _ = _made(5, lost_glove=True)
    found, without = fit(told, prior), fit(plain, prior)
    assert np.abs(found.middle - without.middle).max() < 0.15
    assert int(np.argmin(found.weights)) == 10
    assert found.weights[10] < 0.1


def test_property_nothing_seen_leaves_the_prior() -> None:
    none = Told(
        values=np.zeros(0), design=np.zeros((0, 4)), spread=np.zeros(0), ended=np.zeros(0, dtype=bool)
    )
    prior = np.diag([1.0, 2.0, 3.0, 4.0])
    found = fit(none, prior)
    assert (found.covariance == prior).all()
    assert not found.middle.any()
