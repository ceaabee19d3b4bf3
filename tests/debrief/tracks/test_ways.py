from __future__ import annotations

import numpy as np

from coldfield.debrief.ensemble import WAYS
from coldfield.debrief.tracks.track import There, clean
from coldfield.debrief.tracks.ways import PathWays, path_ways
from recorded_tracks import BOWL, NOON, walk

SECONDS = np.arange(-150.0, 301.0)


def true_walk() -> np.ndarray:
    """Stand for 150 s, walk 80 m at 1 m/s, stand again."""
    t = [-150.0, 0.0, 80.0, 300.0]
    return np.column_stack([np.full(SECONDS.size, 30.0), np.interp(SECONDS, t, [0.0, 0.0, 80.0, 80.0])])


def ways_of(
    drift: np.ndarray, seed: int, *, there: tuple[There, ...] = (), keep: np.ndarray | None = None
) -> PathWays:
    place = true_walk() + drift + 0.5 * np.random.default_rng(seed).standard_normal((SECONDS.size, 2))
    keep = np.ones(SECONDS.size, bool) if keep is None else keep
    track = clean([walk(SECONDS[keep], place[keep], file="s1.gpx")], BOWL)
    found = path_ways(track, there, zero_unix_s=NOON, end_s=300.0, number=0)
    assert found is not None
    return found


def drifting(seed: int, *, rough: bool) -> np.ndarray:
    apart = np.abs(SECONDS[:, None] - SECONDS) / 90.0
    kernel = np.exp(-apart) if rough else np.exp(-0.5 * apart**2)
    root = np.linalg.cholesky(kernel + 1e-6 * np.eye(SECONDS.size))
    return 3.0 * root @ np.random.default_rng(seed).standard_normal((SECONDS.size, 2))


def test_independent_route_places_and_short_ways_under_drift_hold_the_truth() -> None:
    # Drift from dense covariances, 3 m and 90 s, both kernels; 2 x 12 devices, two axes. 95 % should be
    # inside; for 48 values correlated in pairs, four of five is three standard errors below.
    inside: dict[str, list[bool]] = {"place": [], "way": []}
    for rough in (True, False):
        for seed in range(12):
            ways = ways_of(drifting(seed, rough=rough), seed)
            here, there = ways.at(np.array([40.0]))[:, 0], ways.at(np.array([48.0]))[:, 0]
            for row, drawn, truth in (("place", here, (30.0, 40.0)), ("way", there - here, (0.0, 8.0))):
                off = np.abs(np.median(drawn, axis=0) - truth)
                inside[row] += (off <= 1.96 * drawn.std(axis=0)).tolist()
    assert np.mean(inside["place"]) >= 0.8
    assert np.mean(inside["way"]) >= 0.8


def test_property_short_ways_are_better_known_than_places_and_best_under_a_smooth_drift() -> None:
    spread = {}
    for rough in (True, False):
        ways = [ways_of(drifting(seed, rough=rough), seed) for seed in range(4)]
        moved = [(w.at(np.array([48.0])) - w.at(np.array([40.0])))[:, 0].std(axis=0).mean() for w in ways]
        spread[rough] = float(np.mean(moved))
        assert spread[rough] < 0.6 * np.mean([w.at(np.array([40.0])).std(axis=0).mean() for w in ways])
    assert spread[False] < 0.7 * spread[True]


def test_property_a_known_place_takes_the_drift_away_around_its_moment() -> None:
    there = (There(unix_s=NOON + 82.0, place_m=(30.0, 80.0), within_m=1.5),)
    alone, told = (ways_of(drifting(3, rough=False), 3, there=known) for known in ((), there))
    assert told.at(np.array([80.0])).std(axis=0).mean() < 0.75 * alone.at(np.array([80.0])).std(axis=0).mean()
    assert (
        np.linalg.norm(told.mean_m[80] - (30.0, 80.0)) < np.linalg.norm(alone.mean_m[80] - (30.0, 80.0)) + 0.1
    )


def test_regression_a_dropout_is_bridged_and_less_sure_the_longer_it_lasts() -> None:
    keep = (SECONDS <= 20.0) | (SECONDS >= 60.0)
    ways = ways_of(np.zeros((SECONDS.size, 2)), 1, keep=keep)
    assert ways.t_s.size == 301
    spread = ways.position_m.std(axis=0).mean(axis=1)
    assert spread[40] > 2.0 * spread[15]
    assert abs(ways.mean_m[40, 1] - 40.0) < 3.0


def test_contract_ways_are_the_same_every_time_and_other_people_have_others() -> None:
    drift = np.zeros((SECONDS.size, 2))
    first, again = ways_of(drift, 2), ways_of(drift, 2)
    assert (first.position_m == again.position_m).all()
    assert first.position_m.shape == (WAYS, 301, 2)


def test_property_a_device_that_freezes_at_rest_is_not_taken_for_one_that_does_not_drift() -> None:
    drift = drifting(6, rough=False)
    place = true_walk() + drift
    for second in (SECONDS < 0.0, SECONDS > 80.0):
        place[second] = place[second][0]
    track = clean([walk(SECONDS, place, file="s1.gpx")], BOWL)
    ways = path_ways(track, (), zero_unix_s=NOON, end_s=300.0, number=0)
    assert ways is not None
    assert not ways.stands.any()
    assert ways.spread_m > 1.0


def test_regression_who_creeps_up_to_a_burial_is_not_taken_for_standing_there() -> None:
    # From 8 m at 0.15 m/s on average to a strike at 60 s, like searchers who slow down with the reading.
    t = [-150.0, -30.0, 6.0, 60.0, 300.0]
    true = np.column_stack([np.full(SECONDS.size, 30.0), np.interp(SECONDS, t, [0.0, 0.0, 42.0, 50.0, 50.0])])
    there = (There(unix_s=NOON + 60.0, place_m=(30.0, 50.0), within_m=0.8, sought=True),)
    held = []
    for seed in range(6):
        place = (
            true + drifting(seed, rough=False) + 0.5 * np.random.default_rng(seed).standard_normal(true.shape)
        )
        track = clean([walk(SECONDS, place, file="s1.gpx")], BOWL)
        ways = path_ways(track, there, zero_unix_s=NOON, end_s=300.0, number=0)
        assert ways is not None
        drawn = ways.at(np.array([20.0]))[:, 0, 1]  # 6 m before the burial
        held.append(
            abs(np.median(drawn) - true[170, 1]) <= np.quantile(np.abs(drawn - np.median(drawn)), 0.95)
        )
    assert sum(held) >= 5


def test_property_a_device_may_lie_off_all_the_while_and_a_known_place_tells() -> None:
    off = np.full((SECONDS.size, 2), (5.0, -4.0))
    there = (There(unix_s=NOON + 82.0, place_m=(30.0, 80.0), within_m=0.8),)
    alone, told = (ways_of(off, 4, there=known) for known in ((), there))
    for ways in (alone, told):
        drawn = ways.at(np.array([20.0]))[:, 0]
        assert (np.abs(drawn.mean(axis=0) - (30.0, 20.0)) <= 1.96 * drawn.std(axis=0)).all()
    assert np.linalg.norm(told.mean_m[20] - (30.0, 20.0)) < 2.0
