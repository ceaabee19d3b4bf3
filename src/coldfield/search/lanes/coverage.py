"""Which ground lies near enough to a walked line, by geometry."""

from __future__ import annotations

import shapely
from shapely.geometry import LineString
from shapely.geometry.base import BaseGeometry

from coldfield.search.lanes.walkable import Points

LEAST_M2 = 1.0e-4
_THINNEST_M = 1.0e-5


def swept(lines_m: list[Points], half_m: float, quad_segs: int = 16) -> BaseGeometry:
    """Return the ground within `half_m` of any of the lines (k, 2); circles become polygons inside them."""
    shapes = [LineString(line) if len(line) > 1 else shapely.Point(line[0]) for line in lines_m]
    return shapely.union_all(shapely.buffer(shapes, half_m, quad_segs=quad_segs))


def left_out(
    lines_m: list[Points],
    ground: BaseGeometry,
    half_m: float,
    *,
    quad_segs: int = 16,
    least_m2: float = LEAST_M2,
) -> list[BaseGeometry]:
    """Return the parts of the ground farther than `half_m` from all lines (k, 2).

    Parts below `least_m2` or thinner than a hundredth of a millimetre are rounding errors and are left out.
    """
    near = swept(lines_m, half_m, quad_segs)
    try:
        rest = ground.difference(near)
    except shapely.GEOSException:  # corners too close to each other: snap to a micrometre
        rest = shapely.difference(shapely.make_valid(ground), near, grid_size=1e-6)
    return [p for p in shapely.get_parts(rest) if p.area > least_m2 and p.area > _THINNEST_M * p.length]
