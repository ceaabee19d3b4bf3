"""Line abreast: people side by side, one strip each, moving on together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise, product

import numpy as np

from coldfield.search.flat import Pace
from coldfield.search.parallel import through
from coldfield.search.walkable import Points, Walkable


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """What one searcher walks, in flat axes: the way from the entry, then the lane.

    `seconds` is when the lane ends, counted from the entry; in line abreast with the waiting for
    the others.
    """

    searcher: int
    line_m: Points
    way_m: Points
    seconds: float


def abreast_parts(
    walkable: Walkable, chains: Sequence[Sequence[Points]], pace: Pace, speeds_m_s: Sequence[float]
) -> list[Part]:
    """Return the lanes of a row of people that sweeps each chain of strips in passes.

    Parameters
    ----------
    chains : sequence of chains, each of strips (k, 2), left to right
        Neighbouring strips, in the order in which the chains are swept.
    speeds_m_s : sequence of float
        Level speeds; the row moves at that of the slowest.

    Notes
    -----
    Each pass starts when the last of the row has come to the start of their strip. From pass to
    pass the row turns round and each person moves over by as many strips as there are people.
    The best of both sides to start from and both ends of the chains is taken.
    """
    trials = [
        _row(walkable, [c[::-1] if turned else c for c in chains], pace, speeds_m_s, flipped)
        for turned, flipped in product((False, True), repeat=2)
    ]
    return min(trials, key=lambda parts: max(part.seconds for part in parts))


def _row(
    walkable: Walkable,
    chains: Sequence[Sequence[Points]],
    pace: Pace,
    speeds_m_s: Sequence[float],
    flipped: bool,
) -> list[Part]:
    n, speed = len(speeds_m_s), min(speeds_m_s)
    strips: list[list[Points]] = [[] for _ in range(n)]
    ends = np.zeros(n)
    ways: dict[int, Points] = {}
    clock = 0.0
    passes = [c[i : i + n] for c in chains for i in range(0, len(c), n)]
    for number, row in enumerate(passes):
        lanes = [line[::-1] if flipped != bool(number % 2) else line for line in row]
        arrive = clock
        for i, lane in enumerate(lanes):
            if not strips[i]:
                ways[i] = walkable.path_from_entry(lane[0])
                come = pace.of_line(ways[i]) / speed
            else:
                come = clock + pace.of_line(walkable.path(strips[i][-1][-1], lane[0])) / speed
            arrive = max(arrive, come)
        for i, lane in enumerate(lanes):
            ends[i] = arrive + pace.of_line(lane) / speed
            strips[i].append(lane)
        clock = float(max(ends[: len(lanes)]))
    return [
        Part(searcher=i, line_m=_joined(walkable, own), way_m=ways[i], seconds=float(ends[i]))
        for i, own in enumerate(strips)
        if own
    ]


def _joined(walkable: Walkable, strips: Sequence[Points]) -> Points:
    places = [strips[0]]
    for before, after in pairwise(strips):
        link = through(walkable, np.array([before[-1], after[0]]))
        places += [link[1:-1], after]
    return np.concatenate(places)
