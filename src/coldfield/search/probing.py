"""Probing lines: the chance that a pattern of holes strikes a body, and what it takes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import radians, tan

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter

from coldfield.errors import OutOfModel

BODY_LENGTH_M = 1.7
BODY_WIDTH_M = 0.45
"""Outline of a lying body seen from above, round at both ends. Setting."""

HOLE_S, STEP_S = 5.2, 9.8
"""Time of a hole, and of a step with its commands and dressing of the line. Derived from two values:
20 people need about 4 h for 1 ha at one hole a step, 75 by 70 cm (from memory); three holes a step,
60 by 70 cm, are 30 % faster (ISSW 1996). Settings."""

DEVIATION_RAD = radians(3.0)
"""Spread of the probe's direction from the perpendicular. Setting."""

_MESH_M = 0.025
_DIRECTIONS = 18

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Pattern:
    """Holes `across_m` apart along the line and `along_m` apart from step to step.

    `slalom` shifts every other step by half a hole. `holes` are those one person probes a step;
    `depth_m` is how deep, at right angles to the snow.
    """

    name: str
    across_m: float
    along_m: float
    holes: int = 1
    slalom: bool = False
    depth_m: float = 1.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Published:
    """What a publication says about a pattern, to stand beside the model: a chance or a time."""

    probability: float
    words: str


PATTERNS: tuple[tuple[Pattern, Published], ...] = (
    (
        Pattern(name="one hole a step", across_m=0.75, along_m=0.70),
        Published(probability=0.76, words="ISSW 1996: average body, 1.5 m, compact level snow (older: 70 %)"),
    ),
    (
        Pattern(name="three holes a step", across_m=0.60, along_m=0.70, holes=3),
        Published(probability=0.95, words="ISSW 1996: about 95 %, 30 % faster"),
    ),
    (
        Pattern(name="slalom", across_m=0.50, along_m=0.50, slalom=True),
        Published(
            probability=0.88, words="ICAR AVA-REC0011, 2015: people 1.5 m apart, first pass 1.5 m deep"
        ),
    ),
)
"""Patterns in use, with the published chance of each."""


def strike_probability(
    pattern: Pattern,
    *,
    burial_depth_m: float,
    deviation_rad: float = DEVIATION_RAD,
    body_length_m: float = BODY_LENGTH_M,
    body_width_m: float = BODY_WIDTH_M,
    felt_fraction: float = 1.0,
) -> float:
    """Return the chance that at least one hole strikes a body of random place and direction.

    Parameters
    ----------
    pattern : Pattern
        The holes, and how deep they go.
    burial_depth_m : float
        Depth of the body's upper side at right angles to the snow, m. Below `pattern.depth_m`
        nothing is struck.
    deviation_rad : float
        Spread (one standard deviation in each of two directions) of a probe's direction; at a
        depth d a hole then lies d tan(deviation) off its place.
    body_length_m, body_width_m : float
        The outline seen from above: a stadium, so length 1.7 m and width 0.45 m have 0.72 m2.
    felt_fraction : float
        Share of strikes that the person at the probe takes for one.

    Raises
    ------
    OutOfModel
        If a length is not above 0, or a share not between 0 and 1.

    Notes
    -----
    Averaged over all places within one cell of the pattern on a mesh of about 2.5 cm, and over 18
    directions of a right angle (the rest are mirror images); together below 0.005 of error. Holes
    are independent in their deviation. A body that lies flat is the best case; one that is curled
    up or upright shows less of itself, ice and packs mislead, and steps are uneven: published
    chances, which come from trials, are lower.

    Examples
    --------
    A disc smaller than the pattern is struck as often as its area fits into the cell:

    >>> disc = dict(body_length_m=0.4, body_width_m=0.4, deviation_rad=0.0)
    >>> coarse = Pattern(name="x", across_m=1.0, along_m=1.0)
    >>> abs(strike_probability(coarse, burial_depth_m=1.0, **disc) - np.pi * 0.2**2) < 0.005
    True
    """
    _check(pattern, burial_depth_m, deviation_rad, body_length_m, body_width_m, felt_fraction)
    if burial_depth_m > pattern.depth_m:
        return 0.0
    blur_m = burial_depth_m * tan(deviation_rad)
    chances = [
        _hit_chance(pattern, angle, blur_m, body_length_m, body_width_m, felt_fraction)
        for angle in (np.arange(_DIRECTIONS) + 0.5) * np.pi / 2 / _DIRECTIONS
    ]
    return float(np.mean(chances))


