"""Somebody drops out during signal search, and the others share the remaining ground."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely
from numpy.typing import NDArray

from coldfield.drill.conditions import Travel
from coldfield.drill.grid import Terrain
from coldfield.drill.searcher import Searcher
from coldfield.drill.site import Site
from coldfield.drill.terrain import Plane
from coldfield.errors import UnknownRecord
from coldfield.message import message
from coldfield.search.lanes.pace import TRAVEL_FACTOR
from coldfield.search.lanes.plan import Lane, LanePlan, Sharing, plan_lanes
from coldfield.search.lanes.snow_axes import Flat, Pace


def respaced(
    site: Site,
    searchers: Sequence[Searcher],
    plan: LanePlan,
    *,
    gone: str,
    after_s: float,
    terrain: Terrain | None = None,
    travel: Travel = "on foot",
    heading_rad: float | None = None,
) -> LanePlan:
    """Return lanes on the ground not yet covered for the people who are left.

    Parameters
    ----------
    site, searchers, plan
        As they were when the search began.
    gone : str
        Id of the searcher who drops out, wherever they are at that time.
    after_s : float
        The time of dropping out, counted from the start, s.
    heading_rad : float, optional
        The direction of the lanes, as in `plan_lanes`.

    Returns
    -------
    LanePlan
        Its times count from `after_s`; `covered_fraction` is that of the remaining ground.

    Raises
    ------
    UnknownRecord
        If nobody has that id.
    BadInput, OutOfModel
        As in `plan_lanes`: no people or no ground are left.

    Notes
    -----
    Everybody who is left is assumed to start from the mean of their positions at that moment, and
    they share the rest as they shared the whole. In line abreast the waiting before a pass is not
    known here; people are assumed to have walked without a halt and to have ended on time.
    """
    if gone not in {s.id for s in searchers}:
        known = tuple(s.id for s in searchers)
        raise UnknownRecord(message("fault.no_searcher_among", name=gone, known=known))
    snow = terrain or Plane.of(site)
    pace = Pace(flat=Flat(terrain=snow), factor=TRAVEL_FACTOR[travel])
    speeds = {s.id: s.skill.signal_speed_m_s for s in searchers}
    if plan.sharing == "line abreast":
        speeds = dict.fromkeys(speeds, min(speeds[lane.searcher] for lane in plan.lanes))
    walked = [walked_part(lane, pace, speeds[lane.searcher], after_s) for lane in plan.lanes]
    stands = [
        line[-1] if len(line) else lane.line_m[0]
        for lane, line in zip(plan.lanes, walked, strict=True)
        if lane.searcher != gone
    ]
    middle = np.mean(stands, axis=0) if stands else np.asarray(site.entry_m)
    sharing: Sharing = "line abreast" if plan.sharing == "line abreast" else "own sectors"
    return plan_lanes(
        replace(site, entry_m=(float(middle[0]), float(middle[1]))),
        [s for s in searchers if s.id != gone],
        strip_width_m=plan.strip_width_m,
        terrain=terrain,
        travel=travel,
        sharing=sharing,
        heading_rad=heading_rad,
        walked_m=[line for line in walked if len(line) > 1],
    )


def walked_part(lane: Lane, pace: Pace, speed_m_s: float, after_s: float) -> NDArray[np.float64]:
    """Return the part of a lane walked up to a given time, (k, 2) in plan; empty before its start."""
    line = shapely.get_coordinates(shapely.segmentize(shapely.linestrings(lane.line_m), 1.0))
    flat = pace.flat.laid(line)
    seconds = pace.seconds(flat[:-1], flat[1:]) / speed_m_s
    at = lane.seconds - np.concatenate([np.cumsum(seconds[::-1])[::-1], [0.0]])
    return np.asarray(line[at <= after_s])
