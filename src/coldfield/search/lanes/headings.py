"""Choose the headings of parallel lanes for which a full plan is made."""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from coldfield.errors import OutOfModel
from coldfield.message import message, number
from coldfield.search.lanes.parallel import even_edges, middle_lines
from coldfield.search.lanes.snow_axes import Pace, turned

GREATEST_STRIPS = 600
_STEP_RAD = np.radians(10.0)
_SAME_RAD = np.radians(2.0)
_LONG_SIDES = 12


def ranked_turns(ground: BaseGeometry, width_m: float, pace: Pace) -> list[float]:
    """Return headings to try, as turns of the flat axes, rad, the one with the least estimated time first.

    Candidates are 18 evenly spaced headings and those of the 12 longest sides. The estimate is the time
    to walk the middle lines of all strips, averaged over both directions, plus a link of one strip width
    for each.

    Raises
    ------
    OutOfModel
        If the width needs more than 600 strips side by side.
    """
    rated = [(_rough_seconds(ground, turn, width_m, pace), turn) for turn in _turns(ground)]
    return [turn for _, turn in sorted(rated)]


def _turns(ground: BaseGeometry) -> list[float]:
    sides = [np.diff(shapely.get_coordinates(r), axis=0) for r in shapely.get_parts(_outline(ground))]
    all_sides = np.concatenate(sides)
    longest = all_sides[np.argsort(-np.hypot(all_sides[:, 0], all_sides[:, 1]))[:_LONG_SIDES]]
    turns = [float(np.arctan2(s[1], s[0]) % np.pi) for s in longest]
    turns += list(np.arange(0.0, np.pi - 1e-9, _STEP_RAD))
    kept: list[float] = []
    for turn in turns:
        if all(min(abs(turn - k), np.pi - abs(turn - k)) > _SAME_RAD for k in kept):
            kept.append(turn)
    return kept


def _outline(ground: BaseGeometry) -> BaseGeometry:
    return shapely.simplify(ground, 1.0).boundary


def refuse_many(ground: BaseGeometry, width_m: float, turn_rad: float) -> NDArray[np.float64]:
    """Return the borders between strips of this heading, (n + 1,), m.

    Raises
    ------
    OutOfModel
        If there are more than 600 strips side by side.
    """
    edges = even_edges(turned(ground, turn_rad), width_m)
    if len(edges) - 1 > GREATEST_STRIPS:
        strips = len(edges) - 1
        fault = message("fault.too_many_strips", width=number(width_m), n=strips, most=GREATEST_STRIPS)
        raise OutOfModel(fault.at("strip_width_m"))
    return edges


def _rough_seconds(ground: BaseGeometry, turn_rad: float, width_m: float, pace: Pace) -> float:
    area = turned(ground, turn_rad)
    edges = refuse_many(ground, width_m, turn_rad)
    cuts = shapely.intersection(area, np.array(middle_lines(area, edges)))
    links = float(np.maximum(shapely.get_num_geometries(cuts), 1).sum()) * float(edges[1] - edges[0])
    along = np.array([np.cos(turn_rad), np.sin(turn_rad)])
    steps = np.array([along, -along, along[::-1] * [-1, 1], along[::-1] * [1, -1]])
    slowness = pace.seconds(np.zeros_like(steps), steps).reshape(2, 2).mean(axis=1)
    return float(shapely.length(cuts).sum()) * float(slowness[0]) + links * float(slowness[1])
