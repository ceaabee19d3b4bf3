"""Share the ground among the searchers: lanes that leave nothing out and end early."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from math import pi

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import Point, Polygon
from shapely.geometry.base import BaseGeometry

from coldfield.drill.conditions import Travel
from coldfield.drill.searcher import Searcher
from coldfield.drill.site import Site
from coldfield.drill.terrain import Plane
from coldfield.errors import BadInput, OutOfModel
from coldfield.search.coverage import left_out
from coldfield.search.flat import Flat, Pace, turned
from coldfield.search.pace import TRAVEL_FACTOR, greatest_speed_factor
from coldfield.search.parallel import even_edges, mended, middle_lines, strips
from coldfield.search.sharing import Part, TimedWalk, least_cuts, parts_of
from coldfield.search.tour import Tour, tour_of
from coldfield.search.walkable import Points, Walkable

GREATEST_AREA_M2 = 4.0e6
"""Ground beyond 400 ha is refused: no companion search, and most likely a slip in the file."""

GREATEST_STRIPS = 600
_HEADING_STEP_RAD = np.radians(10.0)
_TRIED_IN_FULL = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class Lane:
    """The line that one searcher walks in signal search.

    `line_m` (k, 2) is in plan; `length_m` is on the snow; `seconds` counts from the entry, the
    way to the lane included.
    """

    searcher: str
    line_m: NDArray[np.float64]
    length_m: float
    seconds: float


@dataclass(frozen=True, slots=True, kw_only=True)
class LanePlan:
    """The lanes of all searchers, in the order of the searchers, and how good they are.

    `seconds` is when the last searcher ends; no plan of any kind ends before
    `seconds_lower_bound`. `free_hands` are the ids of those who get no lane.
    """

    strip_width_m: float
    lanes: tuple[Lane, ...]
    covered_fraction: float
    seconds: float
    seconds_lower_bound: float
    heading_rad: float
    sharing: str
    strips: int
    free_hands: tuple[str, ...] = ()
    notes: tuple[str, ...] = field(default=())


@dataclass(frozen=True, slots=True, kw_only=True)
class _Draft:
    seconds: float
    parts: list[Part]
    flat: Flat
    ground: BaseGeometry
    tour: Tour


def plan_lanes(
    site: Site,
    searchers: Sequence[Searcher],
    *,
    strip_width_m: float,
    terrain: Plane | None = None,
    travel: Travel = "on foot",
    debris_factor: float = 1.0,
) -> LanePlan:
    """Return lanes so that each place of the ground lies within half a width of a lane, on the snow.

    Parameters
    ----------
    site : Site
        Boundary, holes (not walked, not searched) and entry.
    searchers : sequence of Searcher
        Who walks, at `skill.signal_speed_m_s` on level snow.
    strip_width_m : float
        Width of a search strip on the snow, m.
    terrain : Plane, optional
        The snow surface; without it the plane of the site.
    travel : {'on foot', 'on ski', 'on snowshoe'}
        How people move.
    debris_factor : float
        Speed on this snow over that at which the skill's speed was measured.

    Raises
    ------
    BadInput
        If there is no searcher, the width is not above 0, or the ground is empty, crosses itself
        or is larger than 400 ha.
    OutOfModel
        If the width would need more than 600 strips side by side, or the ground is nowhere wide
        enough to walk on.

    Notes
    -----
    The plan is the best of those tried: parallel strips in up to 6 headings picked from 18 even
    ones and those of the long edges, one walk through them shared into contiguous parts. The
    lower bound beside it tells how much a better one could still save. Between the entry and the
    lane people walk straight to the edge of the ground, then on the ground and round the holes.
    """
    _check(searchers, strip_width_m, debris_factor)
    flat = Flat(terrain=terrain or Plane.of(site))
    ground = checked_ground(flat.polygon(site))
    factor = TRAVEL_FACTOR[travel] * debris_factor
    speeds = [s.skill.signal_speed_m_s for s in searchers]
    walkable = Walkable(ground, flat.laid(site.entry_m))
    ranked = ranked_turns(ground, strip_width_m)
    drafts = [
        _draft(site, Flat(terrain=flat.terrain, turn_rad=turn), strip_width_m, speeds, factor)
        for turn in ranked[:_TRIED_IN_FULL]
    ]
    best = min(drafts, key=lambda draft: draft.seconds)
    return _plan(best, searchers, strip_width_m, walkable, speeds, factor)


def _check(searchers: Sequence[Searcher], strip_width_m: float, debris_factor: float) -> None:
    faults = []
    if not searchers:
        faults.append("searchers: at least one is needed to plan lanes")
    if not (np.isfinite(strip_width_m) and strip_width_m > 0.0):
        faults.append(f"strip_width_m: must be above 0 m, not {strip_width_m:g}")
    if not (np.isfinite(debris_factor) and debris_factor > 0.0):
        faults.append(f"debris_factor: must be above 0, not {debris_factor:g}")
    if faults:
        raise BadInput(faults)


def checked_ground(ground: Polygon) -> BaseGeometry:
    """Return the ground, its holes cut to it; refuse what is no ground.

    Raises
    ------
    BadInput
        If a ring crosses itself, or the ground is empty or larger than 400 ha.
    """
    faults = []
    outer = Polygon(ground.exterior)
    if not outer.is_valid:
        faults.append(f"site.boundary_m: {shapely.is_valid_reason(outer)}; a boundary must not cross itself")
    holes = [Polygon(ring) for ring in ground.interiors]
    faults += [
        f"site.holes_m[{i}]: {shapely.is_valid_reason(hole)}; a hole must not cross itself"
        for i, hole in enumerate(holes)
        if not hole.is_valid
    ]
    if not faults:
        left = outer.difference(shapely.union_all(holes)) if holes else outer
        if left.area <= 0.0:
            faults.append("site.boundary_m: no ground lies inside")
        elif left.area > GREATEST_AREA_M2:
            faults.append(
                f"site.boundary_m: {left.area / 1e4:.0f} ha is more than {GREATEST_AREA_M2 / 1e4:.0f} ha"
            )
        else:
            return left
    raise BadInput(faults)


def ranked_turns(area: BaseGeometry, width_m: float) -> list[float]:
    """Return headings to try, as turns of the axes, rad, the one that promises least walking first."""
    turns = _turns(area)
    return [turn for _, turn in sorted((_rough_length(turned(area, t), width_m), t) for t in turns)]


def _turns(area: BaseGeometry) -> list[float]:
    corners = shapely.get_coordinates(shapely.simplify(area.boundary, 1.0))
    sides = np.diff(corners, axis=0)
    longest = sides[np.argsort(-np.hypot(sides[:, 0], sides[:, 1]))[:12]]
    turns = [float(np.arctan2(s[1], s[0]) % pi) for s in longest]
    turns += list(np.arange(0.0, pi - 1e-9, _HEADING_STEP_RAD))
    kept: list[float] = []
    for turn in turns:
        if all(min(abs(turn - k), pi - abs(turn - k)) > np.radians(2.0) for k in kept):
            kept.append(turn)
    return kept


def _rough_length(area: BaseGeometry, width_m: float) -> float:
    edges = even_edges(area, width_m)
    if len(edges) - 1 > GREATEST_STRIPS:
        raise OutOfModel(
            f"strip_width_m: {width_m:g} m needs {len(edges) - 1} strips side by side on this ground; "
            f"at most {GREATEST_STRIPS} are planned"
        )
    cuts = shapely.intersection(area, np.array(middle_lines(area, edges)))
    pieces = shapely.get_num_geometries(cuts)
    ends = float(np.maximum(pieces, 1).sum()) * min(width_m, float(edges[1] - edges[0]))
    return float(shapely.length(cuts).sum()) + ends


def _draft(site: Site, flat: Flat, width_m: float, speeds_m_s: list[float], factor: float) -> _Draft:
    ground = checked_ground(flat.polygon(site))
    walkable = Walkable(ground, flat.laid(site.entry_m))
    half = 0.5 * width_m
    walks = strips(walkable, even_edges(ground, width_m), half)
    walks = mended(walkable, ground, walks, half)
    pace = Pace(flat=flat, factor=factor)
    tour = tour_of(walkable, walks, from_entry=len(speeds_m_s) == 1)
    walk = TimedWalk(walkable, tour, pace)
    used = speeds_m_s[: max(1, len(walks))]
    _, places = least_cuts(walk, used)
    parts = parts_of(walk, places, walkable, pace, used)
    return _Draft(
        seconds=max(part.seconds for part in parts), parts=parts, flat=flat, ground=ground, tour=tour
    )


def _plan(
    draft: _Draft,
    searchers: Sequence[Searcher],
    width_m: float,
    walkable: Walkable,
    speeds_m_s: list[float],
    factor: float,
) -> LanePlan:
    lanes = []
    for part in sorted(draft.parts, key=lambda p: p.searcher):
        line = draft.flat.plan(part.line_m)
        length = draft.flat.terrain.length_m(line)
        who = searchers[part.searcher].id
        lanes.append(Lane(searcher=who, line_m=line, length_m=length, seconds=part.seconds))
    missed = left_out([p.line_m for p in draft.parts], draft.ground, 0.5 * width_m, 32)
    left_out_m2 = float(sum(part.area for part in missed))
    covered = 1.0 - left_out_m2 / draft.ground.area
    walkers = {lane.searcher for lane in lanes}
    free = tuple(s.id for s in searchers if s.id not in walkers)
    bound = lower_bound_s(
        covered_area_m2=draft.ground.area - left_out_m2,
        ground=walkable.area if covered == 1.0 else None,
        entry_m=walkable.entry_m,
        way_m=float(np.linalg.norm(walkable.door_m - walkable.entry_m)),
        width_m=width_m,
        speeds_m_s=[v * factor * greatest_speed_factor(draft.flat.terrain.slope_rad) for v in speeds_m_s],
    )
    return LanePlan(
        strip_width_m=width_m,
        lanes=tuple(lanes),
        covered_fraction=covered,
        seconds=max(lane.seconds for lane in lanes),
        seconds_lower_bound=bound,
        heading_rad=draft.flat.heading_rad(),
        sharing="own sectors",
        strips=draft.tour.strips,
        free_hands=free,
        notes=_notes(draft, walkable, covered, left_out_m2, free, len(lanes)),
    )


def lower_bound_s(
    *,
    covered_area_m2: float,
    ground: Polygon | None,
    entry_m: Points,
    way_m: float,
    width_m: float,
    speeds_m_s: Sequence[float],
) -> float:
    """Return a time that no plan can beat, s.

    A lane of length L brings at most L w + pi w^2 / 4 of ground within half a width. Nobody is on
    the ground before the way from the entry to its nearest place is walked, so
    A <= sum_i [w (v_i T - way) + pi w^2 / 4]. And whoever covers the furthest place must come to
    within half a width of it. `speeds_m_s` are the greatest speeds that any direction allows.
    """
    per_person = way_m * width_m - pi * width_m**2 / 4.0
    by_area = (covered_area_m2 + len(speeds_m_s) * per_person) / (width_m * sum(speeds_m_s))
    if ground is None:
        return max(by_area, 0.0)
    furthest = shapely.hausdorff_distance(Point(entry_m), ground)
    by_reach = (furthest - 0.5 * width_m) / max(speeds_m_s)
    return float(max(by_area, by_reach, 0.0))


def _notes(
    draft: _Draft, walkable: Walkable, covered: float, left_out_m2: float, free: tuple[str, ...], lanes: int
) -> tuple[str, ...]:
    notes = []
    if not walkable.whole:
        notes.append("holes or narrow places cut the ground: only the part nearest to the entry has lanes")
    if covered < 1.0:
        notes.append(f"{left_out_m2:.1f} m2 of ground lie further than half a width from each lane")
    if draft.tour.strips == 1:
        notes.append("the strip is as wide as the ground: one lane covers it")
    if free:
        notes.append(f"{lanes} of {lanes + len(free)} searchers get a lane; free hands: {', '.join(free)}")
    notes.append("lanes end where all ground ahead lies within half a width of the end")
    return tuple(notes)
