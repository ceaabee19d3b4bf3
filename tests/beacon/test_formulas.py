"""The formulas in all their forms: plain numbers, arrays, compiled in both precisions."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numba import njit

from coldfield.beacon import compiled, formulas
from coldfield.beacon.envelope_detection import TABLE_STEP, antenna_probability, probability_table
from coldfield.beacon.field import (
    WAVENUMBER_PER_M,
    axial_field_a_per_m,
    broadside_field_a_per_m,
    dipole_field,
    harmonic_dipole_field,
)
from coldfield.beacon.hearing import Sources, carry_height_m, hear, line_azimuth_rad
from coldfield.beacon.hearing_kernel import hear_one
from coldfield.beacon.receiver import combined_amplitude_a_per_m, hearing_weights, raw_reading_m
from coldfield.drill import Receiver
from coldfield.rescue.player.receiver import carry_height_m as players_height_m
from coldfield.rescue.player.receiver import field_at
from coldfield.search.detection.kernel import pulse_chance
from coldfield.search.width.lateral_kernel import amplitude_squared

PLACE = st.tuples(*[st.floats(-60, 60)] * 3).filter(lambda v: np.linalg.norm(v) > 0.2)
MOMENT = st.tuples(*[st.floats(-0.02, 0.02)] * 3).filter(lambda v: np.linalg.norm(v) > 1e-4)
FACTORS = ((1.0,), (1.0, 1.0), (1.4, 1.0), (1.0, 1.2, 3.0), (2.0, 1.0, 1.5))
RECEIVERS = [
    Receiver(coaxial_range_m=40.0, antennas=len(f), antenna_factors=f, turning=turning)
    for f in FACTORS
    for turning in (False, True)
]


@njit
def parts_in_a_loop(d, m, kr2, out):  # type: ignore[no-untyped-def]
    for i in range(len(d)):
        r2 = d[i, 0] * d[i, 0] + d[i, 1] * d[i, 1] + d[i, 2] * d[i, 2]
        out[i] = np.array(
            compiled.dipole_parts(d[i, 0], d[i, 1], d[i, 2], m[0], m[1], m[2], m.dtype.type(1) / r2, kr2[i])
        )


@njit
def height_in_a_loop(reading):  # type: ignore[no-untyped-def]
    return compiled.carry_height_m(reading, 1.0)


@njit
def value_in_a_loop(table, step, at):  # type: ignore[no-untyped-def]
    return compiled.table_value(table, step, at)


def test_independent_route_the_parts_are_jacksons_field() -> None:
    import sympy

    # The curl of the curl of m exp(ikr) / (4 pi r), by symbolic algebra, against p - i kr s; 1e-12.
    x, y, z, k = sympy.symbols("x y z k", real=True)
    m = sympy.Matrix([sympy.Rational(3, 10), sympy.Rational(-7, 10), sympy.Rational(1, 2)])
    r = sympy.sqrt(x**2 + y**2 + z**2)
    potential = m * sympy.exp(sympy.I * k * r) / (4 * sympy.pi * r)

    def curl(f: sympy.Matrix) -> sympy.Matrix:
        return sympy.Matrix(
            [
                sympy.diff(f[2], y) - sympy.diff(f[1], z),
                sympy.diff(f[0], z) - sympy.diff(f[2], x),
                sympy.diff(f[1], x) - sympy.diff(f[0], y),
            ]
        )

    field = sympy.lambdify((x, y, z, k), curl(curl(potential)), "mpmath")
    for place in ((3.0, -2.0, 5.0), (-40.0, 11.0, 0.7), (0.2, 0.1, -0.3)):
        expected = np.array(field(*place, WAVENUMBER_PER_M).tolist(), dtype=np.complex128).ravel()
        r2 = float(np.dot(place, place))
        kr = WAVENUMBER_PER_M * np.sqrt(r2)
        got = np.array(formulas.dipole_parts(*place, *map(float, m), 1.0 / r2, kr * kr))
        ours = np.exp(1j * kr) * (got[:3] - 1j * kr * got[3:]) / (4 * np.pi * r2**1.5)
        np.testing.assert_allclose(ours, expected, rtol=0, atol=1e-12 * np.linalg.norm(expected))


@given(place=PLACE, moment=MOMENT)
@settings(max_examples=60, deadline=None)
def test_contract_all_forms_of_the_field_are_one(place, moment) -> None:  # type: ignore[no-untyped-def]
    # Plain numbers, array functions, the compiled loop and the player's own algebra: 1e-12 of the size.
    d, m = np.array([place]), np.array(moment)
    r2 = (d * d).sum(axis=1)
    whole = harmonic_dipole_field(m, d)[0]
    size = np.linalg.norm(whole)
    phase = np.exp(-1j * WAVENUMBER_PER_M * np.sqrt(r2[0]))
    plain = formulas.field_but_for_phase(*place, *moment, WAVENUMBER_PER_M)
    out = np.empty((1, 6))
    parts_in_a_loop(d, m, WAVENUMBER_PER_M**2 * r2, out)
    kr = WAVENUMBER_PER_M * np.sqrt(r2[0])
    loop = (out[0, :3] - 1j * kr * out[0, 3:]) / (4 * np.pi * r2[0] ** 1.5)
    for form in (plain, loop, field_at(moment, place)):
        np.testing.assert_allclose(form, whole * phase, rtol=0, atol=1e-12 * size)
    static = dipole_field(m, d)[0]
    np.testing.assert_allclose(
        out[0, 3:] / (4 * np.pi * r2[0] ** 1.5), static, rtol=0, atol=1e-12 * np.linalg.norm(static)
    )


def test_contract_single_precision_stays_single() -> None:
    # A literal of double precision would make the grid's loops twice as slow.
    rng = np.random.default_rng(5)
    d, m = rng.normal(0, 20, (50, 3)), rng.normal(0, 1, 3)
    kr2 = WAVENUMBER_PER_M**2 * (d * d).sum(axis=1)
    double, single = np.empty((50, 6)), np.empty((50, 6), dtype=np.float32)
    parts_in_a_loop(d, m, kr2, double)
    parts_in_a_loop(*(a.astype(np.float32) for a in (d, m, kr2)), single)
    np.testing.assert_allclose(single, double, rtol=0, atol=2e-6 * np.abs(double).max())
    assert all(
        isinstance(one, np.float32)
        for one in formulas.dipole_parts(*np.float32([1, 2, 3, 4, 5, 6]), np.float32(1 / 14), np.float32(0.1))
    )


@pytest.mark.parametrize("distance", [0.3, 10.0, 45.0, 120.0])
def test_contract_axis_and_broadside_are_cases_of_the_field(distance: float) -> None:
    on, beside = np.linalg.norm(
        harmonic_dipole_field([0, 0, 1], [[0, 0, distance], [distance, 0, 0]]), axis=1
    )
    assert float(axial_field_a_per_m(1.0, distance)) == pytest.approx(on, rel=1e-12)
    assert float(broadside_field_a_per_m(1.0, distance)) == pytest.approx(beside, rel=1e-12)


@given(place=PLACE, moment=MOMENT, heading=st.floats(0, 6.3), which=st.integers(0, len(RECEIVERS) - 1))
@settings(max_examples=150, deadline=None)
def test_contract_what_antennas_hear_is_one_in_arrays_and_loops(place, moment, heading, which) -> None:  # type: ignore[no-untyped-def]
    # 1e-12 of the whole field: near a null of the antennas no form is more precise.
    receiver = RECEIVERS[which]
    field = harmonic_dipole_field(moment, place)
    size2 = float(np.linalg.norm(field)) ** 2
    sources = Sources(("A",), np.zeros((1, 3)), np.array([moment]))
    heard = hear(sources, receiver, place, heading_rad=heading)
    weights = hearing_weights(receiver)
    size, square, level, even, odd = hear_one(*place, *moment, np.sin(heading), np.cos(heading), weights)
    amplitude = float(combined_amplitude_a_per_m(receiver, field, heading))
    assert size == pytest.approx(size2, rel=1e-12)
    assert float(heard.magnitude_a_per_m[0]) ** 2 == pytest.approx(size2, rel=1e-12)
    assert abs(square - amplitude**2) < 1e-12 * size2
    along = abs(field[0] * np.sin(heading) + field[1] * np.cos(heading)) / receiver.antenna_factors[0]
    beside = abs(field[0] * np.cos(heading) - field[1] * np.sin(heading))
    beside /= receiver.antenna_factors[min(1, receiver.antennas - 1)]
    assert abs(level - along**2 - beside**2) < 1e-12 * size2
    line = 0.5 * np.arctan2(odd, even)
    strength = np.hypot(odd, even)
    twist = abs(np.exp(2j * line) - np.exp(2j * line_azimuth_rad(field)))
    level_size = abs(field[0]) ** 2 + abs(field[1]) ** 2
    scale = 16 * np.pi**2 * np.linalg.norm(place) ** 6
    assert twist * strength < 1e-11 * scale * max(level_size, 1e-3 * size2)


@pytest.mark.parametrize("receiver", RECEIVERS, ids=lambda r: f"{r.antenna_factors}{r.turning}")
def test_contract_the_lane_kernel_hears_what_the_others_hear(receiver: Receiver) -> None:
    rng, weights = np.random.default_rng(1), hearing_weights(receiver)
    for _ in range(40):
        place, moment = rng.normal(0, 20, 3), rng.normal(0, 1, 3)
        _, square, _, _, _ = hear_one(*place, *moment, 0.0, 1.0, weights)
        size2 = np.linalg.norm(harmonic_dipole_field(moment, place)) ** 2
        assert abs(amplitude_squared(*place, moment, weights) - square) < 1e-12 * size2


@pytest.mark.parametrize("receiver", RECEIVERS, ids=lambda r: f"{r.antenna_factors}{r.turning}")
def test_contract_the_raster_detects_what_the_receiver_detects(receiver: Receiver) -> None:
    from coldfield.beacon.envelope_detection import noise_a_per_m
    from coldfield.beacon.receiver import pulse_probability, threshold_a_per_m
    from coldfield.drill import SKILLS, Searcher
    from coldfield.search.detection.raster import _weights

    noise = noise_a_per_m(threshold_a_per_m(receiver), receiver.antennas)
    turning = 1.0 if receiver.turning else 0.0
    day = np.array([noise, 100.0, WAVENUMBER_PER_M, TABLE_STEP, 1.0, turning])
    who = Searcher(id="s", name="s", skill=SKILLS["practised"], receiver=receiver)
    rng = np.random.default_rng(2)
    for _ in range(60):
        place, heading = rng.normal(0, 15, 3), rng.uniform(0, 6)
        moment = 0.006 * rng.normal(0, 1, 3)
        ahead = np.sin(heading), np.cos(heading)
        got = pulse_chance(*place, *ahead, moment, _weights(who), day, probability_table(receiver.antennas))
        field = harmonic_dipole_field(moment, place)
        assert got == pytest.approx(float(pulse_probability(receiver, field, heading_rad=heading)), abs=1e-9)


def test_contract_the_carry_height_is_one_everywhere() -> None:
    readings = np.concatenate([np.linspace(0.1, 20.0, 4001), [3.0, 10.0, np.inf]])
    arrays = carry_height_m(readings)
    for reading, expected in zip(readings.tolist(), arrays.tolist(), strict=True):
        assert formulas.carry_height_m(reading, 1.0) == pytest.approx(expected, abs=1e-12)
        assert height_in_a_loop(reading) == pytest.approx(expected, abs=1e-12)
        assert players_height_m(reading) == pytest.approx(expected, abs=1e-12)
    assert formulas.carry_height_m(6.5, 0.3) == 0.3


@given(at=st.floats(0, 15))
def test_contract_the_detection_table_reads_as_numpys_interpolation(at: float) -> None:
    table = probability_table(3)
    expected = float(antenna_probability(at, 3))
    assert value_in_a_loop(table, TABLE_STEP, at) == pytest.approx(expected, abs=1e-12)
    assert formulas.table_value(table, TABLE_STEP, at) == pytest.approx(expected, abs=1e-12)


def test_contract_numbers_and_arrays_read_alike() -> None:
    receiver = Receiver(coaxial_range_m=45.0)
    sizes = np.geomspace(1e-9, 1e-2, 50)
    arrays = raw_reading_m(receiver, sizes)
    from coldfield.beacon.receiver import reference_moment_am2

    plain = [formulas.reading_m(reference_moment_am2(receiver), s) for s in sizes.tolist()]
    np.testing.assert_allclose(plain, arrays, rtol=1e-13)
