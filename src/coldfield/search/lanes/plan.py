"""Share the ground among the searchers: lanes that leave nothing out and end early."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Literal

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from coldfield.drill.conditions import Travel
from coldfield.drill.grid import Grid, Terrain
from coldfield.drill.searcher import Searcher
from coldfield.drill.site import Site
from coldfield.drill.terrain import Plane
from coldfield.errors import BadInput, OutOfModel
from coldfield.message import Message, Quantity, message, number
from coldfield.search.lanes.coverage import left_out
from coldfield.search.lanes.drafts import Draft, Layout
from coldfield.search.lanes.grid_coverage import far_ground, greatest_stretch
from coldfield.search.lanes.headings import ranked_turns, refuse_many
from coldfield.search.lanes.lower_bound import BoundTask, lower_bound_s
from coldfield.search.lanes.pace import TRAVEL_FACTOR
from coldfield.search.lanes.places import ground_places
from coldfield.search.lanes.priority import Chances, burial_weight, by_survival
from coldfield.search.lanes.snow_axes import Flat, Pace
from coldfield.search.lanes.walkable import INSET_M, Walkable

GREATEST_AREA_M2 = 4.0e6
"""Ground beyond 400 ha is refused: it is too large for a companion search and most likely an error."""

Sharing = Literal["least time", "own sectors", "line abreast"]

LATER_SHARE = 0.1
"""Ground below a last-seen point comes first if the search then ends at most a tenth later. Setting."""

_PRIORITY_PLACES = 500
_NARROWER = (0.0, 0.25, 0.5, 0.75, 1.0)
_TRIED = 6
_TRIED_IN_FULL = 2
_MANY_CORNERS = 100
_UNREACHED_M2 = 0.01
"""Left-out ground smaller than 10 cm each way, such as the tip of a spike, is not counted."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Lane:
    """The line that one searcher walks in signal search.

    `line_m` (k, 2) is in plan; `length_m` is on the snow; `seconds` counts from the entry and
    includes the way to the lane.
    """

    searcher: str
    line_m: NDArray[np.float64]
    length_m: float
    seconds: float


