from math import radians

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from amount import examples
from coldfield.beacon.field import harmonic_dipole_field, moment_am2
from coldfield.beacon.hearing import (
    Sources,
    carried_point_m,
    carry_height_m,
    hear,
    line_azimuth_rad,
    sources_of,
)
from coldfield.beacon.receiver import raw_reading_m
from coldfield.drill import Antenna, Burial, Receiver, Transmitter
from coldfield.drill.terrain import Plane

RECEIVER = Receiver(coaxial_range_m=45.0)


def burial(
    name: str = "A", *, depth_m: float = 0.8, azimuth_deg: float = 40, tilt_deg: float = 10, **more
) -> Burial:
    keys: dict = {"position_m": (22.0, 41.0), "transmitter": Transmitter(), "body_azimuth_rad": 0.0} | more
    antenna = Antenna(azimuth_rad=radians(azimuth_deg), tilt_rad=radians(tilt_deg))
    return Burial(id=name, depth_m=depth_m, antenna=antenna, **keys)


def test_contract_burials_without_a_set_are_no_sources() -> None:
    sources = sources_of([burial("A"), burial("B", transmitter=None), burial("C")], Plane())
    assert sources.ids == ("A", "C")
    assert sources.point_m.shape == sources.moment_am2.shape == (2, 3)
    assert sources_of([], Plane()).point_m.shape == (0, 3)


def test_contract_depth_is_at_right_angles_to_the_slope() -> None:
    slope = Plane(slope_rad=radians(30), aspect_rad=0.0)
    point = sources_of([burial(depth_m=2.0)], slope).point_m[0]
    surface = slope.at((22.0, 41.0))
    assert np.linalg.norm(point - surface) == pytest.approx(2.0)
    np.testing.assert_allclose((surface - point) / 2.0, slope.normal(), atol=1e-12)


def test_contract_each_set_is_heard_alone_and_shapes_hold() -> None:
    both = sources_of([burial("A"), burial("B", position_m=(50.0, 60.0), tilt_deg=80)], Plane())
    points = np.broadcast_to([30.0, 45.0, 1.0], (4, 5, 3))
    heard = hear(both, RECEIVER, points)
    assert heard.reading_m.shape == heard.audible.shape == (4, 5, 2)
    alone = hear(sources_of([burial("A")], Plane()), RECEIVER, points)
    np.testing.assert_array_equal(heard.reading_m[..., :1], alone.reading_m)


def test_contract_silence_has_neither_reading_nor_direction() -> None:
    heard = hear(sources_of([burial()], Plane()), RECEIVER, [22.0, 141.0, 1.0])
    assert not heard.audible[0]
    assert np.isnan(heard.reading_m[0])
    assert np.isnan(heard.direction_rad[0])


def test_contract_heard_without_direction_beside_an_upright_set() -> None:
    # In the plane of an upright set the field is vertical: it is heard without a direction.
    r = Receiver(coaxial_range_m=45.0, antenna_factors=(1.0, 1.0, 1.0))
    heard = hear(sources_of([burial(tilt_deg=90)], Plane()), r, [42.0, 41.0, -0.8])
    assert heard.audible[0]
    assert heard.reading_m[0] > 0
    assert np.isnan(heard.direction_rad[0])


def test_independent_route_direction_is_where_the_level_field_swings_widest() -> None:
    # Follow the field through one period to the time of its greatest horizontal part.
    sources = sources_of([burial(azimuth_deg=75, tilt_deg=35)], Plane())
    for place in ([40.0, 60.0, 1.0], [0.0, 20.0, 1.0], [60.0, 41.0, 1.0]):
        heard = hear(sources, Receiver(coaxial_range_m=100.0), place)
        h = heard.field_a_per_m[0]
        turn = np.exp(-1j * np.linspace(0, 2 * np.pi, 20001))
        swing = (h[:2, None] * turn).real
        widest = swing[:, np.argmax(np.sum(swing**2, axis=0))]
        azimuth = np.arctan2(widest[0], widest[1]) % np.pi
        gap = abs(azimuth - heard.direction_rad[0])
        assert min(gap, np.pi - gap) < 1e-3


@given(azimuth=st.floats(0, 3.1), phase=st.floats(0, 6.28), size=st.floats(1e-9, 1e-6))
@examples(50)
def test_property_line_of_a_field_without_roundness_is_its_azimuth(azimuth, phase, size) -> None:
    h = size * np.exp(1j * phase) * np.array([np.sin(azimuth), np.cos(azimuth), 0.4])
    gap = abs(line_azimuth_rad(h).item() - azimuth)
    assert min(gap, np.pi - gap) < 1e-6


def test_contract_reading_is_the_static_law_of_the_receivers_reference() -> None:
    sources = Sources(("A",), np.zeros((1, 3)), np.array([[0.0, float(moment_am2(1e-6)), 0.0]]))
    heard = hear(sources, RECEIVER, [0.0, 5.0, 0.0])
    size = np.linalg.norm(harmonic_dipole_field(sources.moment_am2[0], [0.0, 5.0, 0.0]))
    assert heard.magnitude_a_per_m[0] == pytest.approx(size, rel=1e-12)
    assert heard.reading_m[0] == pytest.approx(raw_reading_m(RECEIVER, size), abs=0.05)
    assert heard.reading_m[0] == 5.0


def test_contract_carry_height_follows_the_reading() -> None:
    # Common practice, no source: 1.0 m far away, the surface from 3 m on.
    np.testing.assert_allclose(carry_height_m([50, 10, 6.5, 3, 1]), [1.0, 1.0, 0.55, 0.1, 0.1])


@pytest.mark.parametrize("place", [(22.0, 41.0), (26.0, 41.0), (22.0, 33.0), (60.0, 41.0), (300.0, 0.0)])
def test_property_carried_height_agrees_with_the_reading_found_there(place) -> None:
    sources = sources_of([burial()], Plane())
    point, height = carried_point_m(sources, RECEIVER, Plane(), place)
    heard = hear(sources, RECEIVER, point)
    raw = raw_reading_m(RECEIVER, heard.magnitude_a_per_m[0]) if heard.audible[0] else np.nan
    # Eight rounds, each to a fifth of the error or better, from at most 0.9 m.
    assert height == pytest.approx(carry_height_m(raw).item(), abs=1e-5)


@given(
    rise=st.floats(0, 20),
    more=st.floats(0.5, 10),
    east=st.floats(-40, 40),
    north=st.floats(-40, 40),
    antennas=st.integers(1, 3),
)
@examples(50)
def test_property_more_noise_never_helps(rise, more, east, north, antennas) -> None:
    r = Receiver(coaxial_range_m=40.0, antennas=antennas, antenna_factors=(1.0, 1.0, 3.0)[:antennas])
    sources = sources_of([burial(position_m=(0.0, 0.0))], Plane())
    quiet = hear(sources, r, [east, north, 1.0], noise_rise_db=rise)
    loud = hear(sources, r, [east, north, 1.0], noise_rise_db=rise + more)
    assert quiet.audible[0] or not loud.audible[0]
