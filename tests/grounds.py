"""Invented grounds for planning lanes: usual ones, and difficult shapes."""

from __future__ import annotations

from math import cos, pi, sin, sqrt

import numpy as np
import shapely

from coldfield.drill.searcher import Receiver, Searcher
from coldfield.drill.site import Origin, Ring, Site
from coldfield.drill.skills import SKILLS

Shape = tuple[Ring, tuple[Ring, ...]]


def _box(west: float, south: float, east: float, north: float) -> Ring:
    return ((west, south), (east, south), (east, north), (west, north))


def _round(x: float, y: float, radius: float, corners: int = 12) -> Ring:
    turns = [2 * pi * k / corners for k in range(corners)]
    return tuple((x + radius * cos(t), y + radius * sin(t)) for t in turns)


def _fan(area_m2: float) -> Ring:
    """A run-out fan: narrow above, wide below."""
    ring = [
        (0.45, 1.0),
        (0.55, 1.0),
        (0.62, 0.6),
        (0.85, 0.3),
        (1.0, 0.05),
        (0.6, 0.0),
        (0.3, 0.02),
        (0.0, 0.1),
    ]
    ring += [(0.2, 0.35), (0.38, 0.6)]
    scale = sqrt(area_m2 / shapely.Polygon(ring).area)
    return tuple((scale * x, scale * y) for x, y in ring)


def _wandering(area_m2: float, corners: int, seed: int) -> Ring:
    """A boundary as walked with a phone: many unintended corners."""
    rng = np.random.default_rng(seed)
    turn = np.linspace(0, 2 * pi, corners, endpoint=False)
    radius = 1.0 + sum(rng.normal(0, 0.12 / k) * np.cos(k * turn + rng.uniform(0, 6)) for k in range(2, 9))
    ring = np.column_stack([radius * np.cos(turn), radius * np.sin(turn)])
    ring *= sqrt(area_m2 / shapely.Polygon(ring).area)
    return tuple(map(tuple, ring.tolist()))


def _comb(teeth: int) -> Ring:
    ring = [(0.0, 0.0), (40.0 * teeth - 20.0, 0.0)]
    for k in reversed(range(teeth)):
        west = 40.0 * k
        ring += [(west + 20.0, 90.0), (west, 90.0)]
        if k:
            ring += [(west, 20.0), (west - 20.0, 20.0)]
    return tuple(ring)


def _spiral() -> Ring:
    way = [(0, 0), (120, 0), (120, 120), (20, 120), (20, 40), (80, 40), (80, 80)]
    band = shapely.LineString(way).buffer(9.0, cap_style="flat", join_style="mitre")
    return tuple(band.exterior.coords[:-1])


GROUNDS: dict[str, Shape] = {
    "field, 0.48 ha": (_box(0, 0, 60, 80), ()),
    "small square, 0.05 ha": (_box(0, 0, 22.4, 22.4), ()),
    "long track, 0.5 ha": (_box(0, 0, 500, 10), ()),
    "large square, 20 ha": (_box(0, 0, 447, 447), ()),
    "triangle": (((0, 0), (150, 0), (20, 90)), ()),
    "sliver, 2 m at one end": (((0, 0), (300, 0), (300, 25), (0, 2)), ()),
    "spike": (((0, 0), (60, 0), (60, 60), (35, 60), (30, 200), (25, 60), (0, 60)), ()),
    "L": (((0, 0), (100, 0), (100, 40), (40, 40), (40, 120), (0, 120)), ()),
    "U": (((0, 0), (120, 0), (120, 100), (90, 100), (90, 30), (30, 30), (30, 100), (0, 100)), ()),
    "cross": (
        (
            (40, 0),
            (80, 0),
            (80, 40),
            (120, 40),
            (120, 80),
            (80, 80),
            (80, 120),
            (40, 120),
            (40, 80),
            (0, 80),
            (0, 40),
            (40, 40),
        ),
        (),
    ),
    "hour-glass": (((0, 0), (100, 0), (54, 60), (100, 120), (0, 120), (46, 60)), ()),
    "comb of three": (_comb(3), ()),
    "spiral of 18 m": (_spiral(), ()),
    "star": (tuple((r * cos(pi * k / 6), r * sin(pi * k / 6)) for k, r in enumerate([90, 35] * 6)), ()),
    "fan, 2 ha": (_fan(2e4), ()),
    "fan, 8 ha": (_fan(8e4), ()),
    "tongue across the strips": (
        ((0, 0), (80, 0), (80, 42), (160, 42), (160, 47), (80, 47), (80, 90), (0, 90)),
        (),
    ),
    "ring": (_round(0, 0, 70, 24), (_round(0, 0, 40, 16),)),
    "island near the edge": (_box(0, 0, 120, 80), (_box(50, 1.5, 80, 30),)),
    "many small holes": (
        _box(0, 0, 140, 100),
        tuple(_round(20 + 25 * i, 18 + 22 * j, 2 + (i + j) % 4, 8) for i in range(5) for j in range(4)),
    ),
    "2 ha with holes": (
        _box(0, 0, 180, 110),
        (_box(30, 30, 60, 60), ((100, 50), (140, 60), (120, 90))),
    ),
    "wall with a gate": (_box(0, 0, 150, 90), (_box(74, 6, 76, 89.5),)),
    "walked boundary, 3 ha": (_wandering(3e4, 300, 4), ()),
    "walked boundary with holes, 6 ha": (_wandering(6e4, 240, 9), (_round(20, 10, 15), _round(-40, -30, 9))),
}
"""Name -> boundary and holes, m."""


def site(shape: Shape, *, slope_deg: float = 0.0, aspect_deg: float = 180.0) -> Site:
    """The ground with its entry at the southernmost corner."""
    boundary, holes = shape
    return Site(
        origin=Origin(latitude_rad=1.0, longitude_rad=0.1, elevation_m=1200.0),
        boundary_m=boundary,
        holes_m=holes,
        entry_m=min(boundary, key=lambda place: (round(place[1], 6), place[0])),
        slope_rad=np.radians(slope_deg),
        aspect_rad=np.radians(aspect_deg),
    )


def people(count: int, skill: str = "practised") -> list[Searcher]:
    """A number of equal searchers."""
    receiver = Receiver(coaxial_range_m=45.0)
    return [Searcher(id=f"s{i}", name=f"S{i}", skill=SKILLS[skill], receiver=receiver) for i in range(count)]
