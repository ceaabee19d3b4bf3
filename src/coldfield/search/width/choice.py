"""Few people, much ground: a wider strip gains time, but more sets may stay unheard."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from coldfield.drill.drill import Drill
from coldfield.drill.grid import Terrain
from coldfield.drill.searcher import Searcher
from coldfield.drill.terrain import Plane
from coldfield.search.lanes.pace import TRAVEL_FACTOR
from coldfield.search.lanes.places import ground_places
from coldfield.search.lanes.plan import LanePlan, plan_lanes
from coldfield.search.lanes.priority import AFTER_HEARING_S, burial_weight
from coldfield.search.lanes.snow_axes import Flat, Pace
from coldfield.search.width.lateral_range import lateral_curve
from coldfield.search.width.strip_width import chance_at_width, group_pairs, weakest_of
from coldfield.survival.curves import DEFAULT

_PLACES = 400


@dataclass(frozen=True, slots=True, kw_only=True)
class WidthChoice:
    """One width: when all ground has been walked, how likely a set is heard, and the survival.

    `expected_survival` is for one person: the chance of being alive when reached after the first lane has
    come within half a width, times the mean chance of being heard. A second pass is not counted.
    """

    strip_width_m: float
    seconds: float
    walkers: int
    worst_point_probability: float
    mean_probability: float
    expected_survival: float


def width_choices(
    drill: Drill,
    searchers: Sequence[Searcher],
    widths_m: Sequence[float],
    *,
    terrain: Terrain | None = None,
) -> list[WidthChoice]:
    """Return the gain and the risk of each width on a drill's ground, for its weakest pair of sets.

    Raises
    ------
    BadInput
        If a width is not above 0.
    OutOfModel
        If no burial has a set, or a width is above 400 m or needs more than 600 strips.

    Notes
    -----
    The chances are those used for strip widths (definite mode, isotropic directions, usual depths).
    Somebody is reached 9 min after the time at which a lane first comes within half a width: 1 min
    passes before the alarm and 8 min from first signal to airway (settings). The survival curve is
    the default.
    """
    pair, _ = weakest_of(group_pairs(drill))
    curve = lateral_curve(pair)
    snow = terrain or Plane.of(drill.site)
    pace = Pace(flat=Flat(terrain=snow), factor=TRAVEL_FACTOR[drill.conditions.travel])
    place, _ = ground_places(drill.site, _PLACES)
    weight = burial_weight(snow, place, drill.site.last_seen_m)
    choices = []
    for width in widths_m:
        plan = plan_lanes(
            drill.site,
            searchers,
            strip_width_m=width,
            terrain=terrain,
            travel=drill.conditions.travel,
            heading_rad=drill.conditions.lane_heading_rad,
        )
        heard = heard_s(plan, searchers, place, pace)
        known = np.isfinite(heard)
        alive = np.where(known, DEFAULT.survival(np.where(known, heard, 0.0) + AFTER_HEARING_S), 0.0)
        chance = chance_at_width(pair, width, curve)
        choices.append(
            WidthChoice(
                strip_width_m=width,
                seconds=plan.seconds,
                walkers=len(plan.lanes),
                worst_point_probability=chance.worst_point_probability,
                mean_probability=chance.mean_probability,
                expected_survival=float(weight @ alive) * chance.mean_probability,
            )
        )
    return choices


def heard_s(
    plan: LanePlan, searchers: Sequence[Searcher], place_m: NDArray[np.float64], pace: Pace
) -> NDArray[np.float64]:
    """Return when a lane first comes within half a width of places in plan, (n, 2) -> (n,), s.

    inf if no lane does. Counted back from the end of each lane; in line abreast the waiting before
    a later pass is left out.
    """
    half = 0.5 * plan.strip_width_m
    speeds = {s.id: s.skill.signal_speed_m_s for s in searchers}
    first = np.full(len(place_m), np.inf)
    places = pace.flat.laid(place_m)
    for lane in plan.lanes:
        line = _dense(pace.flat.laid(lane.line_m), half / 4.0)
        seconds = pace.seconds(line[:-1], line[1:]) / speeds[lane.searcher]
        at = lane.seconds - np.concatenate([np.cumsum(seconds[::-1])[::-1], [0.0]])
        gap = np.hypot(places[:, None, 0] - line[None, :, 0], places[:, None, 1] - line[None, :, 1])
        first = np.minimum(first, np.where(gap <= 1.01 * half, at[None], np.inf).min(axis=1))
    return first


def _dense(line_m: NDArray[np.float64], step_m: float) -> NDArray[np.float64]:
    import shapely

    return np.asarray(shapely.get_coordinates(shapely.segmentize(shapely.linestrings(line_m), step_m)))
