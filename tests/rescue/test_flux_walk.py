"""The walk of a simulated searcher against the flux line that an error-controlled solver finds."""

from __future__ import annotations

from dataclasses import replace
from math import radians
from typing import Literal

import numpy as np
import pytest
from small_drills import PlainLane, PlainLanes, burial, drill, searcher

from coldfield.beacon.fluxline import walked_flux_line
from coldfield.beacon.hearing import sources_of
from coldfield.drill import SKILLS, Antenna
from coldfield.drill.terrain import Plane
from coldfield.rescue.player.play import play
from coldfield.rescue.settings import SETTINGS


@pytest.mark.parametrize("azimuth_deg", [0.0, 40.0, 75.0, 90.0])
@pytest.mark.parametrize("slope_rad", [0.0, 0.35])
def test_independent_route_an_exact_searcher_walks_the_flux_line(
    azimuth_deg: float, slope_rad: float
) -> None:
    # A direction once a second at 1.4 m/s: the corners cut the curve. Within 6 % and, at each corner,
    # 1.5 m of the line, which is one step.
    exact = replace(SKILLS["practised"], direction_noise_rad=0.0, wrong_way_fraction=0.0, turn_s=0.0)
    there = burial(
        at=(45.0, 62.0), depth_m=1.0, antenna=Antenna(azimuth_rad=radians(azimuth_deg), tilt_rad=0.1)
    )
    made = drill([there], [replace(searcher(), skill=exact)], size_m=90.0, slope_rad=slope_rad)
    lanes = PlainLanes((PlainLane("s1", np.array([[28.0, 0.0], [28.0, 90.0]])),))
    played = play(made, lanes, seed=1, run=0, settings=replace(SETTINGS, definite=True))
    times, trace = played.burials[0], played.traces[0]
    walk = (trace.t_s >= times.turn_s) & (trace.t_s <= times.fine_start_s)
    corners = np.stack([trace.east_m[walk], trace.north_m[walk]], axis=-1)
    plane = Plane.of(made.site)

    # The nearer of the line's two ways to the heading on the lane need not be the shorter one.
    sources, receiver = sources_of(made.burials, plane), made.searchers[0].receiver
    ways: tuple[Literal[1, -1], ...] = (1, -1)
    both = [walked_flux_line(sources, 0, plane, corners[0], receiver, sense=way) for way in ways]
    line = min(both, key=lambda way: abs(way.length_m - plane.length_m(corners)))
    assert plane.length_m(corners) == pytest.approx(line.length_m, rel=0.06, abs=1.5)
    for corner in corners:
        assert np.hypot(*(line.line_m - corner).T).min() < 1.5 + 0.5
