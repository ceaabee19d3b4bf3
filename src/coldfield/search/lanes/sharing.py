"""Cut one walk into a contiguous part for each searcher, so that the last one ends as early as possible."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from coldfield.search.lanes.abreast import Part
from coldfield.search.lanes.parallel import without_repeats
from coldfield.search.lanes.snow_axes import Pace
from coldfield.search.lanes.tour import Tour
from coldfield.search.lanes.walkable import Points, Walkable

_PLACES = 1500
_WAY_PLACES = 150
_HALVINGS = 18


class TimedWalk:
    """A walk cut into short steps, with the time along it and the time from the entry to each place.

    Times are for a level speed of 1 m/s. The time from the entry is exact at 150 places of the walk
    and interpolated between them.
    """

    def __init__(self, walkable: Walkable, tour: Tour, pace: Pace) -> None:
        self.line_m, self.transit = _denser(tour.line_m, tour.transit)
        zero = np.zeros(1)
        self.forth_s = np.concatenate([zero, np.cumsum(pace.seconds(self.line_m[:-1], self.line_m[1:]))])
        self.back_s = np.concatenate([zero, np.cumsum(pace.seconds(self.line_m[1:], self.line_m[:-1]))])
        self.way_s = _ways_s(self.line_m, walkable, pace)
        self.next_start, self.last_stop = _without_transit(self.transit)
        ends = self.way_s + self.back_s
        self._least_end_s = np.minimum.accumulate(ends[::-1])[::-1]

    def furthest(self, start: int, limit_s: float) -> int:
        """Return the last place that a part starting at `start` reaches in a given time, or `start`."""
        ahead = limit_s - self.way_s[start] + self.forth_s[start]
        forth = int(np.searchsorted(self.forth_s, ahead, side="right")) - 1
        back = int(np.searchsorted(self._least_end_s, limit_s + self.back_s[start], side="right")) - 1
        reached = max(forth, back)
        return int(self.last_stop[reached]) if reached >= start else start

    def cuts(self, speeds_m_s: Sequence[float], limit_s: float) -> list[int] | None:
        """Return where the parts begin, and the end, if all is walked in a given time; otherwise None."""
        end = len(self.line_m) - 1
        places = [0]
        for speed in speeds_m_s:
            start = int(self.next_start[places[-1]])
            places.append(max(start, self.furthest(start, limit_s * speed)))
            if places[-1] == end:
                return places
        return None


def least_cuts(walk: TimedWalk, speeds_m_s: Sequence[float]) -> tuple[float, list[int]]:
    """Return the least time in which the searchers, in this order along the walk, cover it, s.

    Starting later along the walk never reduces the reach, because the way to a place is at most the
    way to an earlier one plus the walk between them. The greedy test of each time limit is
    therefore exact.
    """
    low, high = 0.0, float((walk.way_s.max() + walk.forth_s[-1]) / min(speeds_m_s)) + 1.0
    best = walk.cuts(speeds_m_s, high)
    assert best is not None, "one searcher alone walks everything in the first limit"
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        found = walk.cuts(speeds_m_s, middle)
        if found is None:
            low = middle
        else:
            high, best = middle, found
    return high, best


def parts_of(
    walk: TimedWalk, places: list[int], walkable: Walkable, pace: Pace, speeds_m_s: Sequence[float]
) -> list[Part]:
    """Return the parts between cuts, each walked in the direction that ends earlier."""
    parts = []
    for searcher, ((a, b), speed) in enumerate(zip(pairwise(places), speeds_m_s, strict=False)):
        start = int(walk.next_start[a])
        line = straightened(walk.line_m[start : b + 1]) if b > start else walk.line_m[start : start + 1]
        if len(line) < 2:
            continue
        choices = []
        strips = _strips_between(walk, start, b)
        for lane, own in ((line, strips), (line[::-1], [s[::-1] for s in strips[::-1]])):
            way = walkable.path_from_entry(lane[0])
            seconds = (pace.of_line(way) + pace.of_line(lane)) / speed
            choices.append(
                Part(searcher=searcher, line_m=lane, way_m=way, seconds=seconds, strips=tuple(own))
            )
        parts.append(min(choices, key=lambda part: part.seconds))
    return parts


def _strips_between(walk: TimedWalk, start: int, stop: int) -> list[Points]:
    """Return the pieces of the walk between two places, without the links."""
    linking = walk.transit[start:stop]
    pieces, first = [], start
    for k in range(start, stop + 1):
        if k == stop or linking[k - start]:
            if k > first:
                pieces.append(straightened(walk.line_m[first : k + 1]))
            first = k + 1
    return [piece for piece in pieces if len(piece) > 1]


def straightened(line_m: Points) -> Points:
    """Return a line (k, 2) without repeats and without corners that lie within 0.1 mm of a straight run."""
    line = without_repeats(line_m)
    if len(line) < 3:
        return line
    come, go = line[1:-1] - line[:-2], line[2:] - line[1:-1]
    off = np.abs(come[:, 0] * go[:, 1] - come[:, 1] * go[:, 0])
    turn = off > 1e-9 * np.linalg.norm(come, axis=1) * np.linalg.norm(go, axis=1)
    back = (come * go).sum(axis=1) < 0.0
    keep = np.concatenate([[True], turn | back, [True]])
    return np.asarray(line[keep])


def _denser(line_m: Points, transit: NDArray[np.bool_]) -> tuple[Points, NDArray[np.bool_]]:
    length = np.linalg.norm(np.diff(line_m, axis=0), axis=1)
    step = max(float(length.sum()) / _PLACES, 0.5)
    count = np.maximum(1, np.ceil(length / step).astype(int))
    leg = np.repeat(np.arange(len(length)), count)
    part = np.arange(len(leg)) - np.repeat(np.cumsum(count) - count, count)
    share = (part / count[leg])[:, None]
    places = line_m[leg] + share * (line_m[leg + 1] - line_m[leg])
    return np.vstack([places, line_m[-1:]]), transit[leg]


def _ways_s(line_m: Points, walkable: Walkable, pace: Pace) -> NDArray[np.float64]:
    n = len(line_m)
    some = np.unique(np.linspace(0, n - 1, min(n, _WAY_PLACES)).astype(int))
    places = line_m[some]
    direct = np.linalg.norm(places - walkable.entry_m, axis=1)
    start = np.broadcast_to(walkable.entry_m, places.shape)
    slowness = np.ones(len(some)) / pace.factor
    far = direct > 1e-6
    slowness[far] = pace.seconds(start[far], places[far]) / direct[far]
    along = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(line_m, axis=0), axis=1))])
    return np.asarray(np.interp(along, along[some], walkable.ways_from_entry(places) * slowness))


def _without_transit(transit: NDArray[np.bool_]) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Return for each place where a part that is cut there really starts (or stops)."""
    n = len(transit) + 1
    start, stop = np.arange(n), np.arange(n)
    for k in range(n - 2, -1, -1):
        if transit[k]:
            start[k] = start[k + 1]
    for k in range(1, n):
        if transit[k - 1]:
            stop[k] = stop[k - 1]
    return start, stop
