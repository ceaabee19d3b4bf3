"""Probe lines: the chance that a pattern of holes strikes a body, and the effort."""

from __future__ import annotations

from dataclasses import dataclass
from math import radians, tan
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter
from scipy.special import ndtr, ndtri

from coldfield.errors import OutOfModel
from coldfield.message import Message, message
from coldfield.search.width.lateral_range import DEPTH_SIGMA, MEDIAN_DEPTH_M

FLAT_LENGTH_M = 1.7
FLAT_WIDTH_M = 0.45
"""Outline of a body that lies stretched out flat, seen from above, rounded at both ends. Setting."""

BODY_THICKNESS_M = 0.30
"""Thickness of the rod, rounded at both ends and `FLAT_LENGTH_M` long, that represents a body in
any direction in space. Its surface is that of a person in winter clothes, 1.60 m2: 1.90 m2 of skin
(DuBois & DuBois 1916 for 1.75 m and 75 kg) times 0.72, the share that faces outward (Fanger 1970),
times 1.17 for 1.2 clo (ISO 7730: 1.05 + 0.1 a clo). All from memory. By Cauchy's theorem its mean
outline seen from above is a quarter of that, 0.40 m2."""

HOLE_S, STEP_S = 5.2, 9.8
"""Time for a hole, and for a step including commands and straightening the line. Derived from two
values: 20 people need about 4 h for 1 ha with one hole per step, 75 by 70 cm (from memory); three
holes per step, 60 by 70 cm, are 30 % faster (ISSW 1996). Settings."""

DEVIATION_RAD = radians(3.0)
"""Spread of the probe's direction from the perpendicular. Setting."""

_MESH_M = 0.025
_DIRECTIONS = 12
_TILTS = 5
_DEPTHS = 4

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Pattern:
    """Holes `across_m` apart along the line and `along_m` apart from step to step.

    `staggered` shifts every second step by half a hole. `holes` is the number that one person
    probes per step; `depth_m` is their depth at right angles to the snow.
    """

    name: Message
    across_m: float
    along_m: float
    holes: int = 1
    staggered: bool = False
    depth_m: float = 1.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Published:
    """A published chance for a pattern, to show beside the model."""

    probability: float
    words: Message


PATTERNS: tuple[tuple[Pattern, Published], ...] = (
    (
        Pattern(name=message("term.pattern.one_hole"), across_m=0.75, along_m=0.70),
        Published(probability=0.76, words=message("note.probing_1996_coarse")),
    ),
    (
        Pattern(name=message("term.pattern.three_holes"), across_m=0.60, along_m=0.70, holes=3),
        Published(probability=0.95, words=message("note.probing_1996_three")),
    ),
    (
        Pattern(name=message("term.pattern.slalom"), across_m=0.50, along_m=0.50),
        Published(probability=0.88, words=message("note.probing_2015")),
    ),
)
"""Patterns in use, with the published chance for each. In slalom everybody probes three holes
across (probe, right, right), steps forward and comes back (left, left); the holes form a regular
grid."""

Posture = Literal["any", "flat"]
"""How the body lies: in any direction in space, all equally likely; or stretched out flat, the best case."""


