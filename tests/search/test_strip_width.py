from dataclasses import replace

import numpy as np
import pytest

from coldfield.beacon.field import moment_am2
from coldfield.beacon.hearing import Sources, hear
from coldfield.drill import Receiver, Transmitter
from coldfield.errors import OutOfModel
from coldfield.search.lateral_range import Pair, burial_samples, heard_share, heard_table
from coldfield.search.strip_width import edge_width_m

FACTORS = {1: (1.0,), 2: (1.0, 1.0), 3: (1.0, 1.0, 3.0)}


def pair(antennas: int = 3, range_m: float = 45.0, **more) -> Pair:
    receiver = Receiver(coaxial_range_m=range_m, antennas=antennas, antenna_factors=FACTORS[antennas])
    return Pair(receiver=receiver, transmitter=Transmitter(), **more)


def simulated_share(case: Pair, lateral_m: float, count: int, seed: int) -> float:
    """Walk past so many random burials, pulse by pulse, through the public hearing function."""
    rng = np.random.default_rng(seed)
    axis = rng.normal(size=(count, 3))
    axis /= np.linalg.norm(axis, axis=1, keepdims=True)
    depth = np.exp(rng.normal(np.log(case.median_depth_m), case.depth_sigma, count))
    moment = float(moment_am2(case.transmitter.field_at_10m_a_per_m)) * axis
    sources = Sources(tuple(map(str, range(count))), np.stack([0 * depth, 0 * depth, -depth], axis=1), moment)
    first = rng.uniform(0, case.transmitter.period_s, count)
    heard = np.zeros(count, dtype=bool)
    reach = 1.05 * case.coaxial_range_m()
    for k in range(int(-reach / case.pulse_spacing_m()) - 1, int(reach / case.pulse_spacing_m()) + 2):
        north = 1.2 * (first + k * case.transmitter.period_s)
        point = np.stack([np.full(count, lateral_m), north, np.full(count, 1.0)], axis=1)
        shifted = Sources(sources.ids, sources.point_m - point, sources.moment_am2)
        heard |= hear(shifted, case.receiver, np.zeros(3), noise_rise_db=case.noise_rise_db).audible
    return float(heard.mean())


@pytest.mark.parametrize(
    ("antennas", "range_m", "lateral_m", "noise_db"),
    [
        (3, 45.0, 26.0, 0.0),
        (2, 45.0, 28.0, 3.0),
        (1, 45.0, 25.0, 0.0),
        (3, 45.0, 18.0, 14.0),
        (3, 4.0, 1.5, 0.0),
    ],
)
def test_independent_route_share_heard_by_walking_past_at_random(
    antennas, range_m, lateral_m, noise_db
) -> None:
    case = pair(antennas, range_m, noise_rise_db=noise_db)
    count = 3000
    share, error = heard_share(case, lateral_m, burial_samples(case))
    simulated = simulated_share(case, lateral_m, count, seed=antennas)
    assert 0.05 < share < 0.999
    assert simulated == pytest.approx(share, abs=4 * np.hypot(error, np.sqrt(share * (1 - share) / count)))


def test_independent_route_edge_width_by_walking_past_at_random() -> None:
    case = pair(3)
    width = edge_width_m(case, pod=0.9)
    simulated = simulated_share(case, width / 2, 4000, seed=11)
    assert simulated == pytest.approx(0.9, abs=4 * np.sqrt(0.09 / 4000))


@pytest.mark.parametrize("antennas", [1, 2, 3])
def test_contract_no_place_within_half_a_width_is_below_the_wanted_chance(antennas: int) -> None:
    case = pair(antennas)
    width = edge_width_m(case)
    inside = heard_table(case, np.linspace(0, width / 2 - 0.01, 60), burial_samples(case)).mean(axis=0)
    assert inside.min() >= 0.98
    assert heard_share(case, width / 2 + 0.1, burial_samples(case))[0] < 0.98


def test_property_edge_width_falls_with_noise_and_grows_with_the_moment() -> None:
    # 10^(-dB/60) and m^(1/3) hold for the static field of a set at the receiver's own height; depth,
    # carry height and the full field's slower fall bend both laws by some per cent.
    quiet = edge_width_m(pair())
    for rise in (3.0, 6.0, 10.0):
        assert edge_width_m(pair(noise_rise_db=rise)) == pytest.approx(quiet * 10 ** (-rise / 60), rel=0.05)
    strong = replace(pair(), transmitter=Transmitter(field_at_10m_a_per_m=2e-6))
    assert edge_width_m(strong) == pytest.approx(quiet * 2 ** (1 / 3), rel=0.05)


def test_property_equal_antennas_at_the_limits() -> None:
    # Every direction is heard to the coplanar range and none beyond the coaxial one; the set lies
    # some 2 m below the receiver, which shortens both ground distances a little.
    receiver = Receiver(coaxial_range_m=45.0, antenna_factors=(1.0, 1.0, 1.0))
    case = Pair(receiver=receiver, transmitter=Transmitter())
    assert edge_width_m(case, pod=0.9999) == pytest.approx(2 * case.coplanar_range_m(), rel=0.02)
    assert edge_width_m(case, pod=1e-6) == pytest.approx(2 * case.coaxial_range_m(), rel=0.005)


def test_property_turning_the_set_about_never_narrows_the_strip() -> None:
    for antennas in (1, 2, 3):
        case = pair(antennas)
        turning = replace(case, receiver=replace(case.receiver, turning=True))
        assert edge_width_m(turning) >= edge_width_m(case)


def test_contract_nothing_heard_on_the_lane_itself_has_no_width() -> None:
    assert edge_width_m(pair(range_m=1.5)) == 0.0


@pytest.mark.parametrize("pod", [0.0, -1.0, 1.0, 1.5, float("nan")])
def test_contract_a_chance_outside_its_range_is_refused(pod: float) -> None:
    with pytest.raises(OutOfModel):
        edge_width_m(pair(), pod=pod)


def test_contract_a_pair_outside_the_model_is_refused() -> None:
    with pytest.raises(OutOfModel, match="beyond 200 m"):
        edge_width_m(replace(pair(), receiver=Receiver(threshold_a_per_m=1e-12)))
    with pytest.raises(OutOfModel, match=r"even 0\.1 m"):
        edge_width_m(replace(pair(), receiver=Receiver(threshold_a_per_m=10.0)))
