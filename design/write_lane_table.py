"""Write docs/lanes.md: the time of lanes on many grounds, with the lower bound.

Run: python design/write_lane_table.py. Takes about a minute.
"""

from __future__ import annotations

import sys
from math import cos, radians
from pathlib import Path

import shapely

ROOT = Path(__file__).parents[1]
sys.path.insert(0, str(ROOT / "tests"))

from coldfield.search.lanes.plan import LanePlan, plan_lanes  # noqa: E402
from grounds import GROUNDS, people, site  # noqa: E402

HEAD = """# What lanes take

Written by `python design/write_lane_table.py`; the grounds are in `tests/grounds.py`. Four
searchers at 1.2 m/s on level snow, entry at the southernmost corner. Each row gives the share of
the ground that lies within half a strip width of a lane (checked on geometry), the time when the
last searcher ends, a lower bound (the time that no plan of any kind can beat), and the ratio of the
two. The bound takes into account that each metre of lane covers at most one strip width of ground,
that people must first get to the ground, and that someone must come near its farthest and its
highest place. It leaves out that people have to turn, get from strip to strip and come back out of
dead ends. If the ratio is large, as for a comb or a spiral, the bound is weak; the plan need not be
bad.
"""


def row(name: str, plan: LanePlan, area_m2: float) -> str:
    """Return one row of the table."""
    ratio = plan.seconds / plan.seconds_lower_bound
    return (
        f"| {name} | {area_m2 / 1e4:.2f} | {plan.strips} | {plan.covered_fraction:.6g} | {plan.sharing} | "
        f"{plan.seconds:.0f} | {plan.seconds_lower_bound:.0f} | {ratio:.2f} |"
    )


def table(width_m: float, slope_deg: float) -> list[str]:
    """Return the table of all grounds at one width and slope."""
    slope = f"slope of {slope_deg:.0f} degrees" if slope_deg else "level"
    lines = [
        f"\n## Strips {width_m:.0f} m wide, {slope}\n",
        "| ground | ha on the snow | strips | covered | sharing | seconds | bound, s | ratio |",
        "|---|---|---|---|---|---|---|---|",
    ]
    ratios = []
    for name, shape in GROUNDS.items():
        ground = site(shape, slope_deg=slope_deg)
        plan = plan_lanes(ground, people(4), strip_width_m=width_m)
        lines.append(row(name, plan, shapely.Polygon(*shape).area / cos(radians(slope_deg))))
        ratios.append(plan.seconds / plan.seconds_lower_bound)
    ratios.sort()
    lines.append(f"\nMedian ratio {ratios[len(ratios) // 2]:.2f}, largest {ratios[-1]:.2f}.")
    return lines


if __name__ == "__main__":
    text = [HEAD, *table(20.0, 0.0), *table(40.0, 0.0), *table(20.0, 25.0)]
    (ROOT / "docs" / "lanes.md").write_text("\n".join(text) + "\n")
