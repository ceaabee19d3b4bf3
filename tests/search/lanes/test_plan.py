from pathlib import Path

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from amount import examples
from coldfield.drill.site import Origin, Site
from coldfield.drill.skills import SKILLS
from coldfield.drill.terrain import Plane
from coldfield.errors import BadInput, OutOfModel
from coldfield.search.lanes.plan import LanePlan, Sharing, plan_lanes
from coldfield.words import say
from grounds import GROUNDS, people
from grounds import site as site_of

RECTANGLE = ((0.0, 0.0), (60.0, 0.0), (60.0, 80.0), (0.0, 80.0))
SPEED_M_S = SKILLS["practised"].signal_speed_m_s


def ground(boundary, holes=(), *, entry=(0.0, 0.0), slope_deg=0.0, aspect_deg=180.0) -> Site:
    return Site(
        origin=Origin(latitude_rad=1.0, longitude_rad=0.1, elevation_m=1200.0),
        boundary_m=tuple(boundary),
        holes_m=tuple(tuple(h) for h in holes),
        entry_m=entry,
        slope_rad=np.radians(slope_deg),
        aspect_rad=np.radians(aspect_deg),
    )


def left_out_fraction(site: Site, plan: LanePlan) -> float:
    """Coverage by another route: the plan stretched along the fall line by shapely's own affine."""
    up = np.arctan2(-np.cos(site.aspect_rad), -np.sin(site.aspect_rad))

    def on_snow(shape):
        level = shapely.affinity.rotate(shape, -np.degrees(up), origin=(0, 0))
        return shapely.affinity.scale(level, xfact=1 / np.cos(site.slope_rad), yfact=1.0, origin=(0, 0))

    area = on_snow(shapely.Polygon(site.boundary_m, site.holes_m))
    lines = [on_snow(shapely.LineString(lane.line_m)) for lane in plan.lanes]
    near = shapely.union_all([line.buffer(plan.strip_width_m / 2) for line in lines])
    return area.difference(near).area / area.area


def stays_inside(site: Site, plan: LanePlan) -> bool:
    area = shapely.Polygon(site.boundary_m, site.holes_m)
    return all(area.covers(shapely.LineString(lane.line_m)) for lane in plan.lanes)


def star(radii, stretch) -> list[tuple[float, float]]:
    angles = np.linspace(0, 2 * np.pi, len(radii), endpoint=False)
    return [(stretch * r * np.cos(a), r * np.sin(a)) for r, a in zip(radii, angles, strict=True)]


@examples(20)
@given(
    radii=st.lists(st.floats(8.0, 120.0), min_size=5, max_size=14),
    stretch=st.floats(0.3, 3.0),
    hole=st.one_of(st.none(), st.floats(1.0, 6.0)),
    slope_deg=st.floats(0.0, 40.0),
    aspect_deg=st.floats(0.0, 360.0),
    width_m=st.floats(8.0, 60.0),
    count=st.integers(1, 8),
)
def test_property_every_place_lies_within_half_a_width_of_a_lane_on_the_snow(
    radii, stretch, hole, slope_deg, aspect_deg, width_m, count
) -> None:
    # Star-shaped grounds with spikes; a hole round the middle, which lies inside by construction.
    holes = [] if hole is None else [star([hole] * 7, min(1.0, stretch))]
    boundary = star(radii, stretch)
    area = shapely.Polygon(boundary)
    if not all(area.covers(shapely.Polygon(h)) for h in holes):
        holes = []
    site = ground(boundary, holes, entry=boundary[0], slope_deg=slope_deg, aspect_deg=aspect_deg)
    plan = plan_lanes(site, people(count), strip_width_m=width_m)
    # 1e-5: shapely draws the round ends as 64-gons, 0.12 % short in radius.
    assert left_out_fraction(site, plan) < 1e-5
    assert plan.covered_fraction == 1.0
    assert stays_inside(site, plan)
    assert plan.seconds_lower_bound <= plan.seconds
    assert plan.seconds == max(lane.seconds for lane in plan.lanes)