@dataclass(frozen=True, slots=True, kw_only=True)
class LanePlan:
    """The lanes of all searchers, in the order of the searchers, and their quality.

    `seconds` is the time at which the last searcher ends; no plan of any kind ends before
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
    notes: tuple[Message, ...] = field(default=())


@dataclass(frozen=True, slots=True, kw_only=True)
class _Task:
    site: Site
    ground: BaseGeometry
    pace: Pace
    searchers: Sequence[Searcher]
    width_m: float
    sharing: Sharing
    rest: BaseGeometry | None = None
    heading_rad: float | None = None

    def target(self) -> BaseGeometry:
        """Return the ground that still has to be covered; all of it can be walked on."""
        return self.ground if self.rest is None else self.rest

    def entry(self) -> NDArray[np.float64]:
        return self.pace.flat.laid(self.site.entry_m)

    def speeds_m_s(self) -> list[float]:
        return [s.skill.signal_speed_m_s for s in self.searchers]


def plan_lanes(
    site: Site,
    searchers: Sequence[Searcher],
    *,
    strip_width_m: float,
    terrain: Terrain | None = None,
    travel: Travel = "on foot",
    debris_factor: float = 1.0,
    sharing: Sharing = "least time",
    heading_rad: float | None = None,
    walked_m: Sequence[NDArray[np.float64]] = (),
) -> LanePlan:
    """Return lanes so that each place of the ground lies within half a width of a lane, on the snow.

    Parameters
    ----------
    site : Site
        Boundary, holes (not walked, not searched) and entry.
    searchers : sequence of Searcher
        The people who walk, at `skill.signal_speed_m_s` on level snow.
    strip_width_m : float
        Width of a search strip on the snow, m.
    terrain : Plane or Grid, optional
        The snow surface; by default the plane of the site. A grid must cover all the ground and the
        entry.
    travel : {'on foot', 'on ski', 'on snowshoe'}
        How people move.
    debris_factor : float
        Speed on this snow, relative to the snow on which the skill's speed was measured.
    sharing : {'least time', 'own sectors', 'line abreast'}
        Own sectors: one contiguous sector each. Line abreast: side by side at the slowest one's speed.
    heading_rad : float, optional
        The azimuth of all lanes in plan, clockwise from true north; by default the fastest one.
    walked_m : sequence of ndarray (k, 2)
        Lines in plan that have been walked already: ground near them need not be covered again.

    Raises
    ------
    BadInput
        If there is no searcher, the width is not above 0, or the ground is empty, crosses itself
        or is larger than 400 ha.
    OutOfModel
        If the width would need more than 600 strips side by side, if the ground is nowhere wide
        enough to walk on, or if all of it has been walked already.

    Notes
    -----
    The plan is the best of several. Parallel strips are laid in 6 headings, chosen from 18 evenly
    spaced ones and those of the long sides by the time to walk their middle lines. The 2 best of
    these are shared in both ways. The lower bound shows how much a better plan could still save.
    From the entry, people walk straight to the edge of the ground and then on it, round the holes,
    to their lane.
    """
    _check(searchers, strip_width_m, debris_factor)
    flat = Flat(terrain=terrain or Plane.of(site))
    pace = Pace(flat=flat, factor=TRAVEL_FACTOR[travel] * debris_factor)
    ground = checked_ground(flat.polygon(site))
    rest = _rest(ground, [flat.laid(line) for line in walked_m], 0.5 * strip_width_m) if walked_m else None
    task = _Task(
        site=site,
        ground=ground,
        pace=pace,
        searchers=searchers,
        width_m=strip_width_m,
        sharing=sharing,
        rest=rest,
        heading_rad=heading_rad,
    )
    return _on_grid(task, flat.terrain) if isinstance(flat.terrain, Grid) else _flat_plan(task)


def _rest(ground: BaseGeometry, walked: list[NDArray[np.float64]], half_m: float) -> BaseGeometry:
    parts = left_out(walked, ground, half_m, quad_segs=32, least_m2=_UNREACHED_M2)
    if not parts:
        raise OutOfModel(message("fault.all_walked"))
    # Corners less than a millimetre apart can cross each other when turned.
    return shapely.union_all(shapely.simplify([p for p in parts if isinstance(p, Polygon)], 1e-3))


def _check(searchers: Sequence[Searcher], strip_width_m: float, debris_factor: float) -> None:
    faults = []
    if not searchers:
        faults.append(message("fault.lanes_need_searcher").at("searchers"))
    if not (np.isfinite(strip_width_m) and strip_width_m > 0.0):
        faults.append(_not_above_0(strip_width_m).at("strip_width_m"))
    if not (np.isfinite(debris_factor) and debris_factor > 0.0):
        faults.append(_not_above_0(debris_factor).at("debris_factor"))
    if faults:
        raise BadInput(faults)


def _not_above_0(found: float) -> Message:
    return message("fault.above_not", low=0, found=number(found))


def checked_ground(ground: Polygon) -> BaseGeometry:
    """Return the ground with its holes clipped to it; refuse invalid ground.

    Raises
    ------
    BadInput
        If a ring crosses itself, or the ground is empty or larger than 400 ha.
    """
    faults = []
    outer = Polygon(ground.exterior)
    if not outer.is_valid:
        why = shapely.is_valid_reason(outer)
        faults.append(message("fault.boundary_crosses", why=why).at("site.boundary_m"))
    holes = [Polygon(ring) for ring in ground.interiors]
    faults += [
        message("fault.hole_crosses", why=shapely.is_valid_reason(hole)).at(f"site.holes_m[{i}]")
        for i, hole in enumerate(holes)
        if not hole.is_valid
    ]
    if not faults:
        left = outer.difference(shapely.union_all(holes)) if holes else outer
        if left.area <= 0.0:
            faults.append(message("fault.no_ground_inside").at("site.boundary_m"))
        elif left.area > GREATEST_AREA_M2:
            sizes = {"area": number(left.area / 1e4, 0), "most": number(GREATEST_AREA_M2 / 1e4, 0)}
            faults.append(message("fault.ground_too_large", **sizes).at("site.boundary_m"))
        else:
            return left
    raise BadInput(faults)


def coarse_rim_m(ground: BaseGeometry, width_m: float) -> float:
    """Return the width of the rim to leave out, m: larger if the ground has very many corners."""
    many = shapely.get_num_coordinates(ground) > _MANY_CORNERS
    return max(INSET_M, min(1.0, 0.05 * width_m)) if many else INSET_M


def _flat_plan(task: _Task) -> LanePlan:
    rim = coarse_rim_m(task.ground, task.width_m)
    plan = _best_plan(task, rim)
    if plan.covered_fraction < 1.0 and rim > INSET_M:
        plan = _best_plan(task, INSET_M)
    return plan


def _on_grid(task: _Task, grid: Grid) -> LanePlan:
    """Return a plan on the mean plane with strips narrowed until they cover the curved snow."""
    known = grid.height_m(np.vstack([task.site.boundary_m, [task.site.entry_m]]))
    if not np.isfinite(known).all():
        raise BadInput(message("fault.grid_not_under_ground"))
    most = max(greatest_stretch(task.site, grid), 1.0)
    for share in _NARROWER:
        narrowing = 1.0 + share * (most - 1.0)
        plan = _flat_plan(replace(task, width_m=task.width_m / narrowing))
        _, far = far_ground(task.site, [lane.line_m for lane in plan.lanes], grid, 0.5 * task.width_m)
        left = float(far)
        if left == 0.0 and plan.covered_fraction == 1.0:
            break
    covered = min(1.0 - left, 1.0) if plan.covered_fraction == 1.0 else plan.covered_fraction
    notes = plan.notes
    if narrowing > 1.0:
        notes = (message("note.ground_bends", share=Quantity("share", 1.0 - 1.0 / narrowing)), *notes)
    missed_m2 = (1.0 - covered) * task.ground.area
    bound = min(plan.seconds_lower_bound, _bound(task, Walkable(task.ground, task.entry()), missed_m2))
    return replace(
        plan,
        strip_width_m=task.width_m,
        covered_fraction=covered,
        seconds_lower_bound=bound,
        notes=(*notes, message("note.checked_on_grid")),
    )


def _best_plan(task: _Task, rim_m: float) -> LanePlan:
    entry = task.entry()
    try:
        walkable = Walkable(task.ground, entry, rim_m=rim_m)
    except OutOfModel:
        if rim_m <= INSET_M:
            raise
        return _best_plan(task, INSET_M)
    speeds = task.speeds_m_s()
    turns = _turns(task)
    layouts = [Layout.of(walkable, task.target(), task.pace, turn, task.width_m, speeds) for turn in turns]
    layouts.sort(key=lambda layout: layout.seconds)
    mended = sorted((layout.mended() for layout in layouts[:_TRIED_IN_FULL]), key=lambda m: m.seconds)
    drafts = [] if task.sharing == "line abreast" else [mended[0].own_sectors()]
    if task.sharing != "own sectors":
        for layout in mended:
            done = min((d.seconds for d in drafts), default=np.inf)
            if not drafts or (layout.row_of() > 1 and layout.optimistic_abreast_s() < done):
                drafts.append(layout.line_abreast())
    best = min(drafts, key=lambda draft: draft.seconds)
    if task.site.last_seen_m is not None and best.sharing == "own sectors":
        best = _by_survival(task, walkable.turned(best.turn_rad), best)
    return _plan(task, walkable, best)


def _turns(task: _Task) -> list[float]:
    """Return the turns of the flat axes to lay lanes in: the most promising, or that of the given heading."""
    if task.heading_rad is None:
        return ranked_turns(task.target(), task.width_m, task.pace)[:_TRIED]
    along = task.pace.flat.laid([np.sin(task.heading_rad), np.cos(task.heading_rad)])
    turn = float(np.arctan2(along[1], along[0]) % np.pi)
    refuse_many(task.target(), task.width_m, turn)
    return [turn]


def _by_survival(task: _Task, walkable: Walkable, draft: Draft) -> Draft:
    """Return the draft with each searcher's strips in the order that gives the best survival."""
    pace = Pace(flat=task.pace.flat.turned(draft.turn_rad), factor=task.pace.factor)
    place, _ = ground_places(task.site, _PRIORITY_PLACES)
    chances = Chances(
        place_m=pace.flat.laid(place),
        weight=burial_weight(pace.flat.terrain, place, task.site.last_seen_m),
        half_m=0.5 * task.width_m,
    )
    latest = (1.0 + LATER_SHARE) * draft.seconds
    parts = by_survival(walkable, draft.parts, pace, task.speeds_m_s(), chances, latest_s=latest)
    before, after = (chances.of_parts(p, pace, task.speeds_m_s()) for p in (draft.parts, parts))
    ordered = message("note.below_last_seen", now=number(after, 3), least=number(before, 3))
    return replace(draft, parts=parts, seconds=max(part.seconds for part in parts), ordered=ordered)


