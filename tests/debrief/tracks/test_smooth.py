from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from amount import examples
from coldfield.debrief.tracks.smooth import ACCELERATION_M2_S3, smooth_path, white_level_m
from coldfield.errors import OutOfModel


def test_independent_route_pykalman_smooths_to_the_same_path() -> None:
    from pykalman import KalmanFilter

    # pykalman runs the filter forwards and the Rauch-Tung-Striebel pass backwards; a start known to 3 km
    # replaces 'unknown', which costs about 1e-8 m.
    rng = np.random.default_rng(1)
    t = np.cumsum(rng.uniform(0.2, 3.0, 60))
    z = np.cumsum(rng.normal(size=(60, 2)), axis=0)
    position, velocity = smooth_path(t, z, white_m=1.3)

    dt = np.diff(t)
    step = np.array([[[1, d], [0, 1]] for d in dt])
    noise = ACCELERATION_M2_S3 * np.array([[[d**3 / 3, d * d / 2], [d * d / 2, d]] for d in dt])
    for axis in (0, 1):
        reference = KalmanFilter(
            transition_matrices=step,
            transition_covariance=noise,
            observation_matrices=[[1, 0]],
            observation_covariance=[[1.3**2]],
            initial_state_mean=[z[0, axis], 0],
            initial_state_covariance=np.eye(2) * 1e7,
        )
        states, _ = reference.smooth(z[:, axis])
        np.testing.assert_allclose(position[:, axis], states[:, 0], atol=1e-6)
        np.testing.assert_allclose(velocity[:, axis], states[:, 1], atol=1e-6)


@given(
    start=st.tuples(st.floats(-50, 50), st.floats(-50, 50)),
    speed=st.tuples(st.floats(-3, 3), st.floats(-3, 3)),
    steps=st.lists(st.floats(0.2, 12), min_size=1, max_size=40),
    white_m=st.floats(0.3, 8),
)
@examples(50)
def test_property_an_even_straight_walk_is_left_alone(
    start: tuple[float, float], speed: tuple[float, float], steps: list[float], white_m: float
) -> None:
    t = np.concatenate([[0.0], np.cumsum(steps)])
    z = np.array(start) + t[:, None] * np.array(speed)
    position, velocity = smooth_path(t, z, white_m=white_m)
    np.testing.assert_allclose(position, z, atol=1e-5)
    np.testing.assert_allclose(velocity, np.broadcast_to(speed, z.shape), atol=1e-5)


def test_property_smoothing_brings_a_noisy_walk_nearer_to_the_true_one() -> None:
    rng = np.random.default_rng(2)
    t = np.arange(300.0)
    true = np.column_stack([1.2 * t, 20 * np.sin(t / 40)])
    noisy = true + rng.normal(0, 1.5, true.shape)
    position, _ = smooth_path(t, noisy, white_m=1.5)
    rms = np.sqrt(np.mean((position - true) ** 2))
    assert rms < 0.7 * 1.5


def test_property_white_level_is_found_from_the_scatter() -> None:
    # The median of |second difference| over 600 values of a normal law has a relative standard
    # error of about 1.17 / (2 * 0.6745 * phi(0.6745)...) = 5 %; three of them.
    rng = np.random.default_rng(3)
    t = np.arange(600.0)
    walk = np.column_stack([1.2 * t, np.zeros(600)])
    for white_m in (0.5, 1.5, 4.0):
        assert white_level_m(t, walk + rng.normal(0, white_m, walk.shape)) == pytest.approx(white_m, rel=0.15)


@pytest.mark.parametrize(
    ("t", "z"),
    [
        ([0.0], [[0, 0]]),
        ([0, 0], [[0, 0], [1, 1]]),
        ([0, 1], [[0, 0], [np.nan, 1]]),
        ([1, 0], [[0, 0], [1, 1]]),
    ],
)
def test_contract_what_cannot_be_smoothed_is_refused(t: list[float], z: list[list[float]]) -> None:
    with pytest.raises(OutOfModel):
        smooth_path(t, z, white_m=1.0)
