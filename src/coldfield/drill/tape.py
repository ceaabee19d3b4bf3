"""Finding a place again with two tapes, or with a bearing and a tape, and the error of doing so.

Tapes lie on the snow: all distances and errors are metres on the snow; azimuths are true and in plan.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise
from math import atan2, cos, hypot, inf, pi, sin
from typing import Literal

import numpy as np

from coldfield.drill.site import Point, Site
from coldfield.drill.terrain import Plane

TAPE_OUT_M = 0.5
"""Assumed error of a tape: it sags, bends round lumps and is read in the wind. Setting."""

GOOD_M = 1.0
"""A place counts as well fixed if it is off by no more than this with each tape 0.5 m out. Setting."""

FARTHEST_TAPE_M = 100.0
"""Anchors farther away cannot be used: no tape is longer. Setting."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tape:
    """One tape from an anchor: the anchor's index, the length on the snow and in plan, and the bearing."""

    anchor: int
    snow_m: float
    plan_m: float
    azimuth_rad: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Fix:
    """How one place is found again.

    `first` and `second` are the tapes whose circles intersect best; None with a single anchor. The place
    lies on `side`, seen from the first anchor towards the second. `off_m` is its possible error if each
    tape is out by `TAPE_OUT_M`. `near` is the tape from the nearest anchor, for bearing and paces.
    """

    near: Tape
    first: Tape | None = None
    second: Tape | None = None
    side: Literal["left", "right"] | None = None
    off_m: float | None = None

    @property
    def good(self) -> bool:
        """Whether two tapes fix the place well."""
        return self.off_m is not None and round(self.off_m, 1) <= GOOD_M


def tape(site: Site, anchor: int, place_m: Point) -> Tape:
    """Return the tape from an anchor of a site to a place in plan, m."""
    start = site.anchors[anchor].position_m
    east, north = place_m[0] - start[0], place_m[1] - start[1]
    return Tape(
        anchor=anchor,
        snow_m=Plane.of(site).length_m([start, place_m]),
        plan_m=hypot(east, north),
        azimuth_rad=atan2(east, north) % (2.0 * pi),
    )


def off_by(first_m: Point, second_m: Point, place_m: Point, out_m: float = TAPE_OUT_M) -> float:
    """Return the possible error of a place found with two tapes, m; all places in axes on the snow.

    Parameters
    ----------
    first_m, second_m : tuple of float
        The anchors.
    place_m : tuple of float
        The place; `inf` is returned if it is at an anchor or on the line through both.
    out_m : float
        Possible error of each tape.

    Notes
    -----
    The tapes meet at an angle g. Errors of the same sign move the place by out / cos(g / 2), errors
    of opposite signs by out / sin(g / 2); the larger one counts. The formula is linear in the
    error: 2 % too low for an error of a twentieth of the distance.

    Examples
    --------
    Tapes that meet at a right angle:

    >>> round(off_by((0.0, 0.0), (20.0, 0.0), (10.0, 10.0)), 3)
    0.707
    """
    ways = [np.subtract(place_m, anchor) for anchor in (first_m, second_m)]
    lengths = [float(np.linalg.norm(way)) for way in ways]
    if min(lengths) < 1e-9:
        return inf
    angle = float(np.arccos(np.clip(ways[0] @ ways[1] / (lengths[0] * lengths[1]), -1.0, 1.0)))
    least = min(sin(0.5 * angle), cos(0.5 * angle))
    return out_m / least if least > 1e-6 else inf


def fix(site: Site, place_m: Point) -> Fix | None:
    """Return how a place of a site is found again; None if the site has no anchor."""
    if not site.anchors:
        return None
    tapes = [tape(site, k, place_m) for k in range(len(site.anchors))]
    near = min(tapes, key=lambda one: one.snow_m)
    pairs = _pairs([anchor.position_m for anchor in site.anchors], site, place_m)
    if not pairs:
        return Fix(near=near)
    off, i, j = min(pairs)
    (ax, ay), (bx, by) = site.anchors[i].position_m, site.anchors[j].position_m
    turn = (bx - ax) * (place_m[1] - ay) - (by - ay) * (place_m[0] - ax)
    return Fix(
        near=near,
        first=tapes[i],
        second=tapes[j],
        side="left" if turn > 0.0 else "right",
        off_m=off if off < inf else None,
    )


def _pairs(anchors_m: Sequence[Point], site: Site, place_m: Point) -> list[tuple[float, int, int]]:
    """The possible error with each pair of anchors; only pairs within a tape's length if there are any."""
    snow = Plane.of(site).to_snow([*anchors_m, place_m]).tolist()
    place = (snow[-1][0], snow[-1][1])
    found = []
    for i, j in combinations(range(len(anchors_m)), 2):
        one, other = ((snow[k][0], snow[k][1]) for k in (i, j))
        far = max(hypot(place[0] - x, place[1] - y) for x, y in (one, other)) > FARTHEST_TAPE_M
        found.append((off_by(one, other, place) + (1e3 if far else 0.0), i, j))
    near = [one for one in found if one[0] < 1e3]
    return near or [(off - 1e3, i, j) for off, i, j in found]


@dataclass(frozen=True, slots=True, kw_only=True)
class BetterAnchor:
    """Where one more anchor would help most, and the error of the worst place with it, m."""

    position_m: Point
    worst_off_m: float


def better_anchor(site: Site, places_m: Sequence[Point], *, step_m: float = 5.0) -> BetterAnchor | None:
    """Return the place on the edge of the ground where one more anchor fixes all places best.

    None if the site has no anchor at all, if there is nothing to fix, or if no place on the edge is better
    than the present anchors.
    """
    if not site.anchors or not places_m:
        return None
    there = [anchor.position_m for anchor in site.anchors]
    best = BetterAnchor(position_m=there[0], worst_off_m=_worst(there, site, places_m))
    before = best
    for spot in _edge(site, step_m):
        worst = _worst([*there, spot], site, places_m)
        if worst < best.worst_off_m - 0.01:
            best = BetterAnchor(position_m=spot, worst_off_m=worst)
    return None if best is before else best


def _worst(anchors_m: Sequence[Point], site: Site, places_m: Sequence[Point]) -> float:
    return max(min((off for off, _, _ in _pairs(anchors_m, site, place)), default=inf) for place in places_m)


def _edge(site: Site, step_m: float) -> list[Point]:
    """Places along the boundary, its corners first, at most about 200."""
    ring = [*site.boundary_m, site.boundary_m[0]]
    round_m = sum(hypot(b[0] - a[0], b[1] - a[1]) for a, b in pairwise(ring))
    step = max(step_m, round_m / 200.0)
    spots = list(site.boundary_m)
    for (ax, ay), (bx, by) in pairwise(ring):
        count = int(hypot(bx - ax, by - ay) / step)
        spots += [
            (ax + (bx - ax) * k / (count + 1), ay + (by - ay) * k / (count + 1)) for k in range(1, count + 1)
        ]
    return [(round(x, 1), round(y, 1)) for x, y in spots]
