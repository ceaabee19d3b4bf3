from math import nan

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from small_drills import drill

from amount import examples
from coldfield.beacon.field import harmonic_dipole_field
from coldfield.beacon.hearing import Sources, hear
from coldfield.beacon.receiver import heard_probability, pulse_probability, threshold_a_per_m
from coldfield.drill import Receiver
from coldfield.rescue.draws import Draws, Purpose, normal
from coldfield.rescue.player.receiver import TodaysReceiver, field_at
from coldfield.rescue.player.world import Snow
from coldfield.search.lanes.pace import level_metres

RECEIVERS = [
    Receiver(coaxial_range_m=40.0),
    Receiver(coaxial_range_m=30.0, antennas=1, antenna_factors=(1.0,)),
    Receiver(coaxial_range_m=30.0, antennas=2, antenna_factors=(1.0, 1.5)),
    Receiver(coaxial_range_m=35.0, antennas=3, antenna_factors=(1.0, 1.2, 3.0)),
    Receiver(coaxial_range_m=35.0, turning=True),
]
SOMEWHERE = st.tuples(*[st.floats(-40, 40)] * 3).filter(lambda p: sum(c * c for c in p) > 1.0)


@examples(60)
@given(
    offset=SOMEWHERE,
    moment=SOMEWHERE,
    which=st.integers(0, 4),
    heading=st.floats(0, 6.28),
    db=st.sampled_from([0.0, 9.0]),
)
def test_independent_route_one_pulse_is_what_the_hearing_model_says(
    offset, moment, which, heading, db
) -> None:
    # Single numbers here, arrays and other algebra there: equal except for rounding.
    receiver, m = RECEIVERS[which], tuple(1e-4 * c for c in moment)
    today = TodaysReceiver(receiver, db, definite=False)
    toward = (float(np.sin(heading)), float(np.cos(heading)))
    field = harmonic_dipole_field(m, offset)
    heard = hear(
        Sources(("A",), np.zeros((1, 3)), np.array([m])),
        receiver,
        offset,
        heading_rad=heading,
        noise_rise_db=db,
    )

    pulse = today.pulse(field_at(m, offset), toward)

    assert today.threshold_a_per_m == threshold_a_per_m(receiver, db)
    assert pulse.amplitude_a_per_m == pytest.approx(heard.amplitude_a_per_m[0], rel=1e-9)
    if pulse.amplitude_a_per_m >= today.noise_a_per_m:
        chance = pulse_probability(receiver, field, heading_rad=heading, noise_rise_db=db)
        assert pulse.chance == pytest.approx(float(chance), abs=1e-9)
    if heard.audible[0] and abs(pulse.reading_m - heard.reading_m[0]) > 1e-9:
        raw = (today._reference_am2 / (2 * np.pi * heard.magnitude_a_per_m[0])) ** (1 / 3)
        assert abs(raw * 10 % 1 - 0.5) < 1e-6  # only on the edge between two shown values
    if not np.isnan(heard.direction_rad[0]):
        across = abs(field[0] * np.cos(heard.direction_rad[0]) - field[1] * np.sin(heard.direction_rad[0]))
        apart = np.mod(0.5 * np.pi - pulse.angle_rad - heard.direction_rad[0], np.pi)
        level = np.hypot(abs(field[0]), abs(field[1]))
        assert min(apart, np.pi - apart) < 1e-6 or across > 0.99 * level / np.sqrt(2)


@pytest.mark.parametrize("ratio", [0.7, 0.9, 1.0, 1.2])
def test_independent_route_two_of_three_pulses_are_heard_as_often_as_marcum_says(ratio: float) -> None:
    # Marcum's Q (RAND RM-754, 1947) on one side, counted draws on the other; 4 standard errors.
    receiver = RECEIVERS[0]
    today = TodaysReceiver(receiver, 0.0, definite=False)
    field = (complex(0.0, ratio * today.threshold_a_per_m), 0j, 0j)
    chance = today.pulse(field, (1.0, 0.0)).chance
    draws, n = Draws(seed=3, run=0), 1500
    u = np.array([[draws.four(Purpose.PULSE, index=3 * k + i)[0] for i in range(3)] for k in range(n)])
    share = np.mean((u < chance).sum(axis=1) >= 2)
    expected = float(heard_probability(receiver, field, heading_rad=0.0))
    assert abs(share - expected) < 4 * np.sqrt(max(expected * (1 - expected), 1e-3) / n)


def test_contract_definite_mode_hears_exactly_from_the_threshold_on() -> None:
    today = TodaysReceiver(RECEIVERS[0], 0.0, definite=True)
    just, below = (complex(f * today.threshold_a_per_m) for f in (1.0 + 1e-12, 1.0 - 1e-9))
    assert today.pulse((just, 0j, 0j), (1.0, 0.0)).chance == 1.0
    assert today.pulse((below, 0j, 0j), (1.0, 0.0)).chance == 0.0


def test_independent_route_draws_are_philox_words_in_their_place() -> None:
    # Salmon et al. 2011, as implemented by numpy: word 0 of block (index, purpose, searcher, source).
    key = np.array([5, 7], dtype=np.uint64)
    numpys = np.random.Generator(np.random.Philox(key=key, counter=np.array([8, 2, 3, 4], dtype=np.uint64)))
    assert Draws(seed=5, run=7).four(Purpose.KEYING, searcher=3, source=4, index=9) == tuple(numpys.random(4))


def test_property_draws_in_a_row_are_those_of_each_place() -> None:
    draws = Draws(seed=5, run=9)
    for first in (0, 1, 7):
        each = [draws.four(Purpose.CONSTANT, searcher=2, index=first + k) for k in range(6)]
        assert draws.fours(Purpose.CONSTANT, 6, searcher=2, index=first) == [u for four in each for u in four]


def test_contract_index_0_is_a_block_of_its_own() -> None:
    draws = Draws(seed=0, run=0)
    blocks = {draws.four(p, index=i) for p in Purpose for i in (0, 1, 2)}
    assert len(blocks) == 3 * len(Purpose)


def test_property_box_muller_numbers_are_normal() -> None:
    draws = Draws(seed=1, run=0)
    z = [normal(*draws.four(Purpose.HOLE, index=i)[:2]) for i in range(2000)]
    assert abs(np.mean(z)) < 4 / np.sqrt(2000)
    assert abs(np.var(z) - 1) < 4 * np.sqrt(2 / 2000)
    assert nan not in z


@pytest.mark.parametrize("slope_rad", [0.0, 0.2, 0.5, 0.9])
def test_independent_route_walking_pace_is_that_of_the_lanes(slope_rad: float) -> None:
    # The lanes count level metres of legs, the searcher model a factor along unit directions.
    snow = Snow(drill(slope_rad=slope_rad))
    for angle in np.linspace(0.0, 2 * np.pi, 25):
        dx, dy = float(np.cos(angle)), float(np.sin(angle))
        rise = dy * np.sin(slope_rad)
        metres = level_metres(np.sqrt(1 - rise * rise), rise)
        assert snow.pace(dx, dy) == pytest.approx(float(1.0 / metres), rel=1e-9)