def _plan(task: _Task, walkable: Walkable, draft: Draft) -> LanePlan:
    flat = task.pace.flat.turned(draft.turn_rad)
    lanes = [_lane(task, flat.plan(part.line_m), part.searcher, part.seconds) for part in draft.parts]
    lines = [task.pace.flat.laid(lane.line_m) for lane in lanes]
    missed = left_out(lines, task.target(), 0.5 * task.width_m, quad_segs=32, least_m2=_UNREACHED_M2)
    missed_m2 = float(sum(part.area for part in missed))
    covered = 1.0 - missed_m2 / task.target().area
    walkers = {lane.searcher for lane in lanes}
    free = tuple(s.id for s in task.searchers if s.id not in walkers)
    return LanePlan(
        strip_width_m=task.width_m,
        lanes=tuple(lanes),
        covered_fraction=covered,
        seconds=draft.seconds,
        seconds_lower_bound=_bound(task, walkable, missed_m2),
        heading_rad=flat.heading_rad(),
        sharing=draft.sharing,
        strips=draft.strips,
        free_hands=free,
        notes=_notes(draft, walkable, missed_m2, free),
    )


def _lane(task: _Task, line_m: NDArray[np.float64], searcher: int, seconds: float) -> Lane:
    length = task.pace.flat.terrain.length_m(line_m)
    return Lane(searcher=task.searchers[searcher].id, line_m=line_m, length_m=length, seconds=float(seconds))


