from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapely import LineString, Point, Polygon

from coldfield.debrief.ground.sweep import swept_ground
from coldfield.debrief.ground.swept_ways import Searched, swept_in
from coldfield.drill.terrain import Plane
from recorded_tracks import BOWL


def test_independent_route_shapely_finds_the_same_area() -> None:
    path = np.array([[15.0, -5.0], [15.0, 60.0], [40.0, 70.0]])
    swept = swept_ground(BOWL, {"s1": [path]}, Plane(), strip_width_m=20.0, accuracy_m={"s1": 3.0, "s2": 3.0})
    ground = Polygon(BOWL.boundary_m)
    expected = LineString(path).buffer(10.0, quad_segs=64).intersection(ground).area / ground.area
    assert swept.fraction == pytest.approx(expected, abs=0.004)  # half a cell along the edge of 4,800 m2


def test_independent_route_on_a_slope_strips_are_narrower_in_plan() -> None:
    # Walked along the contour on 40 degrees, a strip of 20 m on the snow covers 20 cos 40 = 15.3 m in plan.
    slope = float(np.radians(40.0))
    site = replace(BOWL, slope_rad=slope, aspect_rad=float(np.pi))
    path = np.array([[-20.0, 40.0], [80.0, 40.0]])
    swept = swept_ground(
        site,
        {"s1": [path]},
        Plane.of(site),
        strip_width_m=20.0,
        accuracy_m={"s1": 3.0, "s2": 3.0},
        cell_m=0.25,
    )
    assert swept.fraction == pytest.approx(20.0 * np.cos(slope) / 80.0, abs=0.004)


def test_contract_runs_describe_the_raster_and_holes_do_not_count() -> None:
    site = replace(BOWL, holes_m=(((20, 20), (40, 20), (40, 40), (20, 40)),))
    path = np.array([[30.0, 0.0], [30.0, 80.0]])
    swept = swept_ground(site, {"s1": [path]}, Plane(), strip_width_m=40.0, accuracy_m={"s1": 3.0, "s2": 3.0})
    assert sum(swept.runs()) == 60 * 80
    flags = np.repeat(np.arange(len(swept.runs())) % 2 == 1, swept.runs()).reshape(80, 60)
    assert not flags[20:40, 20:40].any()
    assert flags[0, 10:50].all()
    assert swept.fraction == pytest.approx((40 * 80 - 400) / (60 * 80 - 400), abs=1e-9)


def test_contract_a_gap_between_strips_is_told_from_ground_not_reached() -> None:
    # Lanes at x = 10 and 45 with strips of 20 m leave 20 to 35 between them, and 55 to 60 at the edge.
    lanes = [np.array([[x, -10.0], [x, 90.0]]) for x in (10.0, 45.0)]
    swept = swept_ground(BOWL, {"s1": lanes}, Plane(), strip_width_m=20.0, accuracy_m={"s1": 3.0, "s2": 3.0})
    between, rim = swept.gaps
    assert between.area_m2 == pytest.approx(15 * 80, rel=0.01)
    assert between.width_m == pytest.approx(15.0, abs=1.0)
    assert between.enclosed
    assert between.exceeds_accuracy
    assert rim.width_m == pytest.approx(5.0, abs=1.5)
    assert not rim.enclosed
    assert not rim.exceeds_accuracy
    assert 20 <= between.position_m[0] <= 35


def test_contract_overlap_counts_people_and_nobody_sweeps_nothing() -> None:
    lane = [np.array([[30.0, -10.0], [30.0, 90.0]])]
    both = swept_ground(
        BOWL, {"s1": lane, "s2": lane}, Plane(), strip_width_m=30.0, accuracy_m={"s1": 3.0, "s2": 3.0}
    )
    assert both.overlap_fraction == both.fraction == pytest.approx(0.5)
    none = swept_ground(BOWL, {"s1": []}, Plane(), strip_width_m=30.0, accuracy_m={"s1": 3.0, "s2": 3.0})
    assert none.fraction == 0.0
    assert len(none.gaps) == 1


def test_contract_a_gap_is_surely_one_only_where_the_tracks_are_known_well_enough() -> None:
    # Two people leave 15 m between their strips. To sweep most of its middle, one of them must be off by
    # about 7 m towards it: probability 1/12 each with a deviation of 5 m, 1/4000 with 2 m.
    lanes = {who: np.array([[x, -10.0], [x, 90.0]]) for who, x in (("s1", 10.0), ("s2", 45.0))}
    rng = np.random.default_rng(4)
    known = {}
    for sd_m in (2.0, 5.0):
        off = sd_m * rng.standard_normal((len(lanes), 100, 1, 2))
        ways = [
            Searched(Plane().to_snow(line + mine), np.ones((100, 2), bool))
            for line, mine in zip(lanes.values(), off, strict=True)
        ]
        paths = {who: [line] for who, line in lanes.items()}
        accuracy = dict.fromkeys(lanes, sd_m)
        swept = swept_ground(BOWL, paths, Plane(), strip_width_m=20.0, accuracy_m=accuracy, ways=ways)
        known[sd_m] = max(swept.gaps, key=lambda gap: gap.area_m2)
        # Each strip is 20 m of 60: parts outside the ground are lost, overlaps count once.
        assert swept.fraction == pytest.approx(40.0 / 60.0, abs=swept.fraction_uncertainty)
    assert known[2.0].surely
    assert not known[5.0].surely


def test_independent_route_places_swept_in_each_way_are_those_shapely_finds() -> None:
    rng = np.random.default_rng(5)
    place = rng.uniform(0.0, 60.0, (3, 12, 2))
    searching = rng.random((3, 12)) < 0.7
    cells = rng.uniform(0.0, 60.0, (200, 2))
    swept = swept_in([Searched(place, searching)], cells, 5.0)
    for way, on, mine in zip(place, searching, swept, strict=True):
        steps = [LineString(way[i : i + 2]) for i in range(11) if on[i]]
        far = np.array([min(step.distance(Point(cell)) for step in steps) for cell in cells])
        assert (mine == (far <= 5.0)).all()


def test_contract_ground_that_the_search_had_not_come_to_by_the_last_first_signal_was_not_needed() -> None:
    # Two lanes with a gap between them; half-way up the last set is heard, and both people go on for a while.
    lanes = [np.array([[x, -10.0], [x, 60.0]]) for x in (10.0, 45.0)]
    early = [np.array([[x, -10.0], [x, 40.0]]) for x in (10.0, 45.0)]
    told = {"s1": 0.5}
    swept = swept_ground(
        BOWL, {"s1": lanes}, Plane(), strip_width_m=20.0, accuracy_m=told, before_m={"s1": early}
    )
    between = max(swept.gaps, key=lambda gap: gap.area_m2)
    assert not between.needed  # mostly beyond the ground searched by then
    late = swept_ground(
        BOWL, {"s1": lanes}, Plane(), strip_width_m=20.0, accuracy_m=told, before_m={"s1": lanes}
    )
    whole = swept_ground(BOWL, {"s1": lanes}, Plane(), strip_width_m=20.0, accuracy_m=told)
    assert all(gap.needed for gap in whole.gaps)  # nobody heard one of the sets, so all ground counts
    assert [gap.area_m2 for gap in late.gaps] == [gap.area_m2 for gap in whole.gaps]
