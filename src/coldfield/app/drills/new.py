"""Begin a drill from a boundary drawn in a map program."""

from __future__ import annotations

from math import degrees, radians
from pathlib import Path

import numpy as np

from coldfield.app.drills.files import read_bytes
from coldfield.drill.check import ground_faults
from coldfield.drill.conditions import Conditions
from coldfield.drill.drill import Drill
from coldfield.drill.frame import SiteFrame
from coldfield.drill.searcher import Receiver, Searcher
from coldfield.drill.site import Anchor, Origin, Point, Ring, Site
from coldfield.drill.skills import SKILLS
from coldfield.errors import BadInput
from coldfield.files.boundary import MOST_BYTES, Boundary, Place, read_boundary
from coldfield.message import length, message

LARGEST_M = 4000.0
"""The largest width of the ground, and the largest distance of an anchor from the origin, m."""

MOST_ANCHORS = 50


def new_drill(
    boundary_path: Path | str, *, name: str, elevation_m: float | None = None, searchers: int = 2
) -> Drill:
    """Return a drill on a boundary from a GeoJSON or GPX file: no burials yet, entry at its south edge.

    The origin is the south-west corner of the ground; named points of the file become anchors.

    Parameters
    ----------
    boundary_path : path
        The file.
    name : str
        The drill's name.
    elevation_m : float, optional
        Elevation of the ground, m; default: the file's mean elevation, else 0.
    searchers : int
        The number of searchers; each has practised skill and a set that reaches 40 m on the axis.

    Raises
    ------
    BadInput
        If the file cannot be used as ground, with every fault.
    """
    data = read_bytes(boundary_path, most_bytes=MOST_BYTES + 1)
    return drill_on_boundary(
        data, str(boundary_path), name=name, elevation_m=elevation_m, searchers=searchers
    )


def drill_on_boundary(
    data: bytes, source: str, *, name: str, elevation_m: float | None = None, searchers: int = 2
) -> Drill:
    """Return the drill of `new_drill` from a file's bytes; `source` is its name, put before each fault.

    Raises
    ------
    BadInput
        If the file cannot be used as ground, with every fault.
    """
    return _begun(name, site_from(data, source, elevation_m=elevation_m), searchers)


def drill_on_square(*, name: str, side_m: float = 60.0, searchers: int = 2) -> Drill:
    """Return a new drill on a level square of snow, with the entry in the middle of its south side.

    The square has no map position yet: its origin is 0, 0. That matters only for files
    with coordinates (tracks, lanes for a phone).

    Parameters
    ----------
    name : str
        The drill's name.
    side_m : float
        Side of the square, m.
    searchers : int
        How many people search, as in `new_drill`.
    """
    side = round(side_m, 2)
    site = Site(
        origin=Origin(latitude_rad=0.0, longitude_rad=0.0, elevation_m=0.0),
        boundary_m=((0.0, 0.0), (side, 0.0), (side, side), (0.0, side)),
        entry_m=(side / 2, 0.0),
    )
    return _begun(name, site, searchers)


def _begun(name: str, site: Site, searchers: int) -> Drill:
    people = tuple(
        Searcher(
            id=f"s{i}",
            name=f"Searcher {i}",
            skill=SKILLS["practised"],
            receiver=Receiver(coaxial_range_m=40.0),
        )
        for i in range(1, searchers + 1)
    )
    return Drill(name=name, site=site, burials=(), searchers=people, conditions=Conditions())


def site_from(
    data: bytes, source: str, *, elevation_m: float | None = None, near: Origin | None = None
) -> Site:
    """Return the ground in a GeoJSON or GPX file as a level site, entry at its south edge.

    Parameters
    ----------
    data : bytes
        The file.
    source : str
        Its name, put before each fault.
    elevation_m : float, optional
        Elevation of the ground, m; default: the file's mean elevation, else 0.
    near : Origin, optional
        An origin to keep, with its elevation, if the ground lies within 4 km of it, so that what is
        placed already stays where it is; otherwise the origin is the south-west corner of the ground.

    Raises
    ------
    BadInput
        If the file cannot be used as ground, with every fault.
    """
    drawn = read_boundary(data, source)
    if near is not None and _within(drawn, near):
        origin = near
    else:
        height_m = elevation_m if elevation_m is not None else (drawn.elevation_m or 0.0)
        origin = Origin(
            latitude_rad=radians(min(lat for lat, _ in drawn.outer)),
            longitude_rad=radians(min(lon for _, lon in drawn.outer)),
            elevation_m=height_m,
        )
    return _site(drawn, origin, source)


def _within(drawn: Boundary, near: Origin) -> bool:
    corners = np.array(_metres(SiteFrame(near), drawn.outer))
    return bool(np.abs(corners).max() <= LARGEST_M)


def _site(drawn: Boundary, origin: Origin, source: str) -> Site:
    frame = SiteFrame(origin)
    boundary = _metres(frame, drawn.outer)
    holes = tuple(_metres(frame, hole) for hole in drawn.holes)
    extent = float(np.ptp(np.array(boundary), axis=0).max())
    if extent > LARGEST_M:
        raise BadInput(message("fault.ground_too_wide", wide=length(extent), most=length(LARGEST_M)), source)
    faults = ground_faults(boundary, holes)
    if faults:
        raise BadInput(faults, source)
    south = sorted(boundary, key=lambda p: p[1])[:2]
    named = [(words[:200], _metres(frame, (place,))[0]) for words, place in dict(drawn.places).items()]
    near = [Anchor(name=words, position_m=at) for words, at in named if max(map(abs, at)) <= LARGEST_M]
    return Site(
        origin=Origin(
            latitude_rad=radians(round(degrees(origin.latitude_rad), 9)),
            longitude_rad=radians(round(degrees(origin.longitude_rad), 9)),
            elevation_m=round(origin.elevation_m, 1),
        ),
        boundary_m=boundary,
        holes_m=holes,
        entry_m=(round((south[0][0] + south[1][0]) / 2, 2), round((south[0][1] + south[1][1]) / 2, 2)),
        anchors=tuple(near[:MOST_ANCHORS]),
    )


def _metres(frame: SiteFrame, places: tuple[Place, ...]) -> Ring:
    degrees_ = np.array(places)
    xy = frame.from_wgs84(np.radians(degrees_[:, 0]), np.radians(degrees_[:, 1]))
    return tuple(_centimetres(p) for p in xy)


def _centimetres(xy: np.ndarray) -> Point:
    return (round(float(xy[0]), 2) + 0.0, round(float(xy[1]), 2) + 0.0)
