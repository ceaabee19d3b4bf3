"""The places of a picture's pixels on the ground of a site."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from coldfield.drill.site import Point
from coldfield.errors import OutOfModel
from coldfield.message import message

FEWEST, MOST = 2, 4
"""Numbers of known points with which a picture can be placed."""

LEAST_APART = 0.02
"""Points closer to one line or to each other than this share of their extent are refused. Setting."""

Six = tuple[float, float, float, float, float, float]
"""a to f: east = a column + b row + c, north = d column + e row + f; in metres and pixels."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Laid:
    """A picture on the ground.

    Parameters
    ----------
    matrix : six numbers
        It maps pixels (columns to the right, rows down, from the top left corner of the picture) to
        the east and north coordinates of the site, in metres.
    residual_m : float
        Distance of the known points from where the picture shows them, root mean square, m. It is 0 if
        there are only as many as the fit needs: two, or three.
    spare : int
        Number of points beyond those that the fit needs; with 0 the residual says nothing.
    """

    matrix: Six
    residual_m: float
    spare: int


def laid_by(points: Sequence[tuple[Point, Point]]) -> Laid:
    """Return the position of a picture on the ground, from known places in it, by least squares.

    Two points rotate and scale it (a similarity). Three or four also stretch and shear it (an affine map),
    which a scan or a photo taken at an angle needs. Perspective is not corrected: a photo from the side
    fits only near its points.

    Parameters
    ----------
    points : sequence of (pixel, place)
        Column and row in the picture, and east and north coordinates in m, of two to four places.

    Raises
    ------
    OutOfModel
        If there are too few or too many points, if two are in the same place or three or more on
        one line, or if the picture would be mirrored.

    Examples
    --------
    A picture with 10 cm per pixel, north up, whose top left corner is 50 m north of the origin:

    >>> laid_by([((0, 0), (0, 50)), ((1000, 500), (100, 0))]).matrix
    (0.1, 0.0, 0.0, 0.0, -0.1, 50.0)
    """
    if not FEWEST <= len(points) <= MOST:
        raise OutOfModel(message("fault.picture_points", least=FEWEST, most=MOST))
    pixel = np.array([one for one, _ in points], dtype=np.float64)
    place = np.array([one for _, one in points], dtype=np.float64)
    if not (np.isfinite(pixel).all() and np.isfinite(place).all()):
        raise OutOfModel(message("fault.picture_points_apart"))
    across = 1 if len(points) == FEWEST else 2
    if not all(_spread(one, across) for one in (pixel, place)):
        raise OutOfModel(
            message("fault.picture_points_apart" if across == 1 else "fault.picture_points_line")
        )
    matrix = _similar(pixel, place) if across == 1 else _affine(pixel, place)
    if matrix[0, 0] * matrix[1, 1] - matrix[0, 1] * matrix[1, 0] >= 0.0:
        raise OutOfModel(message("fault.picture_mirrored"))
    missed = place - (pixel @ matrix[:, :2].T + matrix[:, 2])
    spare = len(points) - (FEWEST if across == 1 else 3)
    residual_m = float(np.sqrt((missed**2).sum(axis=1).mean())) if spare else 0.0
    return Laid(matrix=six(matrix), residual_m=residual_m, spare=spare)


def six(matrix: NDArray[np.float64]) -> Six:
    """Return a matrix with two rows and three columns as six plain numbers."""
    a, b, c, d, e, f = (float(value) for value in np.round(matrix, 9).ravel() + 0.0)
    return a, b, c, d, e, f


def _spread(places: NDArray[np.float64], across: int) -> bool:
    """Whether points are spread along one direction, or (2) along two."""
    size = np.linalg.svd(places - places.mean(axis=0), compute_uv=False)
    return bool(size[0] > 1e-6 and (across == 1 or size[1] > LEAST_APART * size[0]))


def _similar(pixel: NDArray[np.float64], place: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the map that rotates and scales, in complex numbers with rows counted upwards."""
    z, w = pixel[:, 0] - 1j * pixel[:, 1], place[:, 0] + 1j * place[:, 1]
    turn = np.vdot(z - z.mean(), w - w.mean()) / np.vdot(z - z.mean(), z - z.mean())
    shift = w.mean() - turn * z.mean()
    return np.array([[turn.real, turn.imag, shift.real], [turn.imag, -turn.real, shift.imag]])


def _affine(pixel: NDArray[np.float64], place: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the affine map by least squares, about the centres of both, so that it is well conditioned."""
    middle, there = pixel.mean(axis=0), place.mean(axis=0)
    turned, *_ = np.linalg.lstsq(pixel - middle, place - there, rcond=None)
    return np.column_stack([turned.T, there - middle @ turned])
