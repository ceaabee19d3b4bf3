from __future__ import annotations

import numpy as np
import pytest

from coldfield.debrief.tracks.device_noise import record
from coldfield.errors import OutOfModel


def test_independent_route_drift_has_the_autocorrelation_of_a_gauss_markov_process() -> None:
    # Exponential autocorrelation b^2 exp(-lag / T). 2 axes x 200 devices; the standard error of each
    # estimate is at most sqrt(2 / 400) b^2 = 0.07 b^2; four of them.
    rng = np.random.default_rng(5)
    still = np.zeros((2, 2))
    errors = [
        record([0.0, 600.0], still, rng=rng, white_m=0.0, bias_m=3.0, correlation_s=120.0)[1]
        for _ in range(200)
    ]
    drift = np.stack(errors)
    for lag in (0, 60, 240):
        product = float(np.mean(drift[:, 300] * drift[:, 300 + lag]))
        assert product == pytest.approx(9.0 * np.exp(-lag / 120.0), abs=4 * 0.07 * 9.0)


def test_contract_without_errors_the_true_walk_is_written_down() -> None:
    rng = np.random.default_rng(6)
    t, place = record(
        [0, 10, 20], [[0, 0], [12, 0], [12, 5]], rng=rng, interval_s=5, white_m=0, bias_m=0, clock_shift_s=90
    )
    np.testing.assert_allclose(t, [90, 95, 100, 105, 110])
    np.testing.assert_allclose(place, [[0, 0], [6, 0], [12, 0], [12, 2.5], [12, 5]])


def test_property_dropouts_thin_a_track_but_keep_its_ends() -> None:
    rng = np.random.default_rng(7)
    t, _ = record([0.0, 3600.0], np.zeros((2, 2)), rng=rng, dropouts_per_h=60.0, dropout_s=20.0)
    assert t[0] == 0.0
    assert t[-1] == 3600.0
    assert 0.5 * 3600 < t.size < 0.95 * 3600  # exp(-60 * 20 / 3600) = 0.72 of the points on average


def test_contract_a_trace_that_goes_back_in_time_is_refused() -> None:
    with pytest.raises(OutOfModel):
        record([1.0, 0.0], np.zeros((2, 2)), rng=np.random.default_rng(8))
