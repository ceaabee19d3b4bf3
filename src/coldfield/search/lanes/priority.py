"""Which ground to walk first: where people were last seen, and survival by the time they are heard."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray

from coldfield.drill.grid import Terrain
from coldfield.drill.site import Point
from coldfield.search.lanes.abreast import Part, as_one_line
from coldfield.search.lanes.snow_axes import Pace
from coldfield.search.lanes.walkable import Points, Walkable
from coldfield.survival.curves import DEFAULT, Curve

AFTER_HEARING_S = 8 * 60.0 + 60.0
"""Burial to alarm (1 min) plus first signal to free airway (8 min). Setting."""

BELOW_GAIN = 4.0
SPREAD_START_M, SPREAD_PER_M = 5.0, 0.25
ABOVE_WEIGHT = 0.2
"""Ground on the flow line below the last-seen point has the weight 1 + 4. To the sides this falls
as a bell curve of 5 m plus a quarter of the distance down. Ground above has the weight 0.2.
Settings, no source: people are mostly found below the last-seen point, along the flow (common
practice)."""

_STEP_M = 2.0
_TRIALS = 40
_LONGEST_FLOW_M = 3000.0

Floats = NDArray[np.float64]


def flow_line(terrain: Terrain, start_m: Point, *, length_m: float) -> Floats:
    """Return the line of steepest descent from a place, (k, 2) in plan, every 2 m, up to a given length.

    It ends where the ground is level to within half a degree, or at the edge of a grid.
    """
    place = np.array(start_m, dtype=np.float64)
    line = [place]
    for _ in range(int(min(length_m, _LONGEST_FLOW_M) / _STEP_M)):
        down = -terrain.gradient(place)
        steep = float(np.hypot(*down))
        if not np.isfinite(steep) or steep < np.tan(np.radians(0.5)):
            break
        place = place + _STEP_M * down / steep
        line.append(place)
    return np.array(line)


def burial_weight(terrain: Terrain, place_m: Floats, last_seen_m: Point | None) -> Floats:
    """Return the probability of a burial at each place, (n, 2) in plan, as weights that sum to 1.

    All weights are equal if nobody was seen or if the ground there is level.
    """
    weight = np.ones(len(place_m))
    if last_seen_m is not None:
        away = np.hypot(*(place_m - np.asarray(last_seen_m)).T)
        line = flow_line(terrain, last_seen_m, length_m=float(away.max()) + _STEP_M)
        if len(line) > 1:
            offset = np.linalg.norm(place_m[:, None] - line[None], axis=-1)
            nearest = np.argmin(offset, axis=1)
            side = offset[np.arange(len(place_m)), nearest]
            spread = SPREAD_START_M + SPREAD_PER_M * _STEP_M * nearest
            weight += BELOW_GAIN * np.exp(-0.5 * (side / spread) ** 2)
            first = line[1] - line[0]
            above = (place_m - line[0]) @ first < 0.0
            weight[above] = ABOVE_WEIGHT
    return np.asarray(weight / weight.sum())


@dataclass(frozen=True, kw_only=True)
class Chances:
    """Places of the ground in flat axes, (n, 2), with the weight of each, and the survival curve to use."""

    place_m: Points
    weight: Floats
    half_m: float
    after_hearing_s: float = AFTER_HEARING_S
    curve: Curve = DEFAULT

    def survivors(self, heard_s: Floats) -> float:
        """Return the expected survival of one person who is heard at times (places,), s, at each place."""
        reached = np.where(np.isfinite(heard_s), heard_s + self.after_hearing_s, 0.0)
        alive = np.where(np.isfinite(heard_s), self.curve.survival(reached), 0.0)
        return float(self.weight @ alive)

    def of_parts(self, parts: Sequence[Part], pace: Pace, speeds_m_s: Sequence[float]) -> float:
        """Return the expected survival of one person with these lanes."""
        return self.survivors(np.min([self.heard_s(p, pace, speeds_m_s[p.searcher]) for p in parts], axis=0))

    def heard_s(self, part: Part, pace: Pace, speed_m_s: float) -> Floats:
        """Return when a lane first comes within half a width of each place, (places,), s; inf: never.

        In line abreast, waiting times are left out.
        """
        line = np.asarray(
            shapely.get_coordinates(shapely.segmentize(shapely.linestrings(part.line_m), self.half_m / 4.0))
        )
        steps = pace.seconds(line[:-1], line[1:])
        at = (pace.of_line(part.way_m) + np.concatenate([[0.0], np.cumsum(steps)])) / speed_m_s
        reach = 1.01 * self.half_m  # places between those a quarter of half a width apart
        near = np.hypot(
            self.place_m[:, None, 0] - line[None, :, 0], self.place_m[:, None, 1] - line[None, :, 1]
        )
        return np.asarray(np.where(near <= reach, at[None], np.inf).min(axis=1))


def by_survival(
    walkable: Walkable,
    parts: Sequence[Part],
    pace: Pace,
    speeds_m_s: Sequence[float],
    chances: Chances,
    *,
    latest_s: float,
) -> list[Part]:
    """Return the parts, each with its strips in the order and direction that give the best survival.

    Parameters
    ----------
    parts : sequence of Part
        Own sectors, with their strips (`Part.strips`) in walking order.
    speeds_m_s : sequence of float
        By searcher.
    latest_s : float
        No part may end later.

    Notes
    -----
    For each part, with the others unchanged, these orders are tried: from either end, and from some
    strip in between to one side and then to the other. This makes about 40 orders over all parts
    and up to two rounds.
    """
    starts = max(1, _TRIALS // (4 * 2 * max(len(parts), 1)))
    chosen = list(parts)
    heard = [chances.heard_s(p, pace, speeds_m_s[p.searcher]) for p in chosen]
    for _ in range(_rounds(parts)):
        for k, part in enumerate(chosen):
            others = np.min([h for j, h in enumerate(heard) if j != k], axis=0, initial=np.inf)
            others = np.broadcast_to(others, heard[k].shape)
            best = chances.survivors(np.minimum(others, heard[k]))
            for trial in _orders(walkable, part, pace, speeds_m_s[part.searcher], starts):
                if trial.seconds > latest_s:
                    continue
                times = chances.heard_s(trial, pace, speeds_m_s[part.searcher])
                value = chances.survivors(np.minimum(others, times))
                if value > best + 1e-9:
                    best, chosen[k], heard[k] = value, trial, times
    return chosen


def _rounds(parts: Sequence[Part]) -> int:
    """Two rounds if parts have few strips; with many strips each order takes long to work out."""
    return 2 if sum(len(part.strips) for part in parts) <= _TRIALS else 1


def _orders(walkable: Walkable, part: Part, pace: Pace, speed_m_s: float, starts: int) -> list[Part]:
    n = len(part.strips)
    orders = [list(range(n)), list(range(n))[::-1]]
    inner = sorted({round(k) for k in np.linspace(0, n - 1, starts + 2)[1:-1]} - {0, n - 1})
    orders += [[*range(k, n), *range(k - 1, -1, -1)] for k in inner]
    orders += [[*range(k, -1, -1), *range(k + 1, n)] for k in inner]
    trials = []
    for order in orders:
        for flip in (False, True):
            strips = [part.strips[order[0]][:: -1 if flip else 1]]
            for k in order[1:]:
                here, strip = strips[-1][-1], part.strips[k]
                nearer_end = np.hypot(*(strip[-1] - here)) < np.hypot(*(strip[0] - here))
                strips.append(strip[::-1] if nearer_end else strip)
            line, way = as_one_line(walkable, strips), walkable.path_from_entry(strips[0][0])
            seconds = (pace.of_line(way) + pace.of_line(line)) / speed_m_s
            trials.append(replace(part, line_m=line, way_m=way, seconds=seconds, strips=tuple(strips)))
    return trials