def _check(pattern: Pattern, *figures: float) -> None:
    depth, deviation, length, width, felt = figures
    lengths = (pattern.across_m, pattern.along_m, pattern.depth_m, depth, length, width)
    if not all(np.isfinite(v) and v > 0.0 for v in lengths) or pattern.holes < 1:
        raise OutOfModel("spacings, depths and the body's outline must be above 0")
    _check_spacing(pattern)
    if width > length or length > 3.0:
        raise OutOfModel("the body must be at most 3 m long and no wider than long")
    if not (0.0 <= deviation <= radians(20.0) and 0.0 <= felt <= 1.0):
        raise OutOfModel("the deviation must be from 0 to 20 degrees, the share felt from 0 to 1")


def _check_spacing(pattern: Pattern) -> None:
    least, most = sorted((pattern.across_m, pattern.along_m))
    if not (least >= 0.05 and most <= 10.0) or pattern.holes < 1:
        raise OutOfModel("holes must be from 5 cm to 10 m apart, at least one a step")


def _hit_chance(
    pattern: Pattern, angle_rad: float, blur_m: float, length_m: float, width_m: float, felt: float
) -> float:
    """Return the mean over places of the chance of at least one felt strike, one direction of the body."""
    nx, ny = (max(4, round(side / _MESH_M)) for side in (pattern.across_m, pattern.along_m))
    dx, dy = pattern.across_m / nx, pattern.along_m / ny
    reach = length_m / 2 + 4.0 * blur_m
    rows, columns = (int(np.ceil(2 * reach / side)) + 2 for side in (pattern.along_m, pattern.across_m))
    rows += rows % 2  # whole periods of a slalom
    missed = np.ones((2 if pattern.slalom else 1, ny, nx))
    field = _outline(rows * ny, columns * nx + nx // 2, dx, dy, angle_rad, length_m, width_m)
    if blur_m > 0.0:
        field = gaussian_filter(field, (blur_m / dy, blur_m / dx), mode="constant", truncate=4.0)
    for first in range(missed.shape[0]):
        for row in range(rows):
            shift = nx // 2 if pattern.slalom and (row + first) % 2 else 0
            for column in range(columns):
                at = column * nx + shift
                missed[first] *= 1.0 - felt * field[row * ny : (row + 1) * ny, at : at + nx]
    return float(1.0 - missed.mean())


def _outline(
    rows: int, columns: int, dx: float, dy: float, angle_rad: float, length_m: float, width_m: float
) -> Floats:
    """Return 1 within the body, 0 outside, on a mesh round its middle; (rows, columns)."""
    y, x = np.mgrid[:rows, :columns]
    east, north = (x - (columns - 1) / 2) * dx, (y - (rows - 1) / 2) * dy
    along = east * np.cos(angle_rad) + north * np.sin(angle_rad)
    across = -east * np.sin(angle_rad) + north * np.cos(angle_rad)
    past = np.maximum(np.abs(along) - (length_m - width_m) / 2, 0.0)
    return np.asarray((np.hypot(past, across) <= width_m / 2).astype(np.float64))


@dataclass(frozen=True, slots=True, kw_only=True)
class Effort:
    """What probing an area takes: holes altogether, people in the line, seconds."""

    holes: float
    people: int
    seconds: float


def effort(
    pattern: Pattern, *, area_m2: float, people: int, hole_s: float = HOLE_S, step_s: float = STEP_S
) -> Effort:
    """Return holes and time to probe an area with a line of people.

    Raises
    ------
    OutOfModel
        If the area or a time is not above 0, or nobody probes.

    Examples
    --------
    >>> one = Pattern(name="one hole a step", across_m=0.75, along_m=0.70)
    >>> round(effort(one, area_m2=10_000, people=20).seconds / 3600, 1)
    4.0
    """
    _check_spacing(pattern)
    if not (area_m2 > 0.0 and hole_s > 0.0 and step_s > 0.0 and people >= 1):
        raise OutOfModel("area, times and number of people must be above 0")
    holes = area_m2 / (pattern.across_m * pattern.along_m)
    return Effort(holes=holes, people=people, seconds=holes * (hole_s + step_s / pattern.holes) / people)


def by_depth(
    pattern: Pattern, depths_m: Sequence[float], *, deviation_rad: float = DEVIATION_RAD
) -> list[tuple[float, float]]:
    """Return (burial depth, chance of a strike) for each depth."""
    return [
        (float(d), strike_probability(pattern, burial_depth_m=float(d), deviation_rad=deviation_rad))
        for d in depths_m
    ]
