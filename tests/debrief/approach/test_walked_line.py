from __future__ import annotations

import numpy as np

from coldfield.debrief.approach.walked_line import near_speed_m_s, stop_at

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
