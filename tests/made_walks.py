"""Simulated runs with known truth: a lane, a reaction, the flux line, splits."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from coldfield.beacon.fluxline import FluxLine, walked_flux_line
from coldfield.beacon.hearing import hear, sources_of
from coldfield.debrief.tracks.device_noise import record
from coldfield.drill import (
    SKILLS,
    Antenna,
    Burial,
    Conditions,
    Drill,
    Receiver,
    Searcher,
    Site,
    Split,
    Splits,
    Transmitter,
)
from coldfield.drill.frame import SiteFrame
from coldfield.drill.recorded import Recorded
from coldfield.drill.terrain import Plane
from recorded_tracks import BOWL, NOON, VARDHOLM

OFF = np.array([[0.2, 0.1], [0.5, -0.3]])
"""The offset of a person from the burial at the strike, and at the end of digging, m."""


def burial(
    who: str = "A",
    at: tuple[float, float] = (22.0, 41.0),
    *,
    azimuth_deg: float = 40.0,
    tilt_deg: float = 10.0,
    depth_m: float = 0.8,
) -> Burial:
    """Return a burial with a set of middle strength."""
    antenna = Antenna(azimuth_rad=float(np.radians(azimuth_deg)), tilt_rad=float(np.radians(tilt_deg)))
    return Burial(
        id=who,
        position_m=at,
        depth_m=depth_m,
        antenna=antenna,
        transmitter=Transmitter(),
        body_azimuth_rad=antenna.azimuth_rad,
    )


def drill(
    *burials: Burial,
    people: tuple[tuple[str, str], ...] = (("s1", "Ines"), ("s2", "Bram")),
    site: Site = BOWL,
    strip_width_m: float | None = 24.0,
) -> Drill:
    """Return a drill on the small bowl; everybody has a set with 45 m range."""
    searchers = tuple(
        Searcher(id=who, name=name, skill=SKILLS["practised"], receiver=Receiver(coaxial_range_m=45.0))
        for who, name in people
    )
    return Drill(
        name="Two on the lower fan",
        site=site,
        burials=burials or (burial(),),
        searchers=searchers,
        conditions=Conditions(strip_width_m=strip_width_m),
    )


@dataclass(frozen=True, eq=False)
class Truth:
    """A true walk and its moments, s since the alarm."""

    t_s: np.ndarray
    position_m: np.ndarray
    heard_s: float
    turn_s: float
    fine_s: float
    low_s: float
    strike_s: float
    clear_s: float
    flux_line: FluxLine


def lane_then_flux_line(
    planned: Drill, *, lane_x_m: float = 45.0, reaction_s: float = 4.0, speed_m_s: float = 1.2
) -> Truth | None:
    """Walk due north along a lane, then the flux line to a 3 m reading, then to the burial.

    None if nothing is heard on the lane, or the direction cannot be followed from the turn.
    """
    terrain, receiver = Plane.of(planned.site), planned.searchers[0].receiver
    sources = sources_of(planned.burials[:1], terrain)
    moments = np.arange(0.0, 110.0, 0.1)
    lane = np.column_stack([np.full(moments.size, lane_x_m), speed_m_s * moments - 10.0])
    audible = hear(sources, receiver, terrain.at(lane, np.ones(moments.size))).audible[:, 0]
    if not audible.any() or audible[0]:
        return None
    heard_s = float(moments[audible.argmax()])
    turn_s = heard_s + reaction_s
    start = np.array([lane_x_m, speed_m_s * turn_s - 10.0])
    line = walked_flux_line(sources, 0, terrain, start, receiver)
    if line.ended != "reading of 3 m" or line.length_m < 8.0:
        return None
    fine_s = turn_s + float(line.walked_s[-1])
    low_s, strike_s, clear_s = fine_s + 25.0, fine_s + 55.0, fine_s + 295.0
    place = np.array(planned.burials[0].position_m)
    t = [0.0, turn_s, *(turn_s + line.walked_s[1:]), low_s, strike_s, clear_s]
    way = [(lane_x_m, -10.0), start, *line.line_m[1:], place, place + OFF[0], place + OFF[1]]
    return Truth(np.array(t), np.array(way), heard_s, turn_s, fine_s, low_s, strike_s, clear_s, line)


def splits_of(truth: Truth, *, searcher: str = "s1", burial: str = "A", late_s: float = 0.0) -> Splits:
    """Return alarm, lowest reading, strike and airway of a walk; the keeper's clock is `late_s` slow."""
    rows = [Split(split="alarm", time_unix_s=NOON + late_s)]
    for kind, t in (
        ("lowest_reading", truth.low_s),
        ("probe_strike", truth.strike_s),
        ("airway_clear", truth.clear_s),
    ):
        rows.append(Split(split=kind, searcher=searcher, burial=burial, time_unix_s=NOON + round(t) + late_s))
    return Splits(rows=tuple(rows))


def recorded_by(
    t_s: np.ndarray, position_m: np.ndarray, *, seed: int, file: str = "s1.gpx", **errors: float
) -> Recorded:
    """Return what a device records along a walk in Vardholm Bowl."""
    t, place = record(t_s, position_m, rng=np.random.default_rng(seed), **errors)
    lat, lon = SiteFrame(VARDHOLM).to_wgs84(place)
    return Recorded(
        file=file,
        name="",
        unix_s=t + NOON,
        place=np.column_stack([lat, lon]),
        segment=np.zeros(t.size, dtype=np.int64),
    )
