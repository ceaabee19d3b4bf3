"""The lane card: what a leader can shout, where each person starts, and a drawing of the lanes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import cos, degrees, pi
from typing import Literal

import numpy as np
import shapely
from numpy.typing import NDArray

from coldfield.drill.cautions import LIMITS, RUNNING
from coldfield.drill.drill import Drill
from coldfield.drill.site import Site
from coldfield.drill.terrain import Plane
from coldfield.message import Message, duration, length, message, number
from coldfield.paper import blocks
from coldfield.paper.blocks import Cell
from coldfield.paper.drawing import INK, frame_of, line, words
from coldfield.paper.ground_plan import FOOT_MM, Labels, ground_shapes, mark_shapes, short
from coldfield.paper.press import MARGIN_MM, SIZES_MM, Block, Paper
from coldfield.search.lanes.plan import Lane, LanePlan
from coldfield.words import say, word

STEEP_ENOUGH_RAD = 3.0 * pi / 180.0
"""On flatter ground nobody sees a fall line, so only the bearing is given. Setting."""

AT_EDGE_M = 2.0
"""A start no farther from the edge than this counts as at the edge. Setting."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Start:
    """Where a lane starts: metres on the snow along the edge from the entry, which way, then metres in."""

    along_m: float
    side: Literal["left", "right"]
    inwards_m: float


def start_of(site: Site, lane: Lane) -> Start:
    """Return how the start of a lane is found by pacing along the edge from the entry.

    The shorter way round the ground is used; left and right are as seen from the entry, looking in.
    """
    snow = Plane.of(site).to_snow
    edge = shapely.LinearRing(snow(site.boundary_m))
    entry, first = shapely.Point(snow(site.entry_m)), shapely.Point(snow(lane.line_m[0]))
    way = (edge.project(first) - edge.project(entry)) % edge.length
    # A counterclockwise ring leads to the right of somebody looking in.
    right = edge.is_ccw
    if way > 0.5 * edge.length:
        way, right = edge.length - way, not right
    return Start(along_m=float(way), side="right" if right else "left", inwards_m=float(edge.distance(first)))


def card_blocks(drill: Drill, plan: LanePlan, *, paper: Paper = "a4", pace_m: float = 0.75) -> list[Block]:
    """Return the blocks of the lane card, one page."""
    names = {one.id: one.name for one in drill.searchers}
    walked = [lane for lane in plan.lanes if len(lane.line_m) > 1]
    shout = say(call(drill.site, plan, walked))
    rows: list[list[Cell]] = []
    for k, lane in enumerate(walked, start=1):
        start = start_of(drill.site, lane)
        rows.append(
            [
                str(k),
                names.get(lane.searcher, lane.searcher),
                say(_start_words(start, pace_m)),
                word("sheet.plain", n=length(lane.length_m)),
                word("sheet.plain", n=duration(lane.seconds)),
            ]
        )
    head = [
        word("sheet.lane"),
        word("sheet.who"),
        word("sheet.start"),
        word("sheet.lane_length"),
        word("sheet.done_after"),
    ]
    rest = [names.get(one, one) for one in plan.free_hands]
    return [
        blocks.NEW_PAGE,
        blocks.title(word("sheet.lane_card"), drill.name),
        blocks.text(shout, size=17, bold=True),
        blocks.text(say(heading_words(drill.site, plan)), size=11),
        _drawn(drill, plan, walked, paper=paper, rows=len(rows)),
        blocks.table(head, rows, columns=[10.0, "2fr", "3fr", "auto", "auto"]),
        *([blocks.text(word("sheet.free_hands", people=tuple(rest)))] if rest else []),
        blocks.text(word("sheet.paces_note", pace=number(100 * pace_m, 0)), size=7.5),
        blocks.items([say(one) for one in (RUNNING[1], LIMITS[0])]),
    ]


def call(site: Site, plan: LanePlan, lanes: Sequence[Lane]) -> Message:
    """Return what to shout: how many abreast, how far apart, in which direction."""
    apart = number(plan.strip_width_m, 0)
    way = way_words(site, plan, lanes)
    if plan.sharing == "line abreast" and len(lanes) > 1:
        return message("sheet.abreast", n=len(lanes), apart=apart, way=way)
    return message("sheet.own_lanes", n=len(lanes), apart=apart, way=way)


