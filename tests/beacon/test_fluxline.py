from math import radians

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from amount import examples
from coldfield.beacon.field import dipole_field, moment_am2
from coldfield.beacon.fluxline import ENDS, true_flux_line_m, walked_flux_line
from coldfield.beacon.hearing import Sources, carried_point_m, hear, sources_of
from coldfield.drill import Antenna, Burial, Receiver, Transmitter
from coldfield.drill.terrain import Plane
from coldfield.errors import OutOfModel
from published import derived

RECEIVER = Receiver(coaxial_range_m=45.0)


def source(
    azimuth_deg: float = 0.0, tilt_deg: float = 0.0, depth_m: float = 0.8, plane: Plane | None = None
) -> Sources:
    burial = Burial(
        id="A",
        position_m=(0.0, 0.0),
        depth_m=depth_m,
        antenna=Antenna(azimuth_rad=radians(azimuth_deg), tilt_rad=radians(tilt_deg)),
        transmitter=Transmitter(),
        body_azimuth_rad=0.0,
    )
    return sources_of([burial], plane or Plane())


def test_independent_route_true_line_is_the_integral_curve_of_the_static_field() -> None:
    m, start = np.array([0.2, -0.4, 0.9]), np.array([6.0, 3.0, 1.0])
    line = true_flux_line_m(m, start, points=721)

    def along(_s: float, at: np.ndarray) -> np.ndarray:
        h = dipole_field(m, at)
        return h / np.linalg.norm(h)

    walked = solve_ivp(along, (0, 6.0), start, rtol=1e-10, atol=1e-12).y.T
    # The closed form's points lie at most 0.03 m apart; a chord leaves the curve by 0.03^2 / 8 r.
    gaps = [np.linalg.norm(line - at, axis=1).min() for at in walked]
    assert max(gaps) < 0.03
    reach = np.linalg.norm(line, axis=1).max()
    sine = np.linalg.norm(np.cross(walked, m / np.linalg.norm(m)), axis=1) / np.linalg.norm(walked, axis=1)
    np.testing.assert_allclose(np.linalg.norm(walked, axis=1), reach * sine**2, rtol=1e-8)


def test_independent_route_true_line_has_the_length_of_the_textbook() -> None:
    line = true_flux_line_m([0, 0, 1], [10.0, 0, 0], points=20001)
    length = np.linalg.norm(np.diff(line, axis=0), axis=1).sum() / 2
    assert length == pytest.approx(10 * derived("magnetic_dipole")["flux_line_length_over_reach"], abs=0.005)


def test_independent_route_walk_in_the_plane_of_a_level_set_is_r_over_sine_squared() -> None:
    # A set at the height of the searcher's own: no depth, so the walk stays in the dipole's plane,
    # where the static line is r = L sin^2(theta). Kept within 12 m, where the full field differs by
    # less than 1 %; the direction, a ratio of two parts that differ by that, by half of it.
    sources = Sources(("A",), np.array([[0.0, 0.0, 1.0]]), np.array([[0.0, float(moment_am2(1e-6)), 0.0]]))
    flux = walked_flux_line(sources, 0, Plane(), (12.0, 0.5), RECEIVER)
    r = np.linalg.norm(flux.line_m, axis=1)
    far = r > 8.5  # the reading is then above 10 m, the set carried at 1.0 m
    reach = r**3 / flux.line_m[:, 0] ** 2
    assert far.sum() > 5
    np.testing.assert_allclose(reach[far], reach[0], rtol=0.01)


@pytest.mark.parametrize("tilt_deg", [0, 35, 90])
@pytest.mark.parametrize("start", [(20.0, 8.0), (-4.0, 14.0), (15.0, -15.0)])
def test_contract_the_walk_follows_what_the_receiver_shows(
    tilt_deg: float, start: tuple[float, float]
) -> None:
    sources, plane = source(30, tilt_deg), Plane()
    flux = walked_flux_line(sources, 0, plane, start, RECEIVER)
    assert flux.ended in ENDS[:2]
    steps = np.diff(flux.line_m, axis=0)
    walked = np.arctan2(steps[:, 0], steps[:, 1])
    middle = 0.5 * (flux.line_m[1:] + flux.line_m[:-1])
    point, _ = carried_point_m(sources, RECEIVER, plane, middle)
    shown = hear(sources, RECEIVER, point).direction_rad[:, 0]
    gap = np.mod(walked - shown + np.pi / 2, np.pi) - np.pi / 2
    # A chord of 0.5 m against the line in its middle; the bend is at most 1 / r, here r > 2 m.
    assert np.abs(gap).max() < 0.02
    np.testing.assert_allclose(
        flux.reading_m,
        hear(sources, RECEIVER, carried_point_m(sources, RECEIVER, plane, flux.line_m)[0]).reading_m[:, 0],
    )