def strike_probability(
    pattern: Pattern,
    *,
    burial_depth_m: float,
    deviation_rad: float = DEVIATION_RAD,
    posture: Posture = "any",
    felt_fraction: float = 1.0,
) -> float:
    """Return the chance that at least one hole strikes a body in a random place and direction.

    Parameters
    ----------
    pattern : Pattern
        The holes, and how deep they go.
    burial_depth_m : float
        Depth of the body's upper side at right angles to the snow, m. Nothing is struck below
        `pattern.depth_m`.
    deviation_rad : float
        Spread of a probe's direction (one standard deviation in each of two directions); at a
        depth d, a hole is off by d tan(deviation).
    posture : {"any", "flat"}
        How the body lies: a rod of `FLAT_LENGTH_M` and `BODY_THICKNESS_M` in any direction in space,
        or the flat outline, the best case.
    felt_fraction : float
        Share of strikes that the person with the probe recognises.

    Raises
    ------
    OutOfModel
        If a length is not above 0, or a share is not between 0 and 1.

    Notes
    -----
    The chance is averaged over all places within one cell of the pattern on a mesh of about 2.5 cm,
    over 12 directions within a right angle (the rest are mirror images) and, for any posture, over
    5 tilts; the total error is below 0.005. Deviations of holes are independent. Left out: a tilted
    body reaches deeper than its upper side, ice and packs mislead, and steps are uneven. Two holes
    may strike one long body while another body is missed, so the chance is below `area_over_cell`.
    The values published in 1996 equal that figure.

    Examples
    --------
    >>> slalom = Pattern(name=message("term.pattern.slalom"), across_m=0.5, along_m=0.5)
    >>> for posture in ("any", "flat"):
    ...     print(round(strike_probability(slalom, burial_depth_m=1.0, posture=posture), 2))
    0.9
    1.0
    """
    if posture == "flat":
        outlines, weights = [(FLAT_LENGTH_M, FLAT_WIDTH_M)], np.ones(1)
    else:
        nodes, weights = np.polynomial.legendre.leggauss(_TILTS)
        sine = 0.5 * (nodes + 1.0)
        shadows = BODY_THICKNESS_M + (FLAT_LENGTH_M - BODY_THICKNESS_M) * np.sqrt(1.0 - sine**2)
        outlines = [(float(length), BODY_THICKNESS_M) for length in shadows]
    figures = (burial_depth_m, deviation_rad, felt_fraction)
    chances = [outline_probability(pattern, outline, *figures) for outline in outlines]
    return float(np.average(chances, weights=weights))


def outline_probability(
    pattern: Pattern,
    outline_m: tuple[float, float],
    burial_depth_m: float,
    deviation_rad: float = DEVIATION_RAD,
    felt_fraction: float = 1.0,
) -> float:
    """Return the chance of a strike for an outline seen from above: length and width, rounded at both ends.

    Arguments, errors and approximations as in `strike_probability`.

    Examples
    --------
    For a disc smaller than the pattern the chance is its area divided by that of the cell:

    >>> coarse = Pattern(name="x", across_m=1.0, along_m=1.0)
    >>> abs(outline_probability(coarse, (0.4, 0.4), 1.0, deviation_rad=0.0) - np.pi * 0.2**2) < 0.005
    True
    """
    length_m, width_m = outline_m
    _check(pattern, burial_depth_m, deviation_rad, length_m, width_m, felt_fraction)
    if burial_depth_m > pattern.depth_m:
        return 0.0
    blur_m = burial_depth_m * tan(deviation_rad)
    chances = [
        _hit_chance(pattern, angle, blur_m, length_m, width_m, felt_fraction)
        for angle in (np.arange(_DIRECTIONS) + 0.5) * np.pi / 2 / _DIRECTIONS
    ]
    return float(np.mean(chances))


def area_over_cell(pattern: Pattern) -> float:
    """Return the mean number of holes that meet a body in any posture, at most 1: mean outline over
    cell area.

    This would be the chance of a strike if no two holes could meet one body, so it is an upper bound. The
    two values of ISSW 1996 are this figure: 0.40 m2 over 0.75 x 0.70 m and over 0.60 x 0.70 m.

    Examples
    --------
    >>> [round(area_over_cell(pattern), 2) for pattern, _ in PATTERNS]
    [0.76, 0.95, 1.0]
    """
    _check_spacing(pattern)
    surface_m2 = np.pi * BODY_THICKNESS_M * FLAT_LENGTH_M
    return min(1.0, 0.25 * surface_m2 / (pattern.across_m * pattern.along_m))


def probability_over_depths(
    pattern: Pattern, *, deviation_rad: float = DEVIATION_RAD, posture: Posture = "any"
) -> float:
    """Return the chance of a strike if the depth is unknown: over burials as deep as in accidents.

    Depths are lognormal about the median of 0.8 m (see `coldfield.search.width.lateral_range`); one in ten
    is below a first pass of 1.5 m. Four depths are used, each for a quarter of those within the pass.
    The error is below 0.01.
    """
    within = float(ndtr(np.log(pattern.depth_m / MEDIAN_DEPTH_M) / DEPTH_SIGMA))
    shares = within * (np.arange(_DEPTHS) + 0.5) / _DEPTHS
    told = [
        strike_probability(pattern, burial_depth_m=float(depth), deviation_rad=deviation_rad, posture=posture)
        for depth in MEDIAN_DEPTH_M * np.exp(DEPTH_SIGMA * ndtri(shares))
    ]
    return within * float(np.mean(told))


