"""Line abreast: people side by side, one strip each, moving on together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise, product

import numpy as np

from coldfield.search.lanes.parallel import through
from coldfield.search.lanes.snow_axes import Pace
from coldfield.search.lanes.walkable import Points, Walkable


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """What one searcher walks, in flat axes: the way from the entry, then the lane; lines (k, 2), m.

    `seconds` is the time at which the lane ends, counted from the entry; in line abreast it includes the
    time spent waiting for the others. `strips` are the pieces of the lane that cover ground, in order.
    """

    searcher: int
    line_m: Points
    way_m: Points
    seconds: float
    strips: tuple[Points, ...] = ()


def abreast_parts(
    walkable: Walkable, chains: Sequence[Sequence[Points]], pace: Pace, speeds_m_s: Sequence[float]
) -> list[Part]:
    """Return the lanes of a row of people who sweep each chain of strips in passes.

    Parameters
    ----------
    chains : sequence of chains, each of strips (k, 2), left to right
        Neighbouring strips, in the order in which the chains are swept.
    speeds_m_s : sequence of float
        Speeds on level snow; the row moves at the speed of the slowest.

    Notes
    -----
    Each pass starts when the last person of the row has reached the start of their strip. Between
    passes the row turns round, and each person moves over by as many strips as there are people.
    The row may start from either side and at either end of the chains; the best of these is used.
    """
    trials = [
        ([c[::-1] if turned else c for c in chains], flipped)
        for turned, flipped in product((False, True), repeat=2)
    ]
    rows = [_Row(walkable, order, pace, speeds_m_s, flipped) for order, flipped in trials]
    return min(rows, key=lambda row: max(row.ends_s)).parts()


def optimistic_abreast_s(
    chains: Sequence[Sequence[Points]], pace: Pace, speeds_m_s: Sequence[float]
) -> float:
    """Return a time that no such row can beat, s: the sum of the longest lane of each pass.

    `chains` hold lines of shape (k, 2), m.
    """
    n, speed = len(speeds_m_s), min(speeds_m_s)
    passes = [c[i : i + n] for c in chains for i in range(0, len(c), n)]
    turned = [c[::-1][i : i + n] for c in chains for i in range(0, len(c), n)]
    times: list[float] = []
    for rows in (passes, turned):
        longest = [max(min(pace.of_line(lane), pace.of_line(lane[::-1])) for lane in row) for row in rows]
        times.append(sum(longest))
    return min(times) / speed


class _Row:
    """A row that sweeps chains of strips; `ends_s` says when each person's last lane ends."""

    def __init__(
        self,
        walkable: Walkable,
        chains: Sequence[Sequence[Points]],
        pace: Pace,
        speeds_m_s: Sequence[float],
        flipped: bool,
    ) -> None:
        n, speed = len(speeds_m_s), min(speeds_m_s)
        self._walkable = walkable
        self.strips: list[list[Points]] = [[] for _ in range(n)]
        self.ends_s = [0.0] * n
        clock = 0.0
        passes = [c[i : i + n] for c in chains for i in range(0, len(c), n)]
        for number, row in enumerate(passes):
            lanes = [line[::-1] if flipped != bool(number % 2) else line for line in row]
            arrive = clock
            for own, lane in zip(self.strips, lanes, strict=False):
                way = walkable.path(own[-1][-1], lane[0]) if own else walkable.path_from_entry(lane[0])
                arrive = max(arrive, (clock if own else 0.0) + pace.of_line(way) / speed)
            for i, lane in enumerate(lanes):
                self.ends_s[i] = arrive + pace.of_line(lane) / speed
                self.strips[i].append(lane)
            clock = max(self.ends_s[: len(lanes)])

    def parts(self) -> list[Part]:
        """Return the strips of each person, joined into one lane."""
        return [
            Part(
                searcher=i,
                line_m=as_one_line(self._walkable, own),
                way_m=self._walkable.path_from_entry(own[0][0]),
                seconds=self.ends_s[i],
                strips=tuple(own),
            )
            for i, own in enumerate(self.strips)
            if own
        ]


def as_one_line(walkable: Walkable, strips: Sequence[Points]) -> Points:
    """Return strips, lines (k, 2), joined into one line by the shortest ways between them, m."""
    places = [strips[0]]
    for before, after in pairwise(strips):
        link = through(walkable, np.array([before[-1], after[0]]))
        places += [link[1:-1], after]
    return np.concatenate(places)