def test_contract_the_shorter_of_the_two_ways_is_taken() -> None:
    sources, plane = source(60, 20), Plane()
    ways = [walked_flux_line(sources, 0, plane, (14.0, 18.0), RECEIVER, sense) for sense in (1, -1)]
    best = walked_flux_line(sources, 0, plane, (14.0, 18.0), RECEIVER)
    arrived = [way.length_m for way in ways if way.ended in ENDS[:2]]
    assert best.length_m == min(arrived)
    assert np.linalg.norm(best.line_m[-1]) < 4.0
    assert best.reading_m[-1] == 3.0


@given(
    azimuth=st.floats(0, 360), tilt=st.floats(-90, 90), bearing=st.floats(0, 6.28), distance=st.floats(5, 25)
)
@examples(12)
def test_property_a_walk_is_at_least_as_long_as_the_way_it_makes(azimuth, tilt, bearing, distance) -> None:
    start = distance * np.array([np.sin(bearing), np.cos(bearing)])
    flux = walked_flux_line(source(azimuth, tilt), 0, Plane(), start, RECEIVER)
    assert flux.length_m >= np.linalg.norm(flux.line_m[-1] - start) - 1e-6
    assert len(flux.line_m) == len(flux.reading_m) == len(flux.direction_rad) == len(flux.walked_s)
    assert (np.diff(flux.walked_s) > 0).all()


def test_property_turning_drill_and_start_turns_the_walk() -> None:
    turn = radians(50)
    spin = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    here = walked_flux_line(source(20, 30), 0, Plane(), (16.0, 9.0), RECEIVER)
    there = walked_flux_line(source(70, 30), 0, Plane(), spin @ [16.0, 9.0], RECEIVER)
    assert here.length_m == pytest.approx(there.length_m, abs=2e-3)
    np.testing.assert_allclose(here.line_m[-1] @ spin.T, there.line_m[-1], atol=2e-3)


def test_contract_lengths_are_measured_on_the_snow() -> None:
    slope = Plane(slope_rad=radians(30), aspect_rad=radians(180))
    flux = walked_flux_line(source(0, 0, plane=slope), 0, slope, (3.0, 20.0), RECEIVER)
    assert flux.length_m == pytest.approx(slope.length_m(flux.line_m), rel=1e-12)
    assert flux.length_m > 1.08 * np.linalg.norm(np.diff(flux.line_m, axis=0), axis=1).sum()


def test_contract_out_of_earshot_the_walk_is_a_point() -> None:
    flux = walked_flux_line(source(), 0, Plane(), (0.0, 90.0), RECEIVER)
    assert (flux.ended, flux.length_m, len(flux.line_m)) == ("not heard", 0.0, 1)
    assert np.isnan(flux.reading_m).all()


@pytest.mark.parametrize("start", [(np.nan, 0.0), (1.0, 2.0, 3.0)])
def test_contract_a_start_that_is_no_point_is_refused(start) -> None:
    with pytest.raises(OutOfModel):
        walked_flux_line(source(), 0, Plane(), start, RECEIVER)


@pytest.mark.parametrize("offset", [(0.0, 0.0, 2.0), (0.0, 0.0, 0.0)])
def test_contract_no_true_line_through_the_axis(offset) -> None:
    with pytest.raises(OutOfModel):
        true_flux_line_m([0, 0, 1], offset)


@pytest.mark.parametrize("sense", [1, -1])
@pytest.mark.parametrize("azimuth_deg", [20, 75, 130])
def test_property_a_walk_never_turns_back_on_itself(azimuth_deg: float, sense: int) -> None:
    # The two ways along a line differ in the part of the field that never reverses, even where the full field
    # differs from the static one (here up to 110 m).
    far = Receiver(coaxial_range_m=120.0)
    sources = source(azimuth_deg, 15)
    for bearing in np.arange(0.3, 6.28, 0.9):
        for distance in (12.0, 45.0, 85.0):
            start = distance * np.array([np.sin(bearing), np.cos(bearing)])
            flux = walked_flux_line(sources, 0, Plane(), start, far, sense)
            turns = np.mod(np.diff(flux.direction_rad) + np.pi, 2 * np.pi) - np.pi
            assert np.abs(turns).max(initial=0.0) < 0.5  # half a metre at most, the line bends 1 / r
            # 'With the field' means that a compass needle along the walk would point ahead.
            h = dipole_field(sources.moment_am2[0], np.append(start, 1.0) - sources.point_m[0])
            level = h[:2] @ [np.sin(flux.direction_rad[0]), np.cos(flux.direction_rad[0])]
            if distance < 40 and flux.ended not in ("not heard", "direction lost"):
                assert level * sense > 0
