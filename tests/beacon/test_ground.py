from importlib import import_module

import geoana.em.fdem
import numba
import numpy as np
import pytest

from amount import amount
from coldfield.beacon.field import FREQUENCY_HZ, harmonic_dipole_field
from coldfield.beacon.ground import (
    GROUNDS,
    PARTS,
    Ground,
    conducting_dipole_field,
    free_parts,
    ground_parts,
    layered_parts,
)
from coldfield.errors import OutOfModel

NEAR_M = np.array([1.5, 4.0, 10.0, 20.0, 36.0])


@pytest.fixture(autouse=True, scope="module")
def plain_empymod() -> None:
    """Have the first import of empymod leave its loops as Python: compiled, they take 20 s to begin with."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(numba.config, "DISABLE_JIT", True)
        import_module("empymod")


def largest(parts: dict[str, np.ndarray]) -> np.ndarray:
    return np.max([np.abs(part) for part in parts.values()], axis=0)


def test_independent_route_ground_that_does_not_conduct_is_free_space() -> None:
    # Our closed form against empymod's integrals over ground that is air; all signs and axes.
    near_m = NEAR_M[1 :: amount(4, desk=1)]
    air, free = layered_parts(near_m, [Ground(1e-9, 1.0)], []), free_parts(near_m)
    for name in PARTS:
        np.testing.assert_allclose(air[name], free[name], rtol=0, atol=1e-3 * np.abs(free[name]).max())


@pytest.mark.parametrize("words", GROUNDS)
def test_independent_route_ready_made_tables_against_empymod(words: str) -> None:
    # The tables were made by empymod's quadrature, here its digital filter computes afresh; the
    # filter is good to 1 % of the largest part up to 36 m.
    table, fresh = ground_parts(words, NEAR_M), layered_parts(NEAR_M, [GROUNDS[words]], [])
    for name in PARTS:
        assert (np.abs(table[name] - fresh[name]) / largest(fresh)).max() < 0.02


def test_from_memory_wet_ground_adds_a_quarter_at_10_m_and_takes_half_at_36_m() -> None:
    # Stated for an upright set on the snow over conducting ground; one digit each, from memory.
    over, free = ground_parts("wet soil", [10.0, 36.0]), free_parts(np.array([10.0, 36.0]))
    near, far = np.abs(over["upright"]) / np.abs(free["upright"])
    assert near == pytest.approx(1.25, abs=0.1)
    assert far == pytest.approx(0.6, abs=0.15)


def test_property_two_layers_of_one_ground_are_a_half_space() -> None:
    wet = GROUNDS["wet soil"]
    one, two = layered_parts(NEAR_M, [wet], []), layered_parts(NEAR_M, [wet, wet], [3.0])
    for name in PARTS:
        np.testing.assert_allclose(two[name], one[name], rtol=1e-6, atol=1e-15)


def test_property_deep_ground_hides_below_a_thick_layer() -> None:
    top, clay = GROUNDS["wet soil"], GROUNDS["bog or clay"]
    thick, half_space = layered_parts(NEAR_M, [top, clay], [200.0]), layered_parts(NEAR_M, [top], [])
    for name in PARTS:
        assert (np.abs(thick[name] - half_space[name]) / largest(half_space)).max() < 1e-3


@pytest.mark.parametrize("conductivity", [1e-12, 1e-3, 5e-2])
def test_independent_route_conducting_whole_space_is_geoanas(conductivity: float) -> None:
    medium = Ground(conductivity, 4.0)
    route = geoana.em.fdem.MagneticDipoleWholeSpace(
        FREQUENCY_HZ,
        sigma=conductivity,
        epsilon=4.0 * 8.8541878128e-12,
        moment=0.3,
        orientation=[0, 0.6, 0.8],
    )
    places = np.array([[3.0, -1.0, 2.0], [12.0, 5.0, -7.0], [30.0, 20.0, 1.0]])
    expected = np.conj(route.magnetic_field(places))
    got = conducting_dipole_field(0.3 * np.array([0, 0.6, 0.8]), places, medium)
    np.testing.assert_allclose(got, expected, rtol=1e-6, atol=1e-9 * np.abs(expected).max())


def test_property_a_medium_like_air_is_free_space() -> None:
    got = conducting_dipole_field([0, 0, 1], [[30.0, 4, 5]], Ground(1e-12, 1.0))
    np.testing.assert_allclose(got, harmonic_dipole_field([0, 0, 1], [[30.0, 4, 5]]), rtol=1e-6)


def test_contract_unknown_ground_and_far_distances_are_refused() -> None:
    with pytest.raises(OutOfModel, match="no ground"):
        ground_parts("lava", 10.0)
    for distance in (0.5, 200.0, np.nan):
        with pytest.raises(OutOfModel, match="from 1 to"):
            ground_parts("wet soil", distance)


@pytest.mark.parametrize(
    ("grounds", "thickness"),
    [([], []), ([Ground(1e-2, 10.0)], [1.0]), ([Ground(0.0, 10.0)], []), ([Ground(1e-2, 0.5)], []),
     ([Ground(1e-2, 10.0), Ground(1e-2, 10.0)], [-1.0])],
)  # fmt: skip
def test_contract_layers_that_cannot_be_are_refused(grounds, thickness) -> None:
    with pytest.raises(OutOfModel):
        layered_parts(NEAR_M, grounds, thickness)
