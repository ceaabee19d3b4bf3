"""Where a set was hidden, from taped distances or paces, in the site frame."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import cos, hypot, radians, sin, sqrt

from coldfield.files.day_places import PacedPlace, Place, TapedPlace

Point = tuple[float, float]

TAPE_SPARE_M = 0.5
"""The gap between two taped circles up to which they count as touching, m. Setting."""


def place_m(place: Place | None, anchors: Mapping[str, Sequence[float]]) -> Point | None:
    """Return a place in site coordinates (east, north), m; None if it is unknown.

    Parameters
    ----------
    place : TapedPlace, PacedPlace, PlannedPlace or ToldPlace, optional
        How the place was recorded. Distances and paces are measured in plan.
    anchors : mapping of str to (2,) sequence
        The places known by name, m.
    """
    if isinstance(place, TapedPlace):
        return _taped(place, anchors)
    if isinstance(place, PacedPlace) and place.start in anchors:
        east, north = anchors[place.start]
        way_m, towards = place.paces * place.pace_m, radians(place.towards_deg)
        return (round(east + way_m * sin(towards), 2), round(north + way_m * cos(towards), 2))
    return None


def _taped(place: TapedPlace, anchors: Mapping[str, Sequence[float]]) -> Point | None:
    """Return where the circles meet, on the given side of the line from the first anchor to the second."""
    first, second = place.anchors
    if first.anchor not in anchors or second.anchor not in anchors:
        return None
    (ax, ay), (bx, by) = anchors[first.anchor], anchors[second.anchor]
    apart = hypot(bx - ax, by - ay)
    if apart == 0:
        return None
    along = (first.distance_m**2 - second.distance_m**2 + apart**2) / (2 * apart)
    beside_2 = first.distance_m**2 - along**2
    if beside_2 < 0 and abs(along) - first.distance_m > TAPE_SPARE_M:
        return None
    beside = sqrt(max(beside_2, 0.0)) * (1 if place.side == "left" else -1)
    ux, uy = (bx - ax) / apart, (by - ay) / apart
    return (round(ax + along * ux - beside * uy, 2), round(ay + along * uy + beside * ux, 2))
