import numpy as np
import pytest
import shapely
from shapely.ops import substring

from coldfield.errors import BadInput, OutOfModel, UnknownRecord
from coldfield.search.lanes.plan import plan_lanes
from coldfield.search.lanes.respacing import respaced
from grounds import GROUNDS, people, site


@pytest.mark.parametrize("sharing", ["own sectors", "line abreast"])
@pytest.mark.parametrize("name", ["field, 0.48 ha", "2 ha with holes"])
def test_independent_route_both_halves_together_cover_the_ground(sharing: str, name: str) -> None:
    # What was walked until then (by time at 1.2 m/s on the level, cut here with shapely) and what is
    # planned after it cover all ground; 2e-4: the walked line is cut to whole metres.
    ground, team = site(GROUNDS[name]), people(3)
    plan = plan_lanes(ground, team, strip_width_m=20.0, sharing=sharing)
    half_time = 0.5 * plan.seconds
    rest = respaced(ground, team, plan, gone="s1", after_s=half_time)
    assert "s1" not in {lane.searcher for lane in rest.lanes}
    assert rest.sharing == sharing
    assert rest.seconds > 0.0
    assert rest.covered_fraction == pytest.approx(1.0, abs=1e-4)
    lines = [shapely.LineString(lane.line_m) for lane in rest.lanes]
    for lane in plan.lanes:
        whole = shapely.LineString(lane.line_m)
        to_go = 1.2 * (lane.seconds - half_time)
        if to_go < whole.length:
            lines.append(substring(whole, 0.0, whole.length - max(to_go, 0.0)))
    area = shapely.Polygon(ground.boundary_m, ground.holes_m)
    left = area.difference(shapely.union_all([line.buffer(10.0) for line in lines]))
    assert left.area / area.area < 2e-4
    assert all(area.covers(shapely.LineString(lane.line_m)) for lane in rest.lanes)


def test_property_one_fewer_takes_longer_than_all_would_have() -> None:
    ground, team = site(GROUNDS["fan, 2 ha"]), people(3)
    plan = plan_lanes(ground, team, strip_width_m=20.0, sharing="own sectors")
    rest = respaced(ground, team, plan, gone="s0", after_s=0.4 * plan.seconds)
    assert 0.6 * plan.seconds <= rest.seconds <= 1.6 * plan.seconds
    assert rest.seconds_lower_bound <= rest.seconds


def test_contract_nobody_or_nothing_left_is_said() -> None:
    ground, team = site(GROUNDS["field, 0.48 ha"]), people(1)
    plan = plan_lanes(ground, team, strip_width_m=20.0)
    with pytest.raises(BadInput, match="at least one"):
        respaced(ground, team, plan, gone="s0", after_s=10.0)
    two = people(2)
    plan = plan_lanes(ground, two, strip_width_m=20.0)
    with pytest.raises(OutOfModel, match="walked already"):
        respaced(ground, two, plan, gone="s0", after_s=plan.seconds + 1.0)
    with pytest.raises(UnknownRecord, match="s0, s1"):
        respaced(ground, two, plan, gone="nobody", after_s=1.0)
    assert np.isfinite(plan.seconds)