@pytest.mark.parametrize(("width_m", "strips"), [(10.0, 6), (20.0, 3), (30.0, 2), (60.0, 1)])
def test_property_a_field_of_whole_strips_needs_no_more_than_those(width_m: float, strips: int) -> None:
    # Ten times longer than wide: no heading but along it can win.
    plan = plan_lanes(ground(((0, 0), (60, 0), (60, 600), (0, 600))), people(1), strip_width_m=width_m)
    assert plan.strips == strips
    assert plan.heading_rad == pytest.approx(0.0, abs=1e-9)


def test_independent_route_length_and_time_on_the_level() -> None:
    site = ground(RECTANGLE, entry=(30.0, 0.0))
    plan = plan_lanes(site, people(3), strip_width_m=20.0, sharing="own sectors")
    for lane in plan.lanes:
        line = shapely.LineString(lane.line_m)
        assert lane.length_m == pytest.approx(line.length, abs=1e-6)
        way = np.hypot(*(lane.line_m[0] - np.array(site.entry_m)))
        assert lane.seconds == pytest.approx((way + line.length) / SPEED_M_S, rel=1e-3)


def test_independent_route_length_on_a_slope_is_three_dimensional() -> None:
    site = ground(RECTANGLE, slope_deg=30.0, aspect_deg=200.0)
    plan = plan_lanes(site, people(2), strip_width_m=20.0)
    for lane in plan.lanes:
        height = Plane.of(site).height_m(lane.line_m)
        space = np.column_stack([lane.line_m, height])
        assert lane.length_m == pytest.approx(np.linalg.norm(np.diff(space, axis=0), axis=1).sum())


def test_contract_one_lane_where_the_strip_is_wider_than_the_ground() -> None:
    plan = plan_lanes(ground(RECTANGLE), people(3), strip_width_m=200.0)
    assert len(plan.lanes) == 1
    assert plan.free_hands == ("s1", "s2")
    assert any("one lane" in say(note) for note in plan.notes)
    assert any("free hands: s1, s2" in say(note) for note in plan.notes)


def test_contract_ground_cut_in_two_is_said() -> None:
    wall = ((29.0, -1.0), (31.0, -1.0), (31.0, 81.0), (29.0, 81.0))
    plan = plan_lanes(ground(RECTANGLE, [wall]), people(2), strip_width_m=10.0)
    assert plan.covered_fraction < 0.7
    assert any("cut the ground" in say(note) for note in plan.notes)
    assert any("farther than half a width" in say(note) for note in plan.notes)


def test_contract_far_entry_counts_in_time_only() -> None:
    near = plan_lanes(ground(RECTANGLE, entry=(30, 0)), people(2), strip_width_m=20.0)
    far = plan_lanes(ground(RECTANGLE, entry=(30, -1200)), people(2), strip_width_m=20.0)
    assert far.seconds == pytest.approx(near.seconds + 1000.0, rel=0.05)
    assert far.seconds_lower_bound > 1000.0
    assert max(lane.length_m for lane in far.lanes) < 300.0


@pytest.mark.parametrize(
    ("boundary", "width_m", "count", "words"),
    [
        (((0, 0), (60, 60), (60, 0), (0, 60)), 20.0, 1, "cross itself"),
        (RECTANGLE, 0.0, 1, "strip_width_m: must be above 0"),
        (RECTANGLE, float("nan"), 1, "strip_width_m: must be above 0"),
        (RECTANGLE, 20.0, 0, "at least one"),
        (((0, 0), (9e4, 0), (9e4, 9e4), (0, 9e4)), 20.0, 1, "more than 400 ha"),
    ],
)
def test_contract_what_cannot_be_planned_is_refused(boundary, width_m, count, words) -> None:
    with pytest.raises(BadInput, match=words):
        plan_lanes(ground(boundary), people(count), strip_width_m=width_m)


