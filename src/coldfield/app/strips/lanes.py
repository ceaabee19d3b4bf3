"""Divide the ground of a drill among its searchers, and write their lanes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import degrees, radians
from pathlib import Path
from typing import Literal

import numpy as np

from coldfield.app.answers import places
from coldfield.app.drills.files import write_whole
from coldfield.app.drills.picture_files import write_picture
from coldfield.app.strips.answers import DetectionAnswer, LaneAnswer, StripsAnswer
from coldfield.drill.drill import Drill
from coldfield.drill.frame import SiteFrame
from coldfield.drill.grid import Grid
from coldfield.drill.searcher import Searcher
from coldfield.errors import BadInput
from coldfield.files.lane_files import lanes_geojson, lanes_gpx
from coldfield.message import message, number
from coldfield.search.lanes.plan import LanePlan, Sharing, plan_lanes
from coldfield.search.lanes.respacing import respaced
from coldfield.search.width.choice import WidthChoice, width_choices
from coldfield.search.width.strip_width import group_strip_width_m

MOST_SEARCHERS = 200

LaneFile = Literal["gpx", "geojson"]


def lanes_for(
    drill: Drill,
    *,
    searchers: int | None = None,
    strip_width_m: float | None = None,
    sharing: Sharing = "least time",
    grid: Grid | None = None,
) -> LanePlan:
    """Return the lanes of a drill.

    Parameters
    ----------
    drill : Drill
        Ground, people and conditions.
    searchers : int, optional
        The number of searchers: the first ones of the drill, then more like its last one. Default: all of the
        drill.
    strip_width_m : float, optional
        Default: the drill's own, else the edge width of the group.
    sharing : {'least time', 'own sectors', 'line abreast'}
        How the ground is divided.
    grid : Grid, optional
        The elevation grid; default: the even slope of the drill.

    Raises
    ------
    BadInput
        If the number or the width cannot be used, or the drill has no searchers.
    """
    people = _people(drill, searchers)
    width = strip_width_m if strip_width_m is not None else drill.conditions.strip_width_m
    if width is None:
        width = group_strip_width_m(drill)
    return plan_lanes(
        drill.site,
        people,
        strip_width_m=width,
        terrain=grid,
        travel=drill.conditions.travel,
        sharing=sharing,
        heading_rad=drill.conditions.lane_heading_rad,
    )


def with_heading(drill: Drill, heading_deg: float | None) -> Drill:
    """Return a drill with all lanes along one heading, degrees from true north; None: no change.

    Raises
    ------
    BadInput
        If the heading is not from -360 to 360.
    """
    if heading_deg is None:
        return drill
    if not abs(heading_deg) <= 360.0:
        told = {"low": number(-360), "high": number(360), "found": number(heading_deg)}
        raise BadInput(message("fault.from_to_not", **told).at("heading_deg"))
    return replace(drill, conditions=replace(drill.conditions, lane_heading_rad=radians(heading_deg)))


def _people(drill: Drill, count: int | None) -> list[Searcher]:
    if count is None:
        return list(drill.searchers)
    if not 1 <= count <= MOST_SEARCHERS:
        raise BadInput(message("fault.from_to_not", low=1, high=MOST_SEARCHERS, found=count).at("searchers"))
    if not drill.searchers:
        raise BadInput(message("fault.no_model_searcher").at("searchers"))
    last = drill.searchers[-1]
    taken = {s.id for s in drill.searchers}
    spare = (f"extra-{k}" for k in range(1, MOST_SEARCHERS * 2))
    free = (name for name in spare if name not in taken)
    more = [replace(last, id=name, name=name) for name, _ in zip(free, range(count), strict=False)]
    return [*drill.searchers, *more][:count]


def strips_answer(
    plan: LanePlan,
    *,
    detection: DetectionAnswer | None = None,
    widths: Sequence[WidthChoice] | None = None,
) -> StripsAnswer:
    """Return a plan as `coldfield strips --json` prints it, with the optional parts."""
    return StripsAnswer(
        strip_width_m=plan.strip_width_m,
        heading_deg=degrees(plan.heading_rad),
        sharing=plan.sharing,
        strips=plan.strips,
        lanes=tuple(
            LaneAnswer(
                searcher=lane.searcher,
                line_m=places(lane.line_m),
                length_m=lane.length_m,
                seconds=lane.seconds,
            )
            for lane in plan.lanes
        ),
        free_hands=plan.free_hands,
        covered_fraction=plan.covered_fraction,
        seconds=plan.seconds,
        seconds_lower_bound=plan.seconds_lower_bound,
        notes=plan.notes,
        detection=detection,
        widths=None if widths is None else tuple(widths),
    )


def lanes_without(
    drill: Drill,
    plan: LanePlan,
    gone: str,
    *,
    after_s: float,
    searchers: int | None = None,
    grid: Grid | None = None,
) -> LanePlan:
    """Return how the others divide the rest of the ground if one person drops out `after_s` into a plan.

    Raises
    ------
    BadInput, UnknownRecord, OutOfModel
        If the time cannot be used, there is no such searcher, or nobody or no ground is left.
    """
    if not (np.isfinite(after_s) and after_s >= 0.0):
        raise BadInput(message("fault.at_least_not", low=0, found=number(after_s)).at("after_s"))
    people = _people(drill, searchers)
    day = drill.conditions
    return respaced(
        drill.site,
        people,
        plan,
        gone=gone,
        after_s=after_s,
        terrain=grid,
        travel=day.travel,
        heading_rad=day.lane_heading_rad,
    )


def compare_widths(
    drill: Drill, widths_m: Sequence[float], *, searchers: int | None = None, grid: Grid | None = None
) -> list[WidthChoice]:
    """Return the time saved by each width, and the risk of missing a set.

    Raises
    ------
    BadInput, OutOfModel
        If a width or the number of searchers cannot be used, or no burial has a set.
    """
    return width_choices(drill, _people(drill, searchers), widths_m, terrain=grid)


def lanes_text(drill: Drill, plan: LanePlan, kind: LaneFile) -> str:
    """Return the lanes as the text of a GPX or GeoJSON file, with the searchers' names.

    Raises
    ------
    BadInput
        If the drill has no map position yet.
    """
    made = lanes_gpx if kind == "gpx" else lanes_geojson
    names = {s.id: s.name for s in drill.searchers}
    return made(plan.lanes, SiteFrame(drill.site.origin), names=names, title=drill.name)


def write_lanes(
    drill: Drill,
    plan: LanePlan,
    *,
    gpx: Path | str | None = None,
    geojson: Path | str | None = None,
    picture: Path | str | None = None,
    grid: Grid | None = None,
) -> None:
    """Write the lanes as GPX, GeoJSON and a picture, each file completely or not at all.

    Raises
    ------
    BadInput
        If a file cannot be written, or coordinates are asked for and the drill has no map position yet.
    """
    names = {s.id: s.name for s in drill.searchers}
    wanted: tuple[tuple[Path | str | None, LaneFile], ...] = ((gpx, "gpx"), (geojson, "geojson"))
    for path, kind in wanted:
        if path is not None:
            write_whole(path, lanes_text(drill, plan, kind).encode())
    if picture is not None:
        from coldfield.pictures.lane_plan import lane_figure

        write_picture(picture, lambda: lane_figure(drill.site, plan, names=names, grid=grid))
