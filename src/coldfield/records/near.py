"""Drills whose sites lie near a place."""

from __future__ import annotations

from dataclasses import dataclass
from math import asin, cos, degrees, pi, radians, sin, sqrt
from typing import Any

from sqlalchemy import Connection, Float, Select, and_, select

from coldfield.records.schema import drill, drill_version

EARTH_RADIUS_M = 6_371_009.0
"""Mean radius of the ellipsoid, m: exact enough to sort drills by distance."""


@dataclass(frozen=True, slots=True, kw_only=True)
class NearDrill:
    """A drill, its newest version, and the distance of its origin from the given place, m."""

    id: str
    name: str
    drill_version: int
    changed_utc: str
    distance_m: float


def drills_near(
    connection: Connection,
    *,
    latitude_rad: float,
    longitude_rad: float,
    within_m: float,
    without: str | None = None,
    limit: int = 50,
) -> list[NearDrill]:
    """Return drills whose origin lies near a place, the nearest first.

    Parameters
    ----------
    connection : Connection
        From `Database.read`.
    latitude_rad, longitude_rad : float
        The place, WGS84.
    within_m : float
        Greatest distance of an origin, m.
    without : str, optional
        The id of a drill to leave out: the one for which neighbours are sought.
    limit : int
        Greatest number of drills.

    Notes
    -----
    Distances are great circles on a sphere, within 0.6 % of those on the ellipsoid. Not valid within a
    degree of a pole or across longitude 180, where nobody practises.
    """
    here_deg = degrees(latitude_rad), degrees(longitude_rad)
    reach = degrees(within_m / EARTH_RADIUS_M) * 1.01
    query = _in_box(here_deg, reach, reach / max(cos(latitude_rad), 0.017), without)
    found = [
        NearDrill(
            id=row.id,
            name=row.name,
            drill_version=row.drill_version,
            changed_utc=row.changed_utc,
            distance_m=_apart_m(latitude_rad, longitude_rad, radians(row.latitude), radians(row.longitude)),
        )
        for row in connection.execute(query)
    ]
    near = [one for one in found if one.distance_m <= within_m]
    return sorted(near, key=lambda one: (one.distance_m, one.name, one.id))[:limit]


def _in_box(here_deg: tuple[float, float], reach: float, across: float, without: str | None) -> Select[Any]:
    """Return the query for drills within a number of degrees north and south, east and west."""
    origin = drill_version.c.document["site"]["origin"]
    latitude = origin["latitude_deg"].as_float()
    longitude = origin["longitude_deg"].as_float()
    return (
        select(
            drill.c.id,
            drill.c.name,
            drill.c.drill_version,
            drill.c.changed_utc,
            latitude.cast(Float).label("latitude"),
            longitude.cast(Float).label("longitude"),
        )
        .join(
            drill_version,
            and_(drill_version.c.drill_id == drill.c.id, drill_version.c.number == drill.c.drill_version),
        )
        .where(drill.c.deletion_id.is_(None), drill.c.id != (without or ""))
        .where(latitude.between(here_deg[0] - reach, here_deg[0] + reach))
        .where(longitude.between(here_deg[1] - across, here_deg[1] + across))
    )


def _apart_m(lat1: float, lon1: float, lat2: float, lon2: float) -> float:
    """Length of the great circle by the haversine, m."""
    turn = (lon2 - lon1 + pi) % (2.0 * pi) - pi
    h = sin((lat2 - lat1) / 2.0) ** 2 + cos(lat1) * cos(lat2) * sin(turn / 2.0) ** 2
    return 2.0 * EARTH_RADIUS_M * asin(sqrt(min(h, 1.0)))
