from math import radians

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from amount import examples
from coldfield.drill.terrain import Plane

SLOPES = st.builds(
    lambda slope, aspect: Plane(slope_rad=radians(slope), aspect_rad=radians(aspect)),
    st.floats(0, 60),
    st.floats(0, 360),
)


@given(plane=SLOPES, depth=st.floats(0.1, 5))
@examples(40)
def test_property_depth_is_measured_at_right_angles_to_the_snow(plane: Plane, depth: float) -> None:
    surface, buried = plane.at([12.0, -7.0]), plane.at([12.0, -7.0], -depth)
    down = surface - buried
    assert np.linalg.norm(down) == pytest.approx(depth, rel=1e-12)
    across = plane.at([13.0, -7.0]) - surface, plane.at([12.0, -6.0]) - surface
    np.testing.assert_allclose([down @ a for a in across], 0.0, atol=1e-9)


@given(plane=SLOPES)
@examples(40)
def test_property_lengths_in_snow_axes_are_lengths_in_space(plane: Plane) -> None:
    line = np.array([[0, 0], [10, 3], [-4, 20]], dtype=float)
    in_space = np.linalg.norm(np.diff(plane.at(line), axis=0), axis=-1).sum()
    assert plane.length_m(line) == pytest.approx(in_space, rel=1e-12)
    np.testing.assert_allclose(plane.to_plan(plane.to_snow(line)), line, atol=1e-9)


def test_practice_aspect_is_the_way_a_slope_faces() -> None:
    # Common practice of the trade, no source: a north-facing slope falls to the north.
    north_face = Plane(slope_rad=radians(30), aspect_rad=0.0)
    assert north_face.height_m([0, 10]) == pytest.approx(-10 * np.tan(radians(30)))
