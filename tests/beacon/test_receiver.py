from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import minimize
from scipy.spatial.transform import Rotation
from scipy.stats import ncx2, rice

from amount import examples
from coldfield.beacon import envelope_detection as chance
from coldfield.beacon.field import harmonic_dipole_field
from coldfield.beacon.receiver import (
    antenna_factors,
    check_receiver,
    combined_amplitude_a_per_m,
    heard_probability,
    pulse_probability,
    raw_reading_m,
    reference_moment_am2,
    shown_reading_m,
    threshold_a_per_m,
)
from coldfield.drill import Receiver
from coldfield.errors import BadInput, OutOfModel
from published import derived

FACTORS = {1: (1.0,), 2: (1.0, 1.0), 3: (1.0, 1.0, 3.0)}


def receiver(antennas: int = 3, **more: object) -> Receiver:
    keys: dict = {"coaxial_range_m": 45.0, "antennas": antennas, "antenna_factors": FACTORS[antennas]}
    return Receiver(**(keys | more))


def coaxial_field(moment: float, distance_m: float) -> np.ndarray:
    return harmonic_dipole_field([0, moment, 0], [0, distance_m, 0])


@pytest.mark.parametrize("antennas", [1, 2, 3])
def test_property_threshold_is_met_at_the_measured_range(antennas: int) -> None:
    r = receiver(antennas)
    field = coaxial_field(reference_moment_am2(r), 45.0)
    assert combined_amplitude_a_per_m(r, field) == pytest.approx(threshold_a_per_m(r), rel=1e-12)


def test_independent_route_range_against_noise() -> None:
    # Three printed digits. At 5 m the full field is static to 0.1 %.
    r = Receiver(coaxial_range_m=5.0)
    for rise, share in derived("magnetic_dipole")["range_share_by_noise_rise"].items():
        field = coaxial_field(reference_moment_am2(r), 5.0 * share)
        assert combined_amplitude_a_per_m(r, field) == pytest.approx(
            threshold_a_per_m(r, float(rise)), rel=0.006
        )


def test_contract_equal_factors_give_the_size_of_the_field() -> None:
    field = np.array([1 + 2j, -3j, 0.5])
    r = receiver(3, antenna_factors=(1.0, 1.0, 1.0))
    for heading in (0.0, 0.7, 3.0):
        amplitude = combined_amplitude_a_per_m(r, field, heading)
        assert amplitude == pytest.approx(np.sqrt(np.sum(np.abs(field) ** 2)), rel=1e-12)


def test_contract_one_antenna_hears_along_the_heading_two_hear_the_level_part() -> None:
    field = [3.0, 4.0, 12.0]
    assert combined_amplitude_a_per_m(receiver(1), field, np.pi / 2) == pytest.approx(3.0)
    assert combined_amplitude_a_per_m(receiver(1), field, 0.0) == pytest.approx(4.0)
    assert combined_amplitude_a_per_m(receiver(2), field, 0.3) == pytest.approx(5.0)
    assert combined_amplitude_a_per_m(receiver(3), field, 0.3) == pytest.approx(np.hypot(5.0, 4.0))


@pytest.mark.parametrize("antennas", [1, 2, 3])
def test_independent_route_turned_set_finds_the_best_way_to_be_held(antennas: int) -> None:
    # By search over all orientations of the set, from many starts.
    field = np.array([1.0 + 0.2j, -0.4 + 0.9j, 0.3 - 0.5j])
    factors = np.array({1: (1.0,), 2: (1.0, 2.0), 3: (1.0, 2.0, 5.0)}[antennas])

    def minus_amplitude(turn: np.ndarray) -> float:
        axes = Rotation.from_rotvec(turn).as_matrix()[:antennas]
        return -float(np.sqrt(np.sum(np.abs(axes @ field) ** 2 / factors**2)))

    rng = np.random.default_rng(1)
    best = min(minimize(minus_amplitude, rng.normal(0, 2, 3)).fun for _ in range(12))
    r = receiver(antennas, antenna_factors=tuple(factors), turning=True)
    assert combined_amplitude_a_per_m(r, field) == pytest.approx(-best, rel=1e-6)


def test_independent_route_reading_errors() -> None:
    # Static law on the axis: beside the set the reading is 2^(1/3) too large; for a set twice as strong it is
    # too small by the same factor.
    r = receiver()
    moment = reference_moment_am2(r)
    beside = np.linalg.norm(harmonic_dipole_field([0, 0, moment], [5.0, 0, 0]))
    ratio = derived("magnetic_dipole")["coaxial_to_coplanar_range"]
    # At 5 m the full field is static to 0.12 %, a third of that in the reading.
    assert raw_reading_m(r, beside) == pytest.approx(5.0 * ratio, rel=5e-4)
    strong = np.linalg.norm(coaxial_field(2 * moment, 5.0))
    assert raw_reading_m(r, strong) == pytest.approx(5.0 / ratio, rel=5e-4)


