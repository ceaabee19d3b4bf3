"""The order in which burials were reached, and whether a nearer one was passed over."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from coldfield.debrief.approach.approach import Approach
from coldfield.debrief.approach.arrival import Listener
from coldfield.debrief.clocks.run_splits import RunSplits
from coldfield.debrief.findings.finding import Finding, Sized, sized
from coldfield.debrief.snow import Snow
from coldfield.debrief.written import Count, Number, OrTrue, OrZero, Word, Written
from coldfield.drill.drill import Drill
from coldfield.message import length, message

Floats = NDArray[np.float64]

LEAST_M = 8.0
"""A shorter detour is not mentioned, m. Setting."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reached(Written):
    """When a burial was first reached, and by whom; `sure` if it surely came before the next one.

    The moment is that of the strike if there is a split, else of the reading of 3 m; `uncertainty_s` is a 95
    % limit.
    """

    burial: Word
    searcher: Word | None = None
    reached_s: Number
    uncertainty_s: OrZero = 0.0
    sure: OrTrue = True


@dataclass(frozen=True, slots=True, kw_only=True)
class UsualOrder(Written):
    """The most frequent order in which rehearsals of the drill found all burials, and its share."""

    burials: tuple[Word, ...]
    share: Number
    runs: Count


def order_found(
    drill: Drill, approaches: Mapping[str, Sequence[Approach]], splits: RunSplits
) -> tuple[Reached, ...]:
    """Return the burials that were reached, in order of time."""
    found = []
    for burial in drill.burials:
        struck = splits.first("probe_strike", burial=burial.id)
        mine = [c for one in approaches.values() for c in one if c.burial == burial.id]
        first = min(mine, key=lambda c: c.fine.t_s, default=None)
        if struck is not None:
            who = splits.who("probe_strike", burial.id)
            found.append((struck, 0.0, burial.id, who))
        elif first is not None:
            found.append((first.fine.t_s, first.fine.uncertainty_s, burial.id, first.searcher))
    found.sort(key=lambda one: one[:2])
    sure = [
        i + 1 == len(found) or found[i + 1][0] - one[0] > float(np.hypot(one[1], found[i + 1][1]))
        for i, one in enumerate(found)
    ]
    return tuple(
        Reached(burial=burial, searcher=who, reached_s=t, uncertainty_s=doubt, sure=ok)
        for (t, doubt, burial, who), ok in zip(found, sure, strict=True)
    )


def usual_order(struck_s: Floats, burials: Sequence[str]) -> UsualOrder | None:
    """Return the most frequent order of strikes, (runs, burials), NaN for not found; None without any."""
    whole = struck_s[np.isfinite(struck_s).all(axis=1)]
    if len(burials) < 2 or not len(whole):
        return None
    counts = Counter(tuple(row) for row in np.argsort(whole, axis=1).tolist())
    order, count = counts.most_common(1)[0]
    return UsualOrder(burials=tuple(burials[i] for i in order), share=count / len(whole), runs=len(whole))


def passed_over(
    drill: Drill,
    approaches: Mapping[str, Sequence[Approach]],
    listeners: Mapping[str, Listener],
    terrain: Snow,
    *,
    ids: Sequence[str],
) -> list[Finding]:
    """Return a finding for each approach that passed a nearer burial that could be heard.

    Parameters
    ----------
    drill : Drill
        As buried.
    approaches, listeners : mapping
        By searcher.
    terrain : Plane or GridSnow
        The snow; distances are straight lines on it.
    ids : sequence of str
        The transmitting sets, in the order of the columns of `HeardWalk`.

    Notes
    -----
    Common practice: with several burials the nearest is searched first. There is no finding if somebody else
    was on the way to the nearer one, if it was still reached first, if it could not be heard or had a larger
    reading, or if the difference is less than 8 m in more than a few variants.
    """
    every = [c for mine in approaches.values() for c in mine]
    first = {b: min((c.fine.t_s for c in every if c.burial == b), default=np.inf) for b in ids}
    names = {s.id: s.name for s in drill.searchers}
    found = []
    for approach in every:
        for other in ids:
            if other == approach.burial or first[other] <= max(first[approach.burial], approach.turn.t_s):
                continue
            taken = any(
                c.burial == other and c.searcher != approach.searcher and c.turn.t_s <= approach.fine.t_s
                for c in every
            )
            size = (
                None if taken else _nearer(drill, approach, other, listeners[approach.searcher], terrain, ids)
            )
            if size is not None:
                found.append(_said(approach, other, size, names[approach.searcher]))
    return found


def _nearer(
    drill: Drill, approach: Approach, other: str, listener: Listener, terrain: Snow, ids: Sequence[str]
) -> tuple[float, float, Sized] | None:
    """Return the distances to the chosen and the other burial, m, and their difference; or None."""
    walk, ways = listener.walk, listener.ways
    i = int(np.clip(round(approach.turn.t_s), 0, walk.t_s.size - 1))
    mine, theirs = ids.index(approach.burial), ids.index(other)
    if not walk.known[i] or not walk.audible[i, theirs]:
        return None
    if not walk.reading_m[i, theirs] < np.nan_to_num(walk.reading_m[i, mine], nan=np.inf):
        return None
    at = np.clip(np.searchsorted(ways.t_s, approach.told.turn_s), 0, ways.t_s.size - 1)
    start = terrain.to_snow(ways.position_m[np.arange(at.size), at])
    places = {b.id: terrain.to_snow(np.array(b.position_m)) for b in drill.burials}
    far, near = (np.linalg.norm(places[b] - start, axis=1) for b in (approach.burial, other))
    more = sized(far - near, "order")
    return (float(np.median(far)), float(np.median(near)), more) if more.said >= LEAST_M else None


def _said(approach: Approach, other: str, size: tuple[float, float, Sized], name: str) -> Finding:
    far_m, near_m, more = size
    return Finding(
        kind="order",
        text=message(
            "finding.order",
            name=name,
            burial=approach.burial,
            far=length(far_m, 0),
            other=other,
            near=length(near_m, 0),
        ),
        numbers={"far_m": far_m, "near_m": near_m} | more.numbers("nearer_m"),
        searcher=approach.searcher,
        burial=approach.burial,
        at_s=approach.turn.t_s,
        minutes=(far_m - near_m) / 60.0,
        confidence=more.words,
    )
