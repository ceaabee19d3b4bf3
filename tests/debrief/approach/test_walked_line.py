from __future__ import annotations

import numpy as np

from coldfield.debrief.approach.walked_line import near_speed_m_s, stop_at, wrong_m, wrong_stretch

T = np.arange(60.0)


def straight_in(speed_m_s: float) -> np.ndarray:
    """Return the distance of a person who approaches a set at 1.1 m/s, at a given speed from 8 m, and creeps from 2.5 m."""
    away = [30.0]
    for _ in T[1:]:
        step = 1.1 if away[-1] > 8.0 else speed_m_s if away[-1] > 2.5 else 0.2
        away.append(max(away[-1] - step, 0.0))
    return np.array(away)


def told(speed_m_s: float) -> np.ndarray:
    """Return the speed near the set for ways up to 1.5 m before and behind the person's true position."""
    away = straight_in(speed_m_s)
    walk = np.column_stack([np.zeros(T.size), -away])
    off = np.linspace(-1.5, 1.5, 41)
    places = np.stack([np.column_stack([walk[:, 0], walk[:, 1] + d, np.zeros(T.size)]) for d in off])
    reading = np.abs(places[..., 1]) + 2.0
    fine = T[(reading <= 5.0).argmax(axis=1)]
    return near_speed_m_s(T, places, walk, reading, np.zeros(off.size), fine)


def test_property_haste_is_told_wherever_a_device_puts_the_walk_along_its_line() -> None:
    assert (told(1.2) > 1.0).all()
    assert np.median(told(0.5)) < 0.65
    assert (told(0.5) < 1.0).all()
    assert (told(0.25) < 0.4).all()  # a person who creeps from 8 m, although they walked before


def test_property_a_coarse_search_ends_where_somebody_no_longer_gets_on() -> None:
    away = straight_in(1.2)
    stop = stop_at(np.column_stack([np.zeros(T.size), -away]))
    assert abs(stop - int((away <= 2.5).argmax())) <= 1
    assert abs(stop_at(np.column_stack([T, T])) - (T.size - 1)) <= 1  # walks on to the end


def reading_from(walk: np.ndarray) -> np.ndarray:
    """Return the reading of a set 30 m ahead of (0, 0): the distance, as in line with a set."""
    return np.linalg.norm(walk - np.array([0.0, 30.0]), axis=-1)


def ahead(*metres: float) -> np.ndarray:
    """Return a walk straight towards the set, by as much each second, then 2 s of standing; (n, 2)."""
    along = np.concatenate([[0.0], np.cumsum(metres), np.full(2, np.sum(metres))])
    return np.column_stack([np.zeros(along.size), along])


def test_property_a_way_back_is_wrong_even_before_the_turn_is_seen_and_counts_in_full() -> None:
    # 5 m ahead along the line, 8 m back, then on to the set: along the lane no turn shows in the track.
    walk = ahead(*[1.0] * 5, *[-1.0] * 8, *[1.0] * 25)
    found = wrong_stretch(walk, reading_from(walk), turned=len(walk))
    assert found == (5, 13, True)
    places = np.stack([np.column_stack([walk, np.zeros(len(walk))])] * 2)
    late = wrong_m(
        np.arange(len(walk) + 0.0), places, reading_from(places[..., :2]), found, np.array([4.0, 30.0])
    )
    assert late.tolist() == [8.0, 8.0]


def test_property_walking_away_along_the_lane_is_wrong_only_after_the_turn() -> None:
    away = ahead(*[-1.0] * 20)
    on_lane = wrong_stretch(away, reading_from(away), turned=len(away))
    assert on_lane is None or on_lane[1] - on_lane[0] < 4  # a finding starts at 4 m
    assert wrong_stretch(away, reading_from(away), turned=12) == (12, 20, False)
    places = np.stack([np.column_stack([away, np.zeros(len(away))])])
    told = wrong_m(
        np.arange(len(away) + 0.0), places, reading_from(places[..., :2]), (12, 20, False), np.array([15.0])
    )
    assert told.tolist() == [5.0]


def test_property_moving_about_near_the_set_is_no_wrong_way() -> None:
    near = ahead(*[1.0] * 28, *[-1.0] * 3, *[1.0] * 3)
    assert wrong_stretch(near, reading_from(near), turned=0) is None