@given(raw=st.floats(0.1, 199))
@examples(50)
def test_property_shown_reading_keeps_within_half_a_step(raw: float) -> None:
    shown = shown_reading_m(raw).item()
    assert abs(shown - raw) <= (0.5 if raw >= 10 else 0.05) + 1e-9
    assert shown == round(shown, 1)
    assert raw < 10 or shown == round(shown)


def test_property_upright_range_sets_the_third_factor() -> None:
    # Heard at the threshold beside an upright set, at the range measured there.
    r = receiver(3, vertical_range_m=24.0)
    field = harmonic_dipole_field([0, 0, reference_moment_am2(r)], [24.0, 0, 0])
    assert combined_amplitude_a_per_m(r, field) == pytest.approx(threshold_a_per_m(r), rel=1e-12)
    assert antenna_factors(r)[2] > antenna_factors(receiver(3, vertical_range_m=30.0))[2]


BAD = [
    {"threshold_a_per_m": 1e-8},
    {"coaxial_range_m": None},
    {"coaxial_range_m": 0.0},
    {"coaxial_range_m": -3.0},
    {"coaxial_range_m": 250.0},
    {"coaxial_range_m": float("nan")},
    {"coaxial_range_m": None, "threshold_a_per_m": 0.0},
    {"coaxial_range_m": None, "threshold_a_per_m": -1e-9},
    {"reference_field_at_10m_a_per_m": 0.0},
    {"antennas": 4},
    {"antennas": 2},
    {"antenna_factors": (2.0, 2.0, 2.0)},
    {"antenna_factors": (0.5, 1.0, 1.0)},
    {"antennas": 2, "antenna_factors": (1.0, 1.0), "vertical_range_m": 20.0},
    {"vertical_range_m": 44.0},
]


@pytest.mark.parametrize("figures", BAD)
def test_contract_contradictory_figures_are_refused(figures: dict) -> None:
    with pytest.raises(BadInput):
        antenna_factors(replace(receiver(), **figures))


def test_contract_every_fault_is_named_at_once() -> None:
    with pytest.raises(BadInput) as caught:
        check_receiver(Receiver(reference_field_at_10m_a_per_m=-1.0, antennas=2))
    assert len(caught.value.texts()) == 3


@pytest.mark.parametrize("rise", [float("nan"), 200.0, -50.0])
def test_contract_noise_outside_the_model_is_refused(rise: float) -> None:
    with pytest.raises(OutOfModel):
        threshold_a_per_m(receiver(), rise)


@pytest.mark.parametrize("antennas", [1, 2, 3])
def test_independent_route_one_antenna_against_scipys_distributions(antennas: int) -> None:
    # Rice's survival function and the non-central chi-squared one: two routes to Marcum's Q.
    signal = np.array([0.05, 0.7, 2.3, 4.0, 5.123, 9.0])
    threshold = chance.threshold_ratio(antennas)
    got = chance.antenna_probability(signal, antennas)
    np.testing.assert_allclose(got, rice.sf(threshold, signal), atol=2e-6)
    np.testing.assert_allclose(got, ncx2.sf(threshold**2, 2, signal**2), atol=2e-6)


def test_independent_route_false_alarm_and_detection_by_simulation() -> None:
    # 400,000 pulses of noise and signal in two quadratures on three antennas; 4 standard errors.
    rng = np.random.default_rng(8)
    r = receiver(3, antenna_factors=(1.0, 1.5, 3.0))
    threshold = threshold_a_per_m(r)
    field = threshold * np.array([0.4, 0.8 + 0.1j, 0.7])
    sigma = chance.noise_a_per_m(threshold, 3)
    seen = np.array([field[1], field[0], field[2]]) / np.array([1.0, 1.5, 3.0])  # heading north
    count = 400_000
    for signal, expected in ((seen, pulse_probability(r, field).item()), (0 * seen, chance.FALSE_ALARM)):
        noise = sigma * (rng.normal(size=(count, 3)) + 1j * rng.normal(size=(count, 3)))
        share = np.mean((np.abs(signal + noise) > sigma * chance.threshold_ratio(3)).any(axis=1))
        assert share == pytest.approx(expected, abs=4 * np.sqrt(expected * (1 - expected) / count))


@pytest.mark.parametrize("antennas", [1, 2, 3])
def test_contract_measured_range_is_heard_with_nine_in_ten(antennas: int) -> None:
    r = receiver(antennas)
    at_range = heard_probability(r, coaxial_field(reference_moment_am2(r), 45.0))
    assert at_range == pytest.approx(0.9, abs=1e-4)


def test_property_chance_falls_with_distance_and_noise() -> None:
    r = receiver()
    fields = np.stack([coaxial_field(reference_moment_am2(r), d) for d in np.linspace(5, 90, 40)])
    quiet, loud = heard_probability(r, fields), heard_probability(r, fields, noise_rise_db=6.0)
    assert (np.diff(quiet) <= 0).all()
    assert (loud <= quiet).all()
    assert quiet[0] == pytest.approx(1.0)
    assert loud[-1] == pytest.approx(3 * chance.FALSE_ALARM**2, abs=3e-6)


def test_contract_only_one_to_three_antennas_have_a_threshold() -> None:
    with pytest.raises(OutOfModel):
        chance.threshold_ratio(4)
