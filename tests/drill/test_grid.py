from math import radians

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import ndimage

from amount import examples
from coldfield.drill.grid import Grid
from coldfield.drill.terrain import Plane
from coldfield.errors import OutOfModel

EAST, NORTH = np.arange(-60.0, 61.0, 10.0), np.arange(-40.0, 91.0, 10.0)
INSIDE = [[3.0, 7.5], [-41.0, 20.0], [30.0, -20.0]]
PLANES = st.builds(
    lambda slope, aspect: Plane(slope_rad=radians(slope), aspect_rad=radians(aspect)),
    st.floats(0.1, 50),
    st.floats(0, 359),
)


def net(east=EAST, north=NORTH):
    return np.stack(np.meshgrid(east, north), axis=-1)


def of_plane(plane: Plane) -> Grid:
    return Grid.over(EAST, NORTH, 1500.0 + plane.height_m(net()))


@examples(30)
@given(plane=PLANES)
def test_independent_route_a_grid_of_a_plane_is_that_plane(plane: Plane) -> None:
    grid = of_plane(plane)
    np.testing.assert_allclose(grid.height_m(INSIDE), plane.height_m(INSIDE), atol=1e-9)
    np.testing.assert_allclose(grid.normal(INSIDE), plane.normal(INSIDE), atol=1e-12)
    np.testing.assert_allclose(grid.at(INSIDE, -1.2), plane.at(INSIDE, -1.2), atol=1e-9)
    assert grid.length_m(INSIDE) == pytest.approx(plane.length_m(INSIDE), rel=1e-9)
    mean = grid.fitted([*INSIDE, [0.0, 0.0]]).mean
    assert mean.slope_rad == pytest.approx(plane.slope_rad, abs=1e-9)
    assert np.cos(mean.aspect_rad - plane.aspect_rad) == pytest.approx(1.0, abs=1e-9)


def test_property_nothing_is_known_outside_and_in_gaps() -> None:
    height = np.zeros((len(NORTH), len(EAST)))
    height[3, 4] = np.nan
    grid = Grid.over(EAST, NORTH, height)
    told = grid.height_m([[61.0, 0.0], [0.0, -41.0], [-18.0, -9.0], [20.0, 20.0]])
    assert np.isnan(told).tolist() == [True, True, True, False]


def test_independent_route_slope_of_real_ground_by_scipy_and_by_least_squares() -> None:
    from matplotlib import cbook

    # Heights at Jacksboro fault, Tennessee, cells of 3 arc seconds, from the sample data of matplotlib (not
    # kept here). scipy's Sobel filter is Horn's kernel times 8 cells; a plane fitted to 3 by 3 heights with
    # weights 1-2-1 has the same gradient by other algebra.
    with np.load(cbook.get_sample_data("jacksboro_fault_dem.npz", asfileobj=False)) as sample:
        # Its ymin and ymax are swapped: the first row is the northernmost.
        height, dx, dy = sample["elevation"][::-1].astype(float), float(sample["dx"]), float(sample["dy"])
        middle = 0.5 * (float(sample["ymin"]) + float(sample["ymax"]))
    metres = 111_200.0  # a degree of a great circle, to 0.2 %: any cell size would do here
    cell = np.array([dx * metres * np.cos(np.radians(middle)), dy * metres])
    ny, nx = height.shape
    grid = Grid.over(np.arange(nx) * cell[0], np.arange(ny) * cell[1], height)
    east, north = (ndimage.sobel(height, axis=a) / (8 * c) for a, c in ((1, cell[0]), (0, cell[1])))
    inner = (slice(1, -1), slice(1, -1))
    np.testing.assert_allclose(np.tan(grid.slope_rad())[inner], np.hypot(east, north)[inner], atol=1e-12)

    weight = np.sqrt(np.outer([1, 2, 1], [1, 2, 1]).ravel())
    sides = np.column_stack(
        [*(m.ravel() * c for m, c in zip(np.mgrid[-1:2, -1:2][::-1], cell, strict=True)), np.ones(9)]
    )
    for j, i in [(50, 60), (200, 311), (120, 8)]:
        window = height[j - 1 : j + 2, i - 1 : i + 2].ravel()
        gradient = np.linalg.lstsq(sides * weight[:, None], window * weight, rcond=None)[0][:2]
        place = [grid.east_m[i], grid.north_m[j]]
        np.testing.assert_allclose(grid.gradient(place), gradient, atol=1e-12)
    # Facts of that ground, from the map: ridges of the Cumberlands up to about 1,070 m.
    assert np.degrees(grid.slope_rad()).max() < 45
    assert 1000 < grid.elevation_m.max() < 1100


def test_property_contours_lie_at_their_height() -> None:
    hill = 100.0 * np.exp(-((net() / 50.0) ** 2).sum(axis=-1))
    grid = Grid.over(EAST, NORTH, hill)
    lines = grid.contours(20.0)
    assert {20.0, 40.0, 60.0, 80.0} <= {level for level, _ in lines} <= {0.0, 20.0, 40.0, 60.0, 80.0, 100.0}
    for level, line in lines:
        # Heights are linear along cell sides, where the contour points are, so they are exact there.
        np.testing.assert_allclose(grid.height_m(line) + grid.base_m, level, atol=1e-6)


@pytest.mark.parametrize(
    ("east", "north", "shape"),
    [([0, 1], [0, 1, 2], (3, 2)), ([0, 1, 3], [0, 1, 2], (3, 3)), ([0, 1, 2], [0, 1, 2], (3, 4))],
)
def test_contract_nets_that_are_no_grid_are_refused(east, north, shape) -> None:
    with pytest.raises(OutOfModel):
        Grid.over(east, north, np.zeros(shape))
