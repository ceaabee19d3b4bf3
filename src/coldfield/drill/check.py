"""What must hold on the ground of a drill, told with the path of each fault."""

from __future__ import annotations

from coldfield.drill.site import Point, Ring

_TOUCH_M = 1e-5
"""How far two holes may reach into each other and still only touch, m: half of it each. Setting."""


def ground_faults(boundary_m: Ring, holes_m: tuple[Ring, ...] = ()) -> list[str]:
    """Return the faults of a boundary and its holes: crossing lines, no area, holes outside or overlapping.

    Lengths in m. The list is empty where the ground can be used.
    """
    from shapely import Polygon

    faults = _ring_faults(boundary_m, "site.boundary_m")
    for i, hole in enumerate(holes_m):
        faults += _ring_faults(hole, f"site.holes_m[{i}]")
    if faults:
        return faults
    ground = Polygon(boundary_m)
    shapes = [Polygon(hole) for hole in holes_m]
    # Holes may touch. To ask whether they meet costs little; to lay one upon the other may cost gigabytes.
    inner = [shape.buffer(-_TOUCH_M / 2.0, join_style="mitre") for shape in shapes]
    for i, shape in enumerate(shapes):
        if not ground.covers(shape):
            faults.append(f"site.holes_m[{i}]: must lie inside the boundary")
        faults += [
            f"site.holes_m[{i}]: overlaps site.holes_m[{j}]; join them into one"
            for j in range(i)
            if inner[i].intersects(inner[j])
        ]
    if not faults and shapes and ground.area - sum(s.area for s in shapes) < 1.0:
        faults.append("site.holes_m: leave no ground to search")
    return faults


def place_faults(position_m: Point, boundary_m: Ring, holes_m: tuple[Ring, ...], where: str) -> list[str]:
    """Return the fault of a place that is not on the ground to be searched, under the path `where`."""
    from shapely import Point as Place
    from shapely import Polygon

    place = Place(position_m)
    x, y = position_m
    if not Polygon(boundary_m).covers(place):
        return [f"{where}: ({x:g}, {y:g}) lies outside the boundary; positions are metres east and north"]
    for i, hole in enumerate(holes_m):
        if Polygon(hole).contains(place):
            return [f"{where}: ({x:g}, {y:g}) lies in site.holes_m[{i}], which is not searched"]
    return []


def _ring_faults(ring_m: Ring, where: str) -> list[str]:
    from shapely import Polygon
    from shapely.validation import explain_validity

    shape = Polygon(ring_m)
    if not shape.is_valid:
        place = explain_validity(shape)
        spot = f" near ({place[place.index('[') + 1 : -1].replace(' ', ', ')})" if "[" in place else ""
        return [f"{where}: crosses or touches itself{spot}; give the corners in order round the ground"]
    if shape.area < 1.0:
        return [f"{where}: encloses less than 1 m2"]
    return []