def _check(pattern: Pattern, *figures: float) -> None:
    depth, deviation, length, width, felt = figures
    lengths = (pattern.across_m, pattern.along_m, pattern.depth_m, depth, length, width)
    if not all(np.isfinite(v) and v > 0.0 for v in lengths) or pattern.holes < 1:
        raise OutOfModel(message("fault.probe_figures"))
    _check_spacing(pattern)
    if width > length or length > 3.0:
        raise OutOfModel(message("fault.body_size"))
    if not (0.0 <= deviation <= radians(20.0) and 0.0 <= felt <= 1.0):
        raise OutOfModel(message("fault.probe_deviation"))


def _check_spacing(pattern: Pattern) -> None:
    least, most = sorted((pattern.across_m, pattern.along_m))
    if not (least >= 0.05 and most <= 10.0) or pattern.holes < 1:
        raise OutOfModel(message("fault.hole_spacing"))


def _hit_chance(
    pattern: Pattern, angle_rad: float, blur_m: float, length_m: float, width_m: float, felt: float
) -> float:
    """Return the mean over places of the chance of a felt strike, for one direction of the body."""
    nx, ny = (max(4, round(side / _MESH_M)) for side in (pattern.across_m, pattern.along_m))
    dx, dy = pattern.across_m / nx, pattern.along_m / ny
    reach = length_m / 2 + 4.0 * blur_m
    rows, columns = (int(np.ceil(2 * reach / side)) + 2 for side in (pattern.along_m, pattern.across_m))
    rows += rows % 2  # whole periods of the shift
    missed = np.ones((2 if pattern.staggered else 1, ny, nx))
    field = _outline(rows * ny, columns * nx + nx // 2, dx, dy, angle_rad, length_m, width_m)
    if blur_m > 0.0:
        field = gaussian_filter(field, (blur_m / dy, blur_m / dx), mode="constant", truncate=4.0)
    for first in range(missed.shape[0]):
        for row in range(rows):
            shift = nx // 2 if pattern.staggered and (row + first) % 2 else 0
            for column in range(columns):
                at = column * nx + shift
                missed[first] *= 1.0 - felt * field[row * ny : (row + 1) * ny, at : at + nx]
    return float(1.0 - missed.mean())


def _outline(
    rows: int, columns: int, dx: float, dy: float, angle_rad: float, length_m: float, width_m: float
) -> Floats:
    """Return 1 inside the body and 0 outside, on a mesh round its centre; (rows, columns)."""
    y, x = np.mgrid[:rows, :columns]
    east, north = (x - (columns - 1) / 2) * dx, (y - (rows - 1) / 2) * dy
    along = east * np.cos(angle_rad) + north * np.sin(angle_rad)
    across = -east * np.sin(angle_rad) + north * np.cos(angle_rad)
    past = np.maximum(np.abs(along) - (length_m - width_m) / 2, 0.0)
    return np.asarray((np.hypot(past, across) <= width_m / 2).astype(np.float64))


@dataclass(frozen=True, slots=True, kw_only=True)
class Effort:
    """The effort of probing an area: total number of holes, people in the line, seconds."""

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
    >>> one = Pattern(name=message("term.pattern.one_hole"), across_m=0.75, along_m=0.70)
    >>> round(effort(one, area_m2=10_000, people=20).seconds / 3600, 1)
    4.0
    """
    _check_spacing(pattern)
    if not (area_m2 > 0.0 and hole_s > 0.0 and step_s > 0.0 and people >= 1):
        raise OutOfModel(message("fault.probe_effort"))
    holes = area_m2 / (pattern.across_m * pattern.along_m)
    return Effort(holes=holes, people=people, seconds=holes * (hole_s + step_s / pattern.holes) / people)
