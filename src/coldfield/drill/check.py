"""Checks of a drill's ground; each fault is reported with its path."""

from __future__ import annotations

import re

from coldfield.drill.site import Point, Ring
from coldfield.message import Message, message, number

_TOUCH_M = 1e-5
"""Overlap up to which two holes count as touching, m: half of it for each. Setting."""

_SPOT = re.compile(r"\[(\S+) (\S+?)\]")
"""Where a ring crosses itself, in the library's words: ``Self-intersection[30 40]``."""


def ground_faults(boundary_m: Ring, holes_m: tuple[Ring, ...] = ()) -> list[Message]:
    """Return the faults of a boundary and its holes: crossing lines, no area, holes outside or overlapping.

    Lengths in m. The list is empty if the ground can be used.
    """
    from shapely import Polygon

    faults = _ring_faults(boundary_m, "site.boundary_m")
    for i, hole in enumerate(holes_m):
        faults += _ring_faults(hole, f"site.holes_m[{i}]")
    if faults:
        return faults
    ground = Polygon(boundary_m)
    shapes = [Polygon(hole) for hole in holes_m]
    # Holes may touch. Testing whether they meet is cheap; intersecting them may take gigabytes.
    inner = [shape.buffer(-_TOUCH_M / 2.0, join_style="mitre") for shape in shapes]
    for i, shape in enumerate(shapes):
        if not ground.covers(shape):
            faults.append(message("fault.hole_outside").at(f"site.holes_m[{i}]"))
        faults += [
            message("fault.hole_overlaps", other=f"site.holes_m[{j}]").at(f"site.holes_m[{i}]")
            for j in range(i)
            if inner[i].intersects(inner[j])
        ]
    if not faults and shapes and ground.area - sum(s.area for s in shapes) < 1.0:
        faults.append(message("fault.no_ground_left").at("site.holes_m"))
    return faults


def place_faults(position_m: Point, boundary_m: Ring, holes_m: tuple[Ring, ...], where: str) -> list[Message]:
    """Return a fault, under the path `where`, if a place is not on the ground to be searched."""
    from shapely import Point as Place
    from shapely import Polygon

    place = Place(position_m)
    x, y = position_m
    if not Polygon(boundary_m).covers(place):
        return [message("fault.outside_boundary", x=number(x), y=number(y)).at(where)]
    for i, hole in enumerate(holes_m):
        if Polygon(hole).contains(place):
            return [message("fault.in_hole", x=number(x), y=number(y), hole=f"site.holes_m[{i}]").at(where)]
    return []


def _ring_faults(ring_m: Ring, where: str) -> list[Message]:
    from shapely import Polygon
    from shapely.validation import explain_validity

    shape = Polygon(ring_m)
    if not shape.is_valid:
        spot = _SPOT.search(explain_validity(shape))
        if spot is None:
            return [message("fault.ring_crosses").at(where)]
        x, y = (number(float(one)) for one in spot.groups())
        return [message("fault.ring_crosses_near", x=x, y=y).at(where)]
    if shape.area < 1.0:
        return [message("fault.ring_too_small").at(where)]
    return []
