"""Place a picture on the ground by known points."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coldfield.drill.laid_picture import laid_by
from coldfield.errors import OutOfModel

CORNERS = np.array([[0.0, 0.0], [1200.0, 40.0], [1100.0, 900.0], [30.0, 800.0]])


def told(pixel: np.ndarray, place: np.ndarray) -> list[tuple[tuple[float, float], tuple[float, float]]]:
    return [((a, b), (c, d)) for (a, b), (c, d) in zip(pixel.tolist(), place.tolist(), strict=True)]


def shown(matrix: tuple[float, ...], pixel: np.ndarray) -> np.ndarray:
    a, b, c, d, e, f = matrix
    return pixel @ np.array([[a, d], [b, e]]) + [c, f]


@settings(max_examples=50, deadline=None, derandomize=True)
@given(turn=st.floats(-3.1, 3.1), metres=st.floats(0.02, 3.0), east=st.floats(-900, 900))
def test_property_a_turned_and_scaled_picture_is_found_again_by_two_points(
    turn: float, metres: float, east: float
) -> None:
    # Rows run downwards, so the map is a rotation after a reflection.
    turned = np.array([[np.cos(turn), np.sin(turn)], [np.sin(turn), -np.cos(turn)]]) * metres
    place = CORNERS @ turned.T + [east, 40.0]
    laid = laid_by(told(CORNERS[:2], place[:2]))
    np.testing.assert_allclose(shown(laid.matrix, CORNERS), place, atol=1e-4)
    assert (laid.residual_m, laid.spare) == (0.0, 0)


def test_property_a_sheared_picture_is_found_again_by_three_points_and_by_four() -> None:
    place = CORNERS @ np.array([[0.31, 0.02], [-0.05, -0.27]]) + [-80.0, 190.0]
    for count, spare in ((3, 0), (4, 1)):
        laid = laid_by(told(CORNERS[:count], place[:count]))
        np.testing.assert_allclose(shown(laid.matrix, CORNERS), place, atol=1e-4)
        assert laid.residual_m == pytest.approx(0.0, abs=1e-6)
        assert laid.spare == spare


def test_independent_route_a_fourth_point_off_by_two_metres_leaves_half_of_it_as_residual() -> None:
    # On a parallelogram, an affine map cannot represent the part of four displacements along (1, -1, 1, -1) /
    # 2: moving one corner by 2 m leaves 2 / 4 m at each of the four, root mean square 0.5 m.
    pixel = np.array([[0.0, 0.0], [1000.0, 0.0], [1000.0, 800.0], [0.0, 800.0]])
    place = pixel * [0.1, -0.1]
    place[2] += [0.0, 2.0]
    assert laid_by(told(pixel, place)).residual_m == pytest.approx(0.5, abs=1e-9)


@pytest.mark.parametrize(
    ("pixel", "place", "words"),
    [
        ([[0, 0]], [[0, 0]], "2 to 4"),
        ([[0, 0], [0, 0]], [[0, 0], [5, 5]], "different places"),
        ([[0, 0], [9, 0]], [[5, 5], [5, 5]], "different places"),
        ([[0, 0], [10, 10], [20, 20]], [[0, 0], [1, 5], [9, 2]], "one line"),
        ([[0, 0], [10, 0], [10, 10]], [[0, 0], [10, 0], [10, 10]], "mirrored"),
    ],
)
def test_contract_points_that_lay_nothing_are_refused_in_words(
    pixel: list[list[float]], place: list[list[float]], words: str
) -> None:
    with pytest.raises(OutOfModel, match=words):
        laid_by(told(np.array(pixel, dtype=float), np.array(place, dtype=float)))
