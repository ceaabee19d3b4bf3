"""Digging by everybody who was there: from a strike to the free airway, and who helped when."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from coldfield.debrief.approach.heard_walk import HeardWalk
from coldfield.debrief.clocks.run_splits import RunSplits
from coldfield.debrief.phases.phase import Phase, timed_phase
from coldfield.debrief.stretches import runs
from coldfield.debrief.written import Many, Number, OrFalse, Word, Written
from coldfield.drill.burial import Burial

AT_THE_HOLE_M = 6.0
"""People closer to a burial being dug out than this, plus the uncertainty of their place, work there, m.
Setting."""

LEAST_S, APART_S = 20.0, 60
"""A shorter stay only counts as passing by, and a shorter absence does not count, s. Settings."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Helper(Written):
    """A person at a hole, from when to when."""

    searcher: Word
    start_s: Number
    end_s: Number


@dataclass(frozen=True, slots=True, kw_only=True)
class Dig(Written):
    """The digging at one burial, from the strike to the free airway.

    `helpers` are the people who were there according to a track, a split or a phone. `known` is False if
    others may have helped: somebody has no track, and no phone says who dug.
    """

    burial: Word
    start_s: Number
    end_s: Number
    helpers: Many[Helper] = ()
    known: OrFalse = False


def digs_of(
    burials: Sequence[Burial],
    splits: RunSplits,
    walks: Mapping[str, HeardWalk],
    accuracy_m: Mapping[str, float],
    searchers: Sequence[str],
    told: Mapping[str, Sequence[str]],
) -> tuple[Dig, ...]:
    """Return the digs of a run, one for each burial whose splits give its beginning and end.

    Parameters
    ----------
    burials : sequence of Burial
        The burials with their places.
    splits : RunSplits
        All splits of the run.
    walks, accuracy_m : mapping
        The tracks by searcher, and the accuracy of their places, m.
    searchers : sequence of str
        Everybody in the run.
    told : mapping
        Burial -> the people assigned on a phone to dig there.
    """
    found = []
    for burial in burials:
        strike = splits.first("probe_strike", burial=burial.id)
        clear = splits.first("airway_clear", burial=burial.id)
        if strike is None or clear is None or clear < strike:
            continue
        span = (max(strike, 0.0), max(clear, 0.0))
        there: dict[str, tuple[float, float]] = {}
        for who in searchers:
            stay = _by_track(walks[who], burial, span, accuracy_m[who]) if who in walks else None
            if stay is None:  # a track beats a phone's assignment, but not the person's own split
                stay = _by_splits(who, burial.id, span, splits, {} if who in walks else told)
            if stay is not None:
                there[who] = stay
        found.append(
            Dig(
                burial=burial.id,
                start_s=span[0],
                end_s=span[1],
                helpers=tuple(Helper(searcher=who, start_s=a, end_s=b) for who, (a, b) in there.items()),
                known=bool(there) and (burial.id in told or set(searchers) <= set(walks)),
            )
        )
    return tuple(found)


def with_digs(phases: Mapping[str, Sequence[Phase]], digs: Sequence[Dig]) -> dict[str, tuple[Phase, ...]]:
    """Return everybody's phases, with the digging of all who were there instead of only the finder's."""
    by: dict[str, list[Phase]] = {who: [p for p in mine if p.phase != "dig"] for who, mine in phases.items()}
    for dig in digs:
        for one in dig.helpers:
            by.setdefault(one.searcher, []).append(
                timed_phase(dig.burial, "dig", one.start_s, one.end_s, 0.0)
            )
    return {who: tuple(sorted(mine, key=lambda p: (p.start_s, p.end_s))) for who, mine in by.items()}


def _by_track(
    walk: HeardWalk, burial: Burial, span: tuple[float, float], accuracy_m: float
) -> tuple[float, float] | None:
    """Return from when to when a track was at a hole while it was dug; None if it was not."""
    away = np.linalg.norm(walk.position_m - np.array(burial.position_m), axis=1)
    near = np.nan_to_num(away, nan=np.inf) < AT_THE_HOLE_M + accuracy_m
    near &= (walk.t_s >= span[0]) & (walk.t_s <= span[1])
    stays = [(float(walk.t_s[a]), float(walk.t_s[b])) for a, b in runs(near)]
    joined: list[tuple[float, float]] = []
    for first, last in stays:
        if joined and first - joined[-1][1] <= APART_S:
            joined[-1] = (joined[-1][0], last)
        else:
            joined.append((first, last))
    longest = max(joined, key=lambda stay: stay[1] - stay[0], default=None)
    least = min(LEAST_S, 0.5 * (span[1] - span[0]))
    return longest if longest is not None and longest[1] - longest[0] >= least else None


def _by_splits(
    who: str,
    burial: str,
    span: tuple[float, float],
    splits: RunSplits,
    told: Mapping[str, Sequence[str]],
) -> tuple[float, float] | None:
    """Return from when to when a person without a track was at a hole, from splits or a phone."""
    own = [row for row in splits.rows if row.searcher == who and row.burial is not None]
    here = [row.t_s for row in own if row.burial == burial and span[0] <= row.t_s <= span[1]]
    if not here and who not in told.get(burial, ()):
        return None
    elsewhere = [row.t_s for row in own if row.burial != burial and span[0] < row.t_s < span[1]]
    before = [t for t in elsewhere if not here or t < min(here)]
    after = [t for t in elsewhere if here and t > max(here)]
    return max(before, default=span[0]), min(after, default=span[1])
