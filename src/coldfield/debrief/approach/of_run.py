"""Everybody's approaches in a run: who heard what, who came where first, and how they got there."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from coldfield.beacon.hearing import Sources
from coldfield.debrief.approach.approach import Approach, approach_of
from coldfield.debrief.approach.arrival import CLOCK_S, Arrival, Listener, arrivals_of
from coldfield.debrief.approach.heard_walk import HeardWalk, heard_walk
from coldfield.debrief.clocks.align import Aligned
from coldfield.debrief.clocks.run_splits import RunSplits
from coldfield.debrief.snow import Snow
from coldfield.debrief.tracks.track import There
from coldfield.debrief.tracks.ways import PathWays, path_ways
from coldfield.drill.drill import Drill

STRUCK_M = 0.8
"""Distance from the burial at a strike on each axis, m, one standard deviation: within 1.5 m in 95 % of
cases. Setting."""

FARTHEST_OFF_M = 25.0
"""A track farther than this from the burial at its person's strike has another fault, m. Setting."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ways:
    """The walk and approaches of each searcher with a track, by id.

    The tracks in `aligned` have the accuracy of their variants.
    """

    aligned: Aligned
    walks: Mapping[str, HeardWalk]
    listeners: Mapping[str, Listener]
    approaches: Mapping[str, Sequence[Approach]]


def ways_of(drill: Drill, aligned: Aligned, sources: Sources, terrain: Snow) -> Ways:
    """Return everybody's approaches to the burials.

    Parameters
    ----------
    drill : Drill
        The drill as buried.
    aligned : Aligned
        Tracks and splits on one clock.
    sources : Sources
        The sets of the burials.
    terrain : Plane or GridSnow
        The snow.
    """
    paths = {who: _paths(drill, aligned, who, number) for number, who in enumerate(aligned.tracks)}
    tracks = {
        who: track if (mine := paths[who]) is None else replace(track, bias_m=mine.spread_m)
        for who, track in aligned.tracks.items()
    }
    aligned = replace(aligned, tracks=tracks)
    walks = _walks(drill, aligned, paths, sources, terrain)
    listeners = {
        s.id: Listener(
            searcher=s,
            walk=walks[s.id],
            ways=mine,
            sources=sources,
            terrain=terrain,
            noise_rise_db=drill.conditions.noise_rise_db,
        )
        for s in drill.searchers
        if s.id in walks and (mine := paths[s.id]) is not None
    }
    arrivals = {who: arrivals_of(listener, aligned.splits) for who, listener in listeners.items()}
    arrivals = _first_there(arrivals, aligned.splits)
    approaches = {
        who: _approaches(listeners[who], arrivals[who], aligned, number) if who in listeners else []
        for number, who in enumerate(walks)
    }
    return Ways(aligned=aligned, walks=walks, listeners=listeners, approaches=approaches)


def reached_s(splits: RunSplits, approaches: Mapping[str, Sequence[Approach]]) -> dict[str, float]:
    """Return when somebody first came to a reading of 3 m at each burial, or struck it, s of the run."""
    reached = splits.each("probe_strike")
    for one in (approach for mine in approaches.values() for approach in mine):
        reached[one.burial] = min(one.fine.t_s, reached.get(one.burial, np.inf))
    return reached


def _paths(drill: Drill, aligned: Aligned, who: str, number: int) -> PathWays | None:
    track = aligned.tracks[who]
    there = [*track.stood]
    for burial in drill.burials:
        struck = aligned.splits.first("probe_strike", burial=burial.id, searcher=who)
        if struck is None or burial.transmitter is None or not aligned.splits.known_within(CLOCK_S):
            continue
        unix_s = aligned.zero_unix_s + struck
        place, _ = track.at(np.array([unix_s]))
        if np.hypot(*(place[0] - burial.position_m)) <= FARTHEST_OFF_M:
            there.append(There(unix_s=unix_s, place_m=burial.position_m, within_m=STRUCK_M, sought=True))
    return path_ways(
        track,
        there,
        zero_unix_s=aligned.zero_unix_s,
        end_s=aligned.end_s,
        start_s=min(0.0, float(np.quantile(aligned.zero_off_s(), 0.02))),
        number=number,
    )


def _walks(
    drill: Drill, aligned: Aligned, paths: Mapping[str, PathWays | None], sources: Sources, terrain: Snow
) -> dict[str, HeardWalk]:
    off = aligned.splits.each("set_out")
    return {
        s.id: heard_walk(
            aligned.tracks[s.id],
            paths[s.id],
            sources,
            s.receiver,
            terrain,
            zero_unix_s=aligned.zero_unix_s,
            end_s=aligned.end_s,
            noise_rise_db=drill.conditions.noise_rise_db,
            off_from_s=off,
        )
        for s in drill.searchers
        if s.id in aligned.tracks
    }


def _first_there(arrivals: Mapping[str, list[Arrival]], splits: RunSplits) -> dict[str, list[Arrival]]:
    """Leave out helpers: people not named in splits, or who arrived well after somebody who stayed."""
    first: dict[str, float] = {}
    for mine in arrivals.values():
        for one in mine:
            if one.seen != "pass":
                first[one.burial] = min(first.get(one.burial, np.inf), one.at_s)
    finder = {
        one.burial: splits.who("probe_strike", one.burial) or splits.who("lowest_reading", one.burial)
        for mine in arrivals.values()
        for one in mine
    }
    return {
        who: [
            a
            for a in mine
            if a.named or (finder[a.burial] in (None, who) and a.at_s <= first.get(a.burial, np.inf) + 5.0)
        ]
        for who, mine in arrivals.items()
    }


def _approaches(
    listener: Listener, arrivals: Sequence[Arrival], aligned: Aligned, number: int
) -> list[Approach]:
    found: list[Approach] = []
    since = 0.0
    for i, arrival in enumerate(arrivals):
        one = approach_of(
            listener,
            arrival,
            since_s=since,
            clock_off_s=aligned.splits.clock_off_s(),
            zero_off_s=aligned.zero_off_s(),
            number=100 * number + i,
        )
        if one is not None:
            found.append(one)
            since = max(since, one.fine.t_s, one.end_s if arrival.seen != "pass" else 0.0)
    return found
