"""Small drills for tests, and many different ones drawn from a numbered generator."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import pi, radians

import numpy as np

from coldfield.drill import (
    SKILLS,
    Antenna,
    Burial,
    Conditions,
    Drill,
    Origin,
    Receiver,
    Searcher,
    Site,
    Transmitter,
)


@dataclass(frozen=True)
class PlainLane:
    searcher: str
    line_m: np.ndarray


@dataclass(frozen=True)
class PlainLanes:
    lanes: tuple[PlainLane, ...]


def burial(name: str = "A", at=(20.0, 30.0), depth_m: float = 1.0, **changes) -> Burial:
    made = Burial(
        id=name,
        position_m=(float(at[0]), float(at[1])),
        depth_m=depth_m,
        antenna=Antenna(azimuth_rad=0.6, tilt_rad=0.2),
        transmitter=Transmitter(),
        body_azimuth_rad=0.6,
    )
    return replace(made, **changes)


def searcher(name: str = "s1", skill: str = "practised", **changes) -> Searcher:
    made = Searcher(id=name, name=name, skill=SKILLS[skill], receiver=Receiver(coaxial_range_m=40.0))
    return replace(made, **changes)


def drill(
    burials=None, searchers=None, *, size_m: float = 40.0, slope_rad: float = 0.0, **conditions
) -> Drill:
    site = Site(
        origin=Origin(latitude_rad=radians(61.2), longitude_rad=radians(8.1), elevation_m=1180.0),
        boundary_m=((0.0, 0.0), (size_m, 0.0), (size_m, size_m), (0.0, size_m)),
        entry_m=(0.5 * size_m, 0.0),
        slope_rad=slope_rad,
        aspect_rad=pi,
    )
    return Drill(
        name="small",
        site=site,
        burials=tuple(burials if burials is not None else [burial()]),
        searchers=tuple(searchers if searchers is not None else [searcher()]),
        conditions=Conditions(**conditions),
    )


def straight_lanes(made: Drill, *, width_m: float = 20.0) -> PlainLanes:
    """One lane up the ground per searcher, side by side; searchers without room get none."""
    east = max(x for x, _ in made.site.boundary_m)
    north = max(y for _, y in made.site.boundary_m)
    lanes = []
    for k, who in enumerate(made.searchers):
        x = (k + 0.5) * width_m
        if x < east:
            lanes.append(PlainLane(who.id, np.array([[x, 0.0], [x, north]])))
    return PlainLanes(tuple(lanes))


def drawn_drill(number: int) -> Drill:
    """Return a drill that looks different for each number: people, depths, slopes, gear, faults."""
    rng = np.random.default_rng([number, 457])
    size = float(rng.uniform(20.0, 45.0))
    burials = []
    for j in range(int(rng.choice([1, 2, 3, 4], p=[0.4, 0.35, 0.15, 0.1]))):
        has_set = rng.random() > 0.12
        burials.append(
            burial(
                f"B{j}",
                rng.uniform(0.1 * size, 0.95 * size, 2),
                float(rng.choice([0.4, 0.8, 1.3, 2.0, 2.8])),
                antenna=Antenna(azimuth_rad=rng.uniform(0, 2 * pi), tilt_rad=rng.uniform(-1.5, 1.5)),
                transmitter=Transmitter(
                    field_at_10m_a_per_m=rng.uniform(0.5e-6, 2.2e-6),
                    period_s=rng.uniform(0.8, 1.2),
                    pulse_s=rng.uniform(0.07, 0.2),
                    phase_s=rng.uniform(0, 0.8),
                )
                if has_set
                else None,
                body_azimuth_rad=rng.uniform(0, 2 * pi),
                outline=str(rng.choice(["person", "sack"])),
            )
        )
    people = []
    for s in range(int(rng.integers(1, 6))):
        antennas = int(rng.choice([1, 2, 3], p=[0.15, 0.25, 0.6]))
        receiver = Receiver(
            coaxial_range_m=rng.uniform(12.0, 40.0),
            antennas=antennas,
            antenna_factors=((1.0,), (1.0, rng.uniform(1, 2)), (1.0, 1.2, 3.0))[antennas - 1],
            turning=bool(rng.random() < 0.15),
            marking=bool(rng.random() < 0.7),
        )
        people.append(
            searcher(
                f"s{s}",
                str(rng.choice(["novice", "practised", "expert"])),
                receiver=receiver,
                probe_length_m=None if rng.random() < 0.15 else float(rng.choice([1.8, 2.4, 3.2])),
                shovel=bool(rng.random() < 0.85),
            )
        )
    return drill(
        burials,
        people,
        size_m=size,
        slope_rad=float(rng.uniform(0, 0.6)),
        noise_rise_db=float(rng.choice([0.0, 0.0, 6.0, 12.0])),
        travel=str(rng.choice(["on foot", "on ski", "on snowshoe"])),
        snow_density_kg_m3=float(rng.uniform(300, 500)),
    )