def _bound(task: _Task, walkable: Walkable, missed_m2: float) -> float:
    """Return the lower bound; if ground stays uncovered, the bound is for the covered area only."""
    terrain = task.pace.flat.terrain
    corners = shapely.get_coordinates(task.target() if missed_m2 == 0.0 else [])
    rise = terrain.height_m(task.pace.flat.plan(corners)) - terrain.height_m(task.site.entry_m)
    bound_task = BoundTask(
        area_m2=task.target().area - missed_m2,
        way_m=float(np.linalg.norm(walkable.door_m - walkable.entry_m)),
        distance_m=_chords(task, corners),
        rise_m=rise,
        steepest_rise=terrain.steepest_rise(),
    )
    speeds = [v * task.pace.factor for v in task.speeds_m_s()]
    return lower_bound_s(bound_task, width_m=task.width_m, speeds_m_s=speeds)


def _chords(task: _Task, corners_m: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return straight distances in space from the entry to corners in flat axes; no way is shorter."""
    terrain, plan = task.pace.flat.terrain, task.pace.flat.plan(corners_m)
    rise = terrain.height_m(plan) - terrain.height_m(task.site.entry_m)
    across = np.linalg.norm(plan - np.asarray(task.site.entry_m), axis=-1)
    return np.asarray(np.hypot(across, rise))


def _notes(draft: Draft, walkable: Walkable, missed_m2: float, free: tuple[str, ...]) -> tuple[Message, ...]:
    notes = []
    if not walkable.whole and missed_m2 > 0.0:
        notes.append(message("note.ground_is_cut"))
    if missed_m2 > 0.0:
        notes.append(message("note.ground_left", area=number(missed_m2, 1)))
    if draft.strips == 1:
        notes.append(message("note.one_lane_covers"))
    if free:
        lanes = len(draft.parts)
        notes.append(message("note.free_hands", lanes=lanes, all=lanes + len(free), names=free))
    notes.append(message("note.lanes_end"))
    if draft.ordered is not None:
        notes.append(draft.ordered)
    if draft.sharing == "line abreast":
        notes.append(message("note.row_together"))
    return tuple(notes)
