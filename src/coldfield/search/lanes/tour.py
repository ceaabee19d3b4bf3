"""One walk through all strips: chains of neighbouring strips in an order that keeps the links short."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely
from numpy.typing import NDArray

from coldfield.search.lanes.parallel import Strip, without_repeats
from coldfield.search.lanes.walkable import Points, Walkable

_STATES = ((False, False), (False, True), (True, False), (True, True))
"""Ways through a chain: (from the last strip, first strip walked from right to left)."""

_TOUCH_M = 1e-6
_MANY_CHAINS = 24


@dataclass(frozen=True, slots=True, kw_only=True)
class Tour:
    """A walk through all strips. `transit[k]` is true if the leg from corner k to k + 1 only links
    two strips; only the strips cover ground. `line_m` (k, 2), `transit` (k - 1,).

    `chains` are the strips, each from left to right, by chains in the order of the walk.
    """

    line_m: Points
    transit: NDArray[np.bool_]
    chains: tuple[tuple[Points, ...], ...]


def chains_of(strips: Sequence[Strip]) -> list[list[int]]:
    """Return the strips in chains; within a chain each strip is the next one's only neighbour in its band."""
    above: list[list[int]] = [[] for _ in strips]
    below: list[list[int]] = [[] for _ in strips]
    by_band: dict[int, list[int]] = {}
    for i, strip in enumerate(strips):
        by_band.setdefault(strip.band, []).append(i)
    for band, here in by_band.items():
        for i in here:
            for j in by_band.get(band + 1, ()):
                if shapely.dwithin(strips[i].piece, strips[j].piece, _TOUCH_M):
                    above[i].append(j)
                    below[j].append(i)
    follows = {i: a[0] for i, a in enumerate(above) if len(a) == 1 and len(below[a[0]]) == 1}
    starts = set(range(len(strips))) - set(follows.values())
    chains = []
    for i in sorted(starts):
        chain = [i]
        while chain[-1] in follows:
            chain.append(follows[chain[-1]])
        chains.append(chain)
    return chains


def tour_of(walkable: Walkable, strips: Sequence[Strip], *, from_entry: bool) -> Tour:
    """Return one walk through all strips, with its links shortened by a local search.

    With `from_entry` the way from the entry to the first strip counts too.
    """
    chains = [[strips[i].line_m for i in chain] for chain in chains_of(strips)]
    ends = np.array([_ends(chain, *state) for chain in chains for state in _STATES])
    starts, stops = ends[:, 0], ends[:, 1]
    n = len(chains)
    step = walkable.distances(stops, starts).reshape(n, 4, n, 4)
    first = walkable.ways_from_entry(starts).reshape(n, 4) if from_entry else np.zeros((n, 4))
    order = _improved(_greedy_order(step, first), step, first)
    states = _best_states(order, step, first)[1]
    walks = [_through_chain(chains[c], *_STATES[s]) for c, s in zip(order, states, strict=True)]
    line, transit = _joined(walkable, [line for walk in walks for line in walk])
    in_order = tuple(tuple(chains[c]) for c in order)
    return Tour(line_m=line, transit=transit, chains=in_order)


def _ends(chain: list[Points], backwards: bool, flipped: bool) -> tuple[Points, Points]:
    walk = _through_chain(chain, backwards, flipped)
    return walk[0][0], walk[-1][-1]


def _through_chain(chain: list[Points], backwards: bool, flipped: bool) -> list[Points]:
    lines = chain[::-1] if backwards else chain
    return [line[::-1] if flipped != bool(k % 2) else line for k, line in enumerate(lines)]


def _joined(walkable: Walkable, lines: list[Points]) -> tuple[Points, NDArray[np.bool_]]:
    walk: list[Points] = [lines[0]]
    transit = [np.zeros(len(lines[0]) - 1, dtype=bool)]
    for before, after in pairwise(lines):
        link = without_repeats(walkable.path(before[-1], after[0]))
        inner = link[1:] if np.linalg.norm(link[-1] - before[-1]) > 1e-9 else link[1:1]
        rest = after[1:]
        walk += [inner, rest]
        transit += [np.ones(len(inner), dtype=bool), np.zeros(len(rest), dtype=bool)]
    return np.concatenate(walk), np.concatenate(transit)


def _greedy_order(step: NDArray[np.float64], first: NDArray[np.float64]) -> list[int]:
    n = len(step)
    shortest = step.min(axis=(1, 3))
    order = [int(np.argmin(first.min(axis=1)))]
    while len(order) < n:
        rest = [c for c in range(n) if c not in order]
        order.append(min(rest, key=lambda c: float(shortest[order[-1], c])))
    return order


def _best_states(
    order: list[int], step: NDArray[np.float64], first: NDArray[np.float64]
) -> tuple[float, list[int]]:
    """Return the least length of links for an order of chains, and the direction through each chain."""
    cost = first[order[0]]
    came: list[NDArray[np.intp]] = []
    for a, b in pairwise(order):
        through = cost[:, None] + step[a, :, b, :]
        came.append(np.argmin(through, axis=0))
        cost = through.min(axis=0)
    states = [int(np.argmin(cost))]
    for back in reversed(came):
        states.append(int(back[states[-1]]))
    return float(cost.min()), states[::-1]


def _costs(
    orders: NDArray[np.intp], step: NDArray[np.float64], first: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return the least length of links for many orders at once, (t, n) -> (t,)."""
    cost = first[orders[:, 0]]
    for a, b in zip(orders.T[:-1], orders.T[1:], strict=True):
        cost = (cost[:, :, None] + step[a, :, b, :]).min(axis=1)
    return np.asarray(cost.min(axis=1))


def _improved(order: list[int], step: NDArray[np.float64], first: NDArray[np.float64]) -> list[int]:
    """Move chains, and reverse runs of chains, while that shortens the links."""
    n = len(order)
    if n < 3 or n > _MANY_CHAINS:
        return order
    best = float(_costs(np.array([order]), step, first)[0])
    for _ in range(2 * n):
        trials = [order[:i] + order[i:j][::-1] + order[j:] for i in range(n) for j in range(i + 2, n + 1)]
        for i in range(n):
            rest = order[:i] + order[i + 1 :]
            trials += [[*rest[:j], order[i], *rest[j:]] for j in range(n) if j != i]
        costs = _costs(np.array(trials), step, first)
        k = int(np.argmin(costs))
        if costs[k] >= best - 1e-6:
            break
        order, best = trials[k], float(costs[k])
    return order
