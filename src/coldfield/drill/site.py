"""The ground a drill is held on."""

from __future__ import annotations

from dataclasses import dataclass

Point = tuple[float, float]
"""East and north of the site's origin, m, in plan."""

Ring = tuple[Point, ...]
"""Corners of a polygon, without repeating the first one at the end."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Origin:
    """Where the site frame has its zero, on the WGS84 ellipsoid."""

    latitude_rad: float
    longitude_rad: float
    elevation_m: float

    @property
    def nowhere(self) -> bool:
        """Whether nobody has told where on Earth the ground lies: a drill on a square begins at 0, 0."""
        return self.latitude_rad == 0.0 and self.longitude_rad == 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Anchor:
    """A marked place whose position is known: used to lay recorded tracks onto the plan."""

    name: str
    position_m: Point


@dataclass(frozen=True, slots=True, kw_only=True)
class Site:
    """The ground: its boundary, its holes, its slope and where people come onto it.

    Azimuths run clockwise from true north; `aspect_rad` is the way the slope faces, downhill.
    `declination_rad` is magnetic minus true north, None where nobody told it.
    """

    origin: Origin
    boundary_m: Ring
    entry_m: Point
    holes_m: tuple[Ring, ...] = ()
    slope_rad: float = 0.0
    aspect_rad: float = 0.0
    declination_rad: float | None = None
    last_seen_m: Point | None = None
    anchors: tuple[Anchor, ...] = ()
