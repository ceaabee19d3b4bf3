"""Lanes for 2 ha with holes, 12 searchers, all headings; the goal is 0.3 s."""

import pytest

from coldfield.search.lanes.plan import plan_lanes
from grounds import GROUNDS, people, site


@pytest.mark.parametrize("width_m", [20.0, 40.0])
def test_lanes_2_ha_with_holes_12_searchers(benchmark, width_m: float) -> None:
    ground, team = site(GROUNDS["2 ha with holes"]), people(12)
    plan = benchmark(plan_lanes, ground, team, strip_width_m=width_m)
    assert plan.covered_fraction == 1.0