def test_contract_a_width_far_too_small_is_refused() -> None:
    with pytest.raises(OutOfModel, match="strips side by side"):
        plan_lanes(ground(RECTANGLE), people(1), strip_width_m=0.01)


def test_contract_line_abreast_is_a_row_at_the_slowest_speed() -> None:
    # 80 m by 60 m, entry in the middle of a short side: one pass of three people, 20 m strips.
    row = [*people(2, "expert"), *people(1, "novice")]
    plan = plan_lanes(ground(RECTANGLE, entry=(30.0, 0.0)), row, strip_width_m=20.0, sharing="line abreast")
    assert plan.sharing == "line abreast"
    assert plan.covered_fraction == 1.0
    slowest = SKILLS["novice"].signal_speed_m_s
    for lane in plan.lanes:
        assert lane.seconds >= shapely.LineString(lane.line_m).length / slowest


@examples(8)
@given(
    radii=st.lists(st.floats(15.0, 80.0), min_size=5, max_size=9),
    slope_deg=st.floats(0.0, 35.0),
    count=st.integers(2, 5),
)
def test_property_least_time_is_no_slower_than_either_way_of_sharing(radii, slope_deg, count) -> None:
    site = ground(star(radii, 1.0), slope_deg=slope_deg)
    team = [*people(1, "novice"), *people(count - 1)]
    plans = {
        sharing: plan_lanes(site, team, strip_width_m=20.0, sharing=sharing)
        for sharing in ("least time", "own sectors", "line abreast")
    }
    for sharing in ("own sectors", "line abreast"):
        assert plans["least time"].seconds <= plans[sharing].seconds + 1e-6
        assert plans[sharing].covered_fraction == 1.0
        assert left_out_fraction(site, plans[sharing]) < 1e-5
        assert plans[sharing].seconds_lower_bound <= plans[sharing].seconds


@pytest.mark.parametrize("slope_deg", [0.0, 25.0])
@pytest.mark.parametrize("name", GROUNDS)
def test_independent_route_coverage_of_many_grounds_by_shapely(name: str, slope_deg: float) -> None:
    # 1e-5: round ends are drawn as 64-gons, 0.12 % short in radius.
    site = site_of(GROUNDS[name], slope_deg=slope_deg, aspect_deg=200.0)
    plan = plan_lanes(site, people(4), strip_width_m=30.0)
    assert left_out_fraction(site, plan) < 1e-5
    assert plan.covered_fraction == 1.0
    assert stays_inside(site, plan)
    assert 0.0 < plan.seconds_lower_bound <= plan.seconds


def test_contract_the_table_of_grounds_lists_them_all() -> None:
    text = (Path(__file__).parents[3] / "docs" / "lanes.md").read_text()
    for name in GROUNDS:
        assert text.count(f"| {name} |") == 3


@pytest.mark.parametrize("name", ["L", "triangle"])
@pytest.mark.parametrize("sharing", ["own sectors", "line abreast"])
def test_property_with_a_fixed_heading_all_strips_run_along_it_and_nothing_is_missed(
    name: str, sharing: Sharing
) -> None:
    place = site_of(GROUNDS[name], slope_deg=18.0, aspect_deg=250.0)
    for heading_deg in (0.0, 35.0, 128.0):
        plan = plan_lanes(
            place, people(3), strip_width_m=25.0, sharing=sharing, heading_rad=np.radians(heading_deg)
        )
        assert np.degrees(plan.heading_rad) == pytest.approx(heading_deg, abs=1e-6)
        assert left_out_fraction(place, plan) < 1e-4
        steps = np.concatenate([np.diff(lane.line_m, axis=0) for lane in plan.lanes])
        long = steps[np.hypot(*steps.T) > 40.0]
        # At least a third of what is walked, read in plan: the rest are the ways between strips.
        along = np.abs(long @ [np.sin(np.radians(heading_deg)), np.cos(np.radians(heading_deg))])
        share = along / np.hypot(*long.T) > 0.9999
        assert np.hypot(*long[share].T).sum() > np.hypot(*long.T).sum() / 3
