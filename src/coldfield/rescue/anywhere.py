"""Burials that lie anywhere: positions and directions are drawn again for each run."""

from __future__ import annotations

from dataclasses import replace
from math import asin, pi

import numpy as np
import shapely
from shapely.geometry import Polygon

from coldfield.drill import Antenna, Burial, Drill, Site
from coldfield.errors import OutOfModel
from coldfield.message import message
from coldfield.rescue.draws import Draws, Purpose

MOST_TRIES = 10_000


class Anywhere:
    """Draws the places of a drill's burials in a run: evenly over the ground, in any direction.

    Depths, sets and their number stay as in the drill. On an even slope, areas in plan and on the snow
    are proportional, so a distribution that is even in one is even in the other.

    Raises
    ------
    OutOfModel
        If the ground fills so little of its bounding box that no place can be found.
    """

    def __init__(self, site: Site) -> None:
        ground: shapely.geometry.base.BaseGeometry = Polygon(site.boundary_m)
        for hole in site.holes_m:
            ground = shapely.difference(ground, Polygon(hole))
        self._ground = ground
        shapely.prepare(self._ground)
        self._low = np.min(np.asarray(site.boundary_m), axis=0)
        self._size = np.max(np.asarray(site.boundary_m), axis=0) - self._low

    def drill(self, drill: Drill, *, seed: int, run: int) -> Drill:
        """Return the drill with its burials in other places, always the same for a seed and a run."""
        draws = Draws(seed=seed, run=run)
        return replace(drill, burials=tuple(self._moved(b, j, draws) for j, b in enumerate(drill.burials)))

    def _moved(self, burial: Burial, j: int, draws: Draws) -> Burial:
        for attempt in range(MOST_TRIES):
            u, v, w, z = draws.four(Purpose.POSITION, source=j, index=attempt)
            x, y = self._low + self._size * (u, v)
            if shapely.contains_xy(self._ground, x, y):
                antenna = Antenna(azimuth_rad=2.0 * pi * w, tilt_rad=asin(2.0 * z - 1.0))
                return replace(
                    burial,
                    position_m=(float(x), float(y)),
                    antenna=antenna,
                    body_azimuth_rad=antenna.azimuth_rad,
                )
        raise OutOfModel(message("fault.no_place_found"))
