"""The order in which a probe line covers the ground: outwards from the last-seen point."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import ArrayLike
from shapely.geometry import Polygon

from coldfield.drill import Site
from coldfield.drill.terrain import Plane


def ground_before_m2(site: Site, positions_m: Sequence[ArrayLike]) -> tuple[list[float], float]:
    """Return the ground that a line covers before it reaches each place, and the whole ground, m2.

    Parameters
    ----------
    site : Site
        Boundary and holes; the line begins at the last-seen point, or without one at the entry.
    positions_m : sequence of array_like, shape (2,)
        Places in plan.

    Returns
    -------
    list of float, float
        Areas on the snow. The order depends on the distance from the beginning: the line is assumed
        to work outwards evenly, which is only approximate on slopes and on narrow ground.
    """
    plane = Plane.of(site)

    def laid(ring: ArrayLike) -> list[tuple[float, float]]:
        return [(float(x), float(y)) for x, y in plane.to_snow(ring)]

    ground: shapely.Geometry = Polygon(laid(site.boundary_m))
    for hole in site.holes_m:
        ground = shapely.difference(ground, Polygon(laid(hole)))
    begin = laid([site.last_seen_m or site.entry_m])[0]
    areas = []
    for place in laid([np.asarray(p, dtype=np.float64) for p in positions_m]) if positions_m else []:
        away = float(np.hypot(place[0] - begin[0], place[1] - begin[1]))
        disc = shapely.Point(begin).buffer(away, quad_segs=32)
        areas.append(float(shapely.area(shapely.intersection(ground, disc))))
    return areas, float(shapely.area(ground))
