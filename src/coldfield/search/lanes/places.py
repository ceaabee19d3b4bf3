"""Evenly spaced places on the ground, at which values are computed."""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray

from coldfield.drill.site import Site


def ground_places(site: Site, most: int) -> tuple[NDArray[np.float64], float]:
    """Return about `most` evenly spaced places on the ground, (n, 2) in plan, and their spacing, m."""
    ground = shapely.Polygon(site.boundary_m, site.holes_m)
    step = float(np.sqrt(ground.area / most))
    west, south, east, north = ground.bounds
    net = np.stack(
        np.meshgrid(np.arange(west + step / 2, east, step), np.arange(south + step / 2, north, step)), axis=-1
    ).reshape(-1, 2)
    inside = net[shapely.contains_xy(ground, net)]
    return (inside if len(inside) else np.array([ground.representative_point().coords[0]])), step
