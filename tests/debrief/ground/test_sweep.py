from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapely import LineString, Polygon

from coldfield.debrief.ground.sweep import swept_ground
from coldfield.drill.terrain import Plane
from recorded_tracks import BOWL


def test_independent_route_shapely_finds_the_same_area() -> None:
    path = np.array([[15.0, -5.0], [15.0, 60.0], [40.0, 70.0]])
    swept = swept_ground(BOWL, {"s1": [path]}, Plane(), strip_width_m=20.0, accuracy_m={"s1": 3.0, "s2": 3.0})
    ground = Polygon(BOWL.boundary_m)
    expected = LineString(path).buffer(10.0, quad_segs=64).intersection(ground).area / ground.area
    assert swept.fraction == pytest.approx(expected, abs=0.004)  # half a cell along the rim of 4,800 m2


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
    # Lanes at x = 10 and 45 with strips of 20 m leave 20 to 35 between them, and 55 to 60 at the rim.
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
    # Two people leave 15 m between their strips. For most of its middle to be swept one of them has to lie off by
    # some 7 m towards it: with a spread of 1.8 x 3 m one time of ten each, with 1.8 x 1.5 m one of two hundred.
    lanes = {who: [np.array([[x, -10.0], [x, 90.0]])] for who, x in (("s1", 10.0), ("s2", 45.0))}
    known = {
        accuracy: max(
            swept_ground(
                BOWL, lanes, Plane(), strip_width_m=20.0, accuracy_m=dict.fromkeys(lanes, accuracy)
            ).gaps,
            key=lambda gap: gap.area_m2,
        )
        for accuracy in (1.5, 3.0)
    }
    assert all(gap.exceeds_accuracy for gap in known.values())
    assert known[1.5].surely
    assert not known[3.0].surely
