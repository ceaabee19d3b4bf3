"""The ground on which a drill is held."""

from __future__ import annotations

from dataclasses import dataclass

Point = tuple[float, float]
"""Distances east and north from the site's origin, in plan, m."""

Ring = tuple[Point, ...]
"""Corners of a polygon, without repeating the first one at the end."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Origin:
    """The zero point of the site frame, on WGS84."""

    latitude_rad: float
    longitude_rad: float
    elevation_m: float

    @property
    def nowhere(self) -> bool:
        """Whether the ground has no map position: a new drill on a square has latitude and longitude 0."""
        return self.latitude_rad == 0.0 and self.longitude_rad == 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Anchor:
    """A marked place whose position is known; used to align recorded tracks with the plan."""

    name: str
    position_m: Point


@dataclass(frozen=True, slots=True, kw_only=True)
class Site:
    """The ground: its boundary, its holes, its slope and where people come onto it.

    Azimuths are clockwise from true north; `aspect_rad` is the direction that the slope faces,
    downhill. `declination_rad` is magnetic minus true north, or None if unknown.
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
