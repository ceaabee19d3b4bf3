"""Other drills nearby: which of their sets are heard on this ground, and their effect on this drill."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import radians

import numpy as np
from numpy.typing import NDArray

from coldfield.app.hearing.answers import NeighbourAnswer, NeighbourHides, NeighbourSet
from coldfield.app.hearing.map import ground_lines
from coldfield.beacon.hearing import Sources, sources_of
from coldfield.beacon.hearing_grid import hearing_grid
from coldfield.beacon.pulses import Keying, masked_share_in_the_long_run
from coldfield.drill import Burial, Drill, Transmitter
from coldfield.drill.frame import SiteFrame
from coldfield.drill.site import Origin
from coldfield.drill.terrain import Plane
from coldfield.errors import BadInput
from coldfield.files.drill_json import drill_from
from coldfield.message import message, number
from coldfield.records.database import Database
from coldfield.records.near import NearDrill, drills_near
from coldfield.records.store import Store

FARTHEST_M = 2000.0
"""Sites farther apart than this are not neighbours, because no signal reaches that far. Setting."""

LINES = 80
NOTES = (
    message("note.laid_side_by_side"),
    message("note.free_space_definite"),
)


def near_drills(
    database: Database,
    *,
    latitude_deg: float,
    longitude_deg: float,
    within_m: float = 500.0,
    without: str | None = None,
) -> list[NearDrill]:
    """Return the recorded drills whose origin is near a place, nearest first.

    Drills without a map position yet (origin 0, 0) are left out, and have no neighbours.

    Raises
    ------
    BadInput
        If the search radius is above 2 km.
    """
    if not 0.0 <= within_m <= FARTHEST_M:
        raise BadInput(message("fault.from_to", low=0, high=number(FARTHEST_M, 0)).at("within_m"))
    place = Origin(latitude_rad=radians(latitude_deg), longitude_rad=radians(longitude_deg), elevation_m=0.0)
    if place.nowhere:
        return []
    with database.read() as connection:
        return drills_near(
            connection,
            latitude_rad=place.latitude_rad,
            longitude_rad=place.longitude_rad,
            within_m=within_m,
            without=without,
        )


def neighbour_on_record(database: Database, drill: Drill, neighbour_id: str) -> NeighbourAnswer:
    """Return which sets of a recorded drill are heard on a drill's ground, and which pulses they hide.

    The neighbour's current burials are placed on this plan by the two origins.

    Raises
    ------
    UnknownRecord
        If there is no such drill.
    """
    with database.read() as connection:
        record = Store(connection, database.stamp()).get("drills", neighbour_id)
    moved = laid_over(drill, drill_from(record["document"], record["name"]))
    sets, loud = _sets(drill, moved)
    return NeighbourAnswer(
        id=neighbour_id, name=record["name"], sets=sets, burials=_hidden(drill, loud), notes=NOTES
    )


def _sets(drill: Drill, moved: Sequence[Burial]) -> tuple[tuple[NeighbourSet, ...], list[Transmitter]]:
    """Return the sets of a neighbour on this plan, and the transmitters that at least one searcher hears."""
    terrain = Plane.of(drill.site)
    heard, share, lowest = _heard(drill, sources_of(moved, terrain), terrain)
    sets, loud = [], []
    sent = ((b, b.transmitter) for b in moved)
    for k, (burial, transmitter) in enumerate((b, t) for b, t in sent if t is not None):
        east, north = burial.position_m
        sets.append(
            NeighbourSet(
                id=burial.id,
                position_m=(round(east, 2), round(north, 2)),
                heard_by=tuple(s.id for s, yes in zip(drill.searchers, heard[:, k], strict=True) if yes),
                ground_share=float(share[k]),
                lowest_reading_m=None if np.isinf(lowest[k]) else float(lowest[k]),
            )
        )
        if heard[:, k].any():
            loud.append(transmitter)
    return tuple(sets), loud


def laid_over(drill: Drill, other: Drill) -> list[Burial]:
    """Return the burials of another drill on this one's plan; the two origins align both plans."""
    here, there = SiteFrame(drill.site.origin), SiteFrame(other.site.origin)
    here.refuse_nowhere()
    moved = []
    for burial in other.burials:
        east, north = here.from_wgs84(*there.on_earth(burial.position_m))
        moved.append(replace(burial, position_m=(float(east), float(north))))
    return moved


def _heard(
    drill: Drill, sources: Sources, terrain: Plane
) -> tuple[NDArray[np.bool_], NDArray[np.float64], NDArray[np.float64]]:
    """Return who hears each set (searchers, sets), on what share of the ground, and its lowest reading."""
    from shapely import Polygon, contains_xy

    east, north = ground_lines(drill, LINES, 0.0)
    ground = Polygon(drill.site.boundary_m, drill.site.holes_m)
    inside = contains_xy(ground, *np.meshgrid(east, north))
    count = len(sources.ids)
    heard = np.zeros((len(drill.searchers), count), dtype=np.bool_)
    anywhere = np.zeros((count, int(inside.sum())), dtype=np.bool_)
    lowest = np.full(count, np.inf)
    if not count or not inside.any():
        return heard, np.zeros(count), lowest
    for k, searcher in enumerate(drill.searchers):
        for heading_rad in (0.0, 0.5 * np.pi):
            grid = hearing_grid(
                sources,
                searcher.receiver,
                terrain,
                east_m=east,
                north_m=north,
                heading_rad=heading_rad,
                noise_rise_db=drill.conditions.noise_rise_db,
            )
            audible = grid.signal[:, inside] >= 1.0
            heard[k] |= audible.any(axis=1)
            anywhere |= audible
            reading = np.where(audible, grid.raw_reading_m[:, inside], np.inf)
            lowest = np.minimum(lowest, reading.min(axis=1))
    return heard, anywhere.mean(axis=1), lowest


def _hidden(drill: Drill, loud: list[Transmitter]) -> tuple[NeighbourHides, ...]:
    own = [(b.id, _keying(b.transmitter)) for b in drill.burials if b.transmitter is not None]
    foreign = tuple(_keying(one) for one in loud)
    rows = []
    for k, (name, keying) in enumerate(own):
        others = tuple(key for j, (_, key) in enumerate(own) if j != k)
        alone = masked_share_in_the_long_run(keying, others)
        both = masked_share_in_the_long_run(keying, others + foreign)
        rows.append(NeighbourHides(id=name, alone_share=alone, with_share=both))
    return tuple(rows)


def _keying(one: Transmitter) -> Keying:
    return Keying(period_s=one.period_s, pulse_s=one.pulse_s, phase_s=one.phase_s)
