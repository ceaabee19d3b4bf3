from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from amount import examples
from coldfield.beacon.field import moment_am2
from coldfield.beacon.hearing import Sources, hear
from coldfield.drill import Receiver, Transmitter
from coldfield.errors import OutOfModel
from coldfield.search.width.lateral_range import (
    Pair,
    burial_samples,
    direction_chances,
    heard_share,
    heard_table,
    lateral_curve,
)
from coldfield.search.width.strip_width import (
    chance_at_width,
    edge_width_error_m,
    edge_width_m,
    meier_estimate_m,
    sweep_width_error_m,
    sweep_width_m,
    weakest_of,
)
from published import published

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
    for rise in (3.0, 10.0):
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
    for antennas in (1, 3):
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


def level_world(range_m: float = 12.0, factors: tuple[float, ...] = (1.0, 1.0, 1.0)) -> Pair:
    """Set and receiver at one height, pulses dense, close enough for the static field: closed forms hold."""
    receiver = Receiver(coaxial_range_m=range_m, antennas=len(factors), antenna_factors=factors)
    return Pair(
        receiver=receiver,
        transmitter=Transmitter(period_s=0.05),
        median_depth_m=1e-3,
        depth_sigma=1e-6,
        height_m=0.0,
    )


def test_independent_route_sweep_width_of_equal_antennas_by_geometry() -> None:
    # Static field, set and receiver in one plane: |H| = threshold on r^6 = R^6 (1 + 3 c^2) / 4 with
    # c = s cos(phi - psi), s the level part of the axis; a lane at x hears it if x < max r cos(phi).
    # Averaged over the sphere by a product rule. At 12 m the full field is static to 0.7 %, a third
    # of that in the range.
    node, weight = np.polynomial.legendre.leggauss(40)
    psi = (np.arange(80) + 0.5) * np.pi / 80
    phi = np.linspace(-np.pi / 2, np.pi / 2, 2001)
    level = np.sqrt(1 - node**2)
    c = level[:, None, None] * np.cos(phi - psi[None, :, None])
    reach = np.max(((1 + 3 * c**2) / 4) ** (1 / 6) * np.cos(phi), axis=-1)
    mean = float(weight @ reach.mean(axis=1)) / 2
    case = level_world()
    assert sweep_width_m(lateral_curve(case)) == pytest.approx(2 * 12.0 * mean, rel=5e-3)


def test_independent_route_sweep_width_of_one_antenna_by_geometry() -> None:
    # One antenna along the lane hears |3 n_y (n.u) - u_y| / 2 r^3: r^3 = R^3 |3 cos(a) c - u_y| / 2.
    rng = np.random.default_rng(2)
    axis = rng.normal(size=(5_000, 3))
    axis /= np.linalg.norm(axis, axis=1, keepdims=True)
    phi = np.linspace(-np.pi / 2, np.pi / 2, 361)
    n_x, n_y = np.cos(phi), np.sin(phi)
    seen = np.abs(3 * n_y * (axis[:, :1] * n_x + axis[:, 1:2] * n_y) - axis[:, 1:2]) / 2
    reach = np.max(np.cbrt(seen) * np.cos(phi), axis=1)
    case = level_world(factors=(1.0,))
    error = 2 * 12.0 * reach.std() / np.sqrt(len(reach))
    expected = 2 * 12.0 * reach.mean()
    assert sweep_width_m(lateral_curve(case)) == pytest.approx(expected, abs=4 * error + 0.005 * expected)


def test_property_sweep_width_is_the_mean_reach_twice() -> None:
    curve = lateral_curve(pair())
    assert sweep_width_m(curve) == pytest.approx(2 * curve.reach_m.mean(), rel=1e-9)


def test_contract_chances_at_a_width() -> None:
    case = pair()
    curve, edge = lateral_curve(case), edge_width_m(case)
    at_edge = chance_at_width(case, edge, curve)
    assert at_edge.worst_point_probability == pytest.approx(0.98, abs=1e-4)
    assert at_edge.mean_probability > 0.99
    beyond = chance_at_width(case, 120.0, curve)
    assert beyond.worst_point_probability == 0.0
    # All that is heard lies within the range: the mean is the sweep width over the width.
    assert beyond.mean_probability == pytest.approx(sweep_width_m(curve) / 120.0, rel=1e-6)
    for width in (0.0, -5.0, 500.0, float("nan")):
        with pytest.raises(OutOfModel):
            chance_at_width(case, width, curve)


