from __future__ import annotations

import numpy as np
import pytest

from coldfield.debrief.ensemble import WAYS, at_least, evenly, middle_of, stream


def test_independent_route_a_normal_law_is_told_by_its_middle_and_1_96_deviations() -> None:
    told = middle_of(5.0 + 2.0 * np.random.default_rng(1).standard_normal(40_000))
    assert told.value == pytest.approx(5.0, abs=0.05)
    assert told.uncertainty == pytest.approx(1.96 * 2.0, rel=0.02)


def test_property_weights_count_like_so_many_equal_ways() -> None:
    values, weight = np.array([1.0, 4.0, 9.0, 16.0]), np.array([3.0, 1.0, 5.0, 2.0])
    assert middle_of(values, weight) == middle_of(np.repeat(values, weight.astype(int)))


def test_contract_a_number_is_never_better_known_than_its_grain() -> None:
    assert middle_of(np.full(7, 3.0), grain=1.0).uncertainty == 1.0


def test_contract_at_least_is_what_so_many_ways_reach_and_unknown_ways_reach_nothing() -> None:
    size = np.arange(100.0)
    for share in (0.9, 0.97, 0.99):
        assert np.mean(size >= at_least(size, share)) >= share
    size[:4] = np.nan
    assert at_least(size, 0.97) == -np.inf


def test_property_draws_from_a_law_have_its_shares() -> None:
    drawn = evenly(np.array([0.0, 10.0, 20.0]), np.array([0.2, 0.5, 0.3]), key=9)
    assert [int((drawn == v).sum()) for v in (0.0, 10.0, 20.0)] == [20, 50, 30]
    assert drawn.size == WAYS
    assert not (np.diff(drawn) >= 0).all()  # shuffled: different quantities must not be correlated


def test_contract_streams_are_the_same_every_time_and_differ_by_key() -> None:
    assert (stream(1, 2).random(9) == stream(1, 2).random(9)).all()
    assert not np.intersect1d(stream(1, 2).random(999), stream(1, 3).random(999)).size
