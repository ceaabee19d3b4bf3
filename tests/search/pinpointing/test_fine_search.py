from math import radians

import numpy as np
import pytest
from scipy.optimize import minimize

from coldfield.beacon.field import antenna_axis, dipole_field
from coldfield.drill import Receiver
from coldfield.errors import OutOfModel
from coldfield.search.pinpointing.fine_search import (
    BuriedSet,
    cross_readings,
    lowest_place,
    offset_table,
    probe_words,
    surface_readings_m,
)
from coldfield.words import say
from published import derived, published

VALUES = derived("fine_search")


def receiver(antennas: int) -> Receiver:
    return Receiver(coaxial_range_m=45.0, antennas=antennas, antenna_factors=(1.0, 1.0, 3.0)[:antennas])


def signal(buried: BuriedSet, antennas: int, east: np.ndarray, north: np.ndarray) -> np.ndarray:
    """What a reading stands for: 1 / r^3, the set on the snow itself."""
    return surface_readings_m(buried, receiver(antennas), east, north, height_m=0.0) ** -3.0


@pytest.mark.parametrize("antennas", [1, 2, 3])
def test_published_largest_offset_of_the_greatest_signal(antennas: int) -> None:
    # Two digits; 19 tilts miss the worst one by at most 2.5 deg, 0.4 % of the offset there. The full
    # field changes offsets by less than 1e-3 at 1 m.
    tilts = tuple(np.radians(np.append(np.arange(0, 91, 5), 12.53)))
    worst = max(
        place.share_of_depth for _, place in offset_table(1.0, receiver(antennas), tilts, height_m=0.0)
    )
    assert worst == pytest.approx(
        published("fine_search")["largest_offset_share_of_depth"][str(antennas)], abs=0.005
    )


def test_independent_route_worst_tilt_with_three_antennas() -> None:
    tilt = VALUES["worst_tilt_three_antennas_deg"]
    near = [lowest_place(BuriedSet(depth_m=1.0, tilt_rad=radians(t)), receiver(3), height_m=0.0).offset_m
            for t in (tilt - 3, tilt, tilt + 3)]  # fmt: skip
    assert near[1] == max(near)
    assert near[1] == pytest.approx(0.25, abs=5e-4)


def test_independent_route_offset_by_tilt() -> None:
    # Three printed digits; straight under a level set the signal is flat to the fourth order, so
    # the full field's 1e-5 moves the greatest by up to 1 % of the depth.
    for tilt, share in VALUES["offset_by_tilt"].items():
        place = lowest_place(BuriedSet(depth_m=1.0, tilt_rad=radians(float(tilt))), receiver(3), height_m=0.0)
        assert place.share_of_depth == pytest.approx(share, abs=0.01 if tilt == "0" else 6e-4)


def test_independent_route_double_maximum_over_an_upright_set_with_one_antenna() -> None:
    values, buried = VALUES["upright_set_one_level_antenna"], BuriedSet(depth_m=1.0, tilt_rad=radians(90))
    along, across = cross_readings(buried, receiver(1), height_m=0.0)
    step = along.along_m[1] - along.along_m[0]
    assert np.allclose(np.abs(along.dips_m), values["maxima"], atol=step)
    assert len(along.dips_m) == 2
    one, whole = signal(buried, 1, np.zeros(1), np.array([0.5])), signal(buried, 3, np.zeros(1), np.zeros(1))
    assert one[0] / whole[0] == pytest.approx(values["height"], abs=1e-3)
    middle = len(along.along_m) // 2
    assert along.reading_m[middle] > 5 * along.reading_m.min()  # a null overhead
    assert across is not None


def test_independent_route_three_maxima_over_a_level_set_with_a_parallel_antenna() -> None:
    values, buried = VALUES["level_set_parallel_antenna"], BuriedSet(depth_m=1.0, tilt_rad=0.0)
    along = cross_readings(buried, receiver(1), height_m=0.0)[0]
    step = along.along_m[1] - along.along_m[0]
    np.testing.assert_allclose(
        sorted(along.dips_m), [-values["side_maxima"], 0, values["side_maxima"]], atol=step
    )
    places = np.array([0.0, values["side_maxima"], values["nulls"]])
    main, side, null = signal(buried, 1, np.zeros(3), places)
    assert side / main == pytest.approx(values["height"], abs=1e-3)
    assert null / main < 1e-3


@pytest.mark.parametrize("tilt_deg", [5, 25, 70])
def test_independent_route_lowest_place_by_descent_on_the_static_field(tilt_deg: float) -> None:
    # Another field, another search: minus |H| of the static dipole, from a bad start.
    moment = antenna_axis(0.0, radians(tilt_deg))
    found = minimize(
        lambda p: -np.linalg.norm(dipole_field(moment, [p[0], p[1], 1.6])) * 1e3, [0.4, -0.5], method="Nelder-Mead",
        options={"xatol": 1e-7, "fatol": 1e-12},
    ).x  # fmt: skip
    place = lowest_place(BuriedSet(depth_m=1.5, tilt_rad=radians(tilt_deg)), receiver(3))
    np.testing.assert_allclose([place.east_m, place.north_m], found, atol=3e-3)


def test_property_depth_scales_the_picture() -> None:
    # Static to 1e-3 within 3 m: twice as deep, twice as far off.
    near, deep = (
        lowest_place(BuriedSet(depth_m=d, tilt_rad=0.5), receiver(3), height_m=0.0) for d in (1.0, 2.0)
    )
    assert deep.offset_m == pytest.approx(2 * near.offset_m, rel=0.01)


def test_contract_words_for_the_probe_name_the_ring() -> None:
    off = lowest_place(BuriedSet(depth_m=2.0, tilt_rad=radians(12.5)), receiver(3))
    assert off.hole_rings == 3
    assert "ring 3" in say(probe_words(off))
    straight = lowest_place(BuriedSet(depth_m=1.0, tilt_rad=radians(90)), receiver(3))
    assert say(probe_words(straight)) == "the first hole passes the set"


@pytest.mark.parametrize(
    ("buried", "height"),
    [(BuriedSet(depth_m=0.0, tilt_rad=0.0), 0.1), (BuriedSet(depth_m=-1.0, tilt_rad=0.0), 0.1),
     (BuriedSet(depth_m=0.05, tilt_rad=0.0), 0.0), (BuriedSet(depth_m=1.0, tilt_rad=float("nan")), 0.1),
     (BuriedSet(depth_m=1.0, tilt_rad=0.0), -0.1)],
)  # fmt: skip
def test_contract_outside_the_model_is_refused(buried: BuriedSet, height: float) -> None:
    with pytest.raises(OutOfModel):
        lowest_place(buried, receiver(3), height_m=height)