def test_independent_route_mean_chance_by_walking_past_anywhere() -> None:
    case, width, count = pair(2, 30.0), 50.0, 300
    curve = lateral_curve(case)
    places = (np.arange(10) + 0.5) * width / 2 / 10
    mean = np.mean([simulated_share(case, x, count, seed=int(10 * x)) for x in places])
    # Ten strata with 300 burials each: binomial error at most 0.5 / sqrt(3000); strata 0.005 more.
    expected = chance_at_width(case, width, curve).mean_probability
    assert mean == pytest.approx(expected, abs=4 * 0.5 / np.sqrt(3000) + 0.005)


def test_contract_hardest_directions_are_nearly_upright() -> None:
    # The worst case is an upright set (Eck, Schober & Schreilechner, ISSW, text seen).
    case = pair()
    rows = {row.words: row for row in direction_chances(case, 0.5 * edge_width_m(case))}
    assert rows["upright"].probability < 0.5
    assert rows["level, along the lane"].probability == 1.0
    assert rows["level, across the lane"].probability == 1.0
    assert rows["worst of all"].probability <= rows["upright"].probability
    assert np.degrees(rows["worst of all"].tilt_rad) > 70


def test_property_stated_error_covers_other_samples() -> None:
    case = pair()
    width = edge_width_m(case)
    error = edge_width_error_m(case, width)
    assert 0 < error < 0.5
    coarse = edge_width_m(case, samples=8192)
    assert coarse == pytest.approx(
        width, abs=4 * 2 * error + 1e-3
    )  # a quarter of the samples: twice the error


def test_published_meiers_estimate() -> None:
    factor = published("strip_width")["meier_factor"]
    assert meier_estimate_m(40.0, 2.5) == pytest.approx(factor * 35.0)
    for figures in ((0.0, 0.0), (40.0, -1.0), (40.0, 20.0)):
        with pytest.raises(OutOfModel):
            meier_estimate_m(*figures)


def test_contract_the_weakest_pair_decides() -> None:
    pairs = [pair(3, 45.0), pair(1, 40.0), pair(3, 50.0)]
    weakest, width = weakest_of(pairs)
    assert weakest is pairs[1]
    assert width == edge_width_m(pairs[1])


@given(
    range_m=st.floats(3, 80),
    field=st.floats(0.5e-6, 2.2e-6),
    rise=st.floats(0, 20),
    more_db=st.floats(0.1, 10),
    stronger=st.floats(1.05, 2),
)
@examples(40)
def test_property_ranges_fall_with_noise_and_grow_with_the_moment(
    range_m, field, rise, more_db, stronger
) -> None:
    base = Pair(
        receiver=Receiver(coaxial_range_m=range_m),
        transmitter=Transmitter(field_at_10m_a_per_m=field),
        noise_rise_db=rise,
    )
    loud = replace(base, noise_rise_db=rise + more_db)
    strong = replace(base, transmitter=Transmitter(field_at_10m_a_per_m=stronger * field))
    for reach in (Pair.coaxial_range_m, Pair.coplanar_range_m):
        assert reach(loud) < reach(base) < reach(strong)
    assert base.coplanar_range_m() < base.coaxial_range_m()


def test_property_edge_width_falls_with_the_wanted_chance() -> None:
    widths = [edge_width_m(pair(), pod=p, samples=8192) for p in (1e-4, 0.1, 0.5, 0.9, 0.98, 0.999)]
    assert (np.diff(widths) < 0).all()


def test_property_stated_error_of_the_sweep_width_covers_other_samples() -> None:
    small, large = lateral_curve(pair(), samples=2048), lateral_curve(pair(), samples=32768)
    gap = abs(sweep_width_m(small) - sweep_width_m(large))
    assert gap < 4 * np.hypot(sweep_width_error_m(small), sweep_width_error_m(large)) + 0.02
    assert sweep_width_error_m(large) < sweep_width_error_m(small) < 1.0
