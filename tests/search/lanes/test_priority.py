from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from coldfield.drill.grid import Grid
from coldfield.drill.terrain import Plane
from coldfield.search.lanes.abreast import Part
from coldfield.search.lanes.places import ground_places
from coldfield.search.lanes.plan import LATER_SHARE, plan_lanes
from coldfield.search.lanes.priority import Chances, burial_weight, flow_line
from coldfield.search.lanes.snow_axes import Flat, Pace
from coldfield.survival.curves import DEFAULT
from grounds import GROUNDS, people, site

SOUTH_FACE = Plane(slope_rad=np.radians(25.0), aspect_rad=np.pi)


def test_independent_route_flow_line_of_a_plane_and_of_a_gully() -> None:
    line = flow_line(SOUTH_FACE, (10.0, 50.0), length_m=40.0)
    np.testing.assert_allclose(line[-1], [10.0, 10.0], atol=1e-9)
    # z = x^2 / 200 + y / 5: the flow comes to lie in the gully x = 0 and runs south; the path solves
    # dx/dy = x / 20, so x falls by exp(-40 / 20) over 40 m of y. Steps of 2 m: 10 %.
    net = np.arange(-100.0, 101.0, 5.0)
    east, north = np.meshgrid(net, net)
    gully = Grid.over(net, net, east**2 / 200.0 + north / 5.0)
    line = flow_line(gully, (20.0, 60.0), length_m=100.0)
    at = int(np.argmin(np.abs(line[:, 1] - 20.0)))
    assert line[at, 0] == pytest.approx(20.0 * np.exp(-2.0), rel=0.1)


def test_contract_ground_below_weighs_most_and_ground_above_least() -> None:
    places = np.array([[10.0, 30.0], [60.0, 30.0], [10.0, 70.0]])  # below, far aside, above
    below, aside, above = burial_weight(SOUTH_FACE, places, (10.0, 50.0))
    assert below > 4 * aside > 4 * above
    np.testing.assert_allclose(burial_weight(SOUTH_FACE, places, None), 1 / 3)
    assert burial_weight(SOUTH_FACE, places, (10.0, 50.0)).sum() == pytest.approx(1.0)


def test_independent_route_time_of_hearing_by_walking_in_small_steps() -> None:
    flat = Flat(terrain=SOUTH_FACE)
    pace = Pace(flat=flat)
    line, way = np.array([[0.0, 0.0], [60.0, 0.0], [60.0, 30.0]]), np.array([[0.0, -20.0], [0.0, 0.0]])
    places = np.random.default_rng(1).uniform([-10, -20], [90, 60], (200, 2))
    chances = Chances(place_m=places, weight=np.full(200, 1 / 200), half_m=15.0)
    part = Part(searcher=0, line_m=line, way_m=way, seconds=0.0)
    told = chances.heard_s(part, pace, 1.2)
    clock, heard = pace.of_line(way) / 1.2, np.full(200, np.inf)
    for a, b in pairwise(line):
        for share in np.linspace(0.0, 1.0, 600):
            here = a + share * (b - a)
            near = np.hypot(*(places - here).T) <= 15.0
            heard[near & ~np.isfinite(heard)] = clock + share * pace.of_line(np.array([a, b])) / 1.2
        clock += pace.of_line(np.array([a, b])) / 1.2
    both = np.isfinite(heard) & np.isfinite(told)
    assert (np.isfinite(told) >= np.isfinite(heard)).all()
    # Line places stand a quarter of 15 m apart: up to 3.75 m of the steepest walking late.
    # 25 degrees up or down in zigzags: a quarter of the level speed or less, by Tobler.
    assert (np.abs(told[both] - heard[both]) <= 3.75 / 1.2 / 0.2).all()
    alive = DEFAULT.survival(np.where(np.isfinite(told), told, 0.0) + 540.0) * np.isfinite(told)
    assert chances.survivors(told) == pytest.approx(alive.mean())


@pytest.mark.parametrize("name", ["fan, 2 ha", "U", "field, 0.48 ha"])
def test_property_last_seen_costs_little_time_and_no_coverage(name: str) -> None:
    plain = site(GROUNDS[name], slope_deg=20.0)
    top = max(plain.boundary_m, key=lambda place: place[1])
    ground = replace(plain, last_seen_m=(top[0], top[1] - 10.0))
    first, second = (
        plan_lanes(s, people(2), strip_width_m=15.0, sharing="own sectors") for s in (plain, ground)
    )
    assert second.covered_fraction == first.covered_fraction == 1.0
    assert second.seconds <= (1.0 + LATER_SHARE) * first.seconds + 1e-6
    note = next(note for note in second.notes if note.code == "note.below_last_seen")
    after, before = (note.values[name].value for name in ("now", "least"))
    assert after >= before
    places, _ = ground_places(ground, 400)
    assert len(places) > 200