def _bearing_rad(plan: LanePlan, lanes: Sequence[Lane]) -> float:
    """The direction in which the first lane starts, one of the two along the heading."""
    if lanes:
        first = np.diff(lanes[0].line_m[:2], axis=0)[0]
        along = np.array([np.sin(plan.heading_rad), np.cos(plan.heading_rad)])
        if float(first @ along) < 0.0:
            return (plan.heading_rad + pi) % (2.0 * pi)
    return plan.heading_rad


def way_words(site: Site, plan: LanePlan, lanes: Sequence[Lane]) -> Message:
    """Return the direction in words: by the fall line if the slope shows one, otherwise by the bearing."""
    bearing = _bearing_rad(plan, lanes)
    told = number(degrees(bearing) % 360.0, 0)
    if site.slope_rad < STEEP_ENOUGH_RAD:
        return message("sheet.way_bearing", bearing=told)
    down = cos(bearing - site.aspect_rad)
    if down > cos(pi / 8):
        return message("sheet.way_down")
    if down < -cos(pi / 8):
        return message("sheet.way_up")
    if abs(down) < cos(3 * pi / 8):
        return message("sheet.way_across", bearing=told)
    return (
        message("sheet.way_slanting_up", bearing=told)
        if down < 0
        else message("sheet.way_slanting_down", bearing=told)
    )


def heading_words(site: Site, plan: LanePlan) -> Message:
    """Return the fixed heading that everybody can hold with a compass."""
    true = degrees(_bearing_rad(plan, [lane for lane in plan.lanes if len(lane.line_m) > 1])) % 360.0
    back = (true + 180.0) % 360.0
    if site.declination_rad is None:
        return message("sheet.heading_true", bearing=number(true, 0), back=number(back, 0))
    by = degrees(site.declination_rad)
    bearing, back = (true - by) % 360.0, (back - by) % 360.0
    return message(
        "sheet.heading_compass", bearing=number(bearing, 0), back=number(back, 0), true=number(true, 0)
    )


def _start_words(start: Start, pace_m: float) -> Message:
    paces, inwards = round(start.along_m / pace_m), round(start.inwards_m / pace_m)
    if paces == 0 and start.inwards_m <= AT_EDGE_M:
        return message("sheet.start_at_entry")
    edge = (
        message("sheet.start_left", n=paces)
        if start.side == "left"
        else message("sheet.start_right", n=paces)
    )
    return edge if start.inwards_m <= AT_EDGE_M else message("sheet.start_then_in", edge=edge, n=inwards)


_DASHES: tuple[str | None, ...] = (None, "dashed", "dotted", "dash-dotted")


def _drawn(drill: Drill, plan: LanePlan, lanes: Sequence[Lane], *, paper: Paper, rows: int) -> Block:
    """The lanes, each with its number at the start, its own dash and an arrow on its first leg."""
    wide, tall = SIZES_MM[paper]
    site = drill.site
    room = max(tall - 2 * MARGIN_MM - 92.0 - 5.6 * rows - FOOT_MM, 70.0)
    frame = frame_of([*site.boundary_m, site.entry_m], width_mm=wide - 2 * MARGIN_MM, most_height_mm=room)
    labels = Labels()
    shapes = ground_shapes(site, frame)
    for k, lane in enumerate(lanes):
        at = frame.mm(lane.line_m)
        shapes.append(line(at, width=0.45, dash=_DASHES[k % len(_DASHES)]))
        labels.mark(at[0], 2.0)
        shapes += _arrow(at)
    shapes += mark_shapes(site, frame, labels)
    for k, lane in enumerate(lanes, start=1):
        x, y = (float(v) for v in frame.mm(lane.line_m[0]))
        shapes.append(words(str(k), (x, y), size=11, bold=True, at="c"))
    alt = word("sheet.lanes_alt", name=short(drill.name, 60), n=len(lanes), scale=number(frame.scale, 0))
    return blocks.drawing(shapes, width_mm=frame.width_mm, height_mm=frame.height_mm + FOOT_MM, alt=alt)


def _arrow(at: NDArray[np.float64]) -> list[Block]:
    """An arrow at two fifths of a line, in the direction of walking."""
    legs = np.linalg.norm(np.diff(at, axis=0), axis=1)
    reached = np.concatenate([[0.0], np.cumsum(legs)])
    if reached[-1] < 8.0:
        return []
    k = int(np.searchsorted(reached, 0.4 * reached[-1], side="right")) - 1
    u = (at[k + 1] - at[k]) / legs[k]
    tip, side = at[k] + u * (0.4 * reached[-1] - reached[k]), np.array([-u[1], u[0]])
    return [line([tip - 2.2 * u + 1.1 * side, tip, tip - 2.2 * u - 1.1 * side], colour=INK, width=0.45)]
