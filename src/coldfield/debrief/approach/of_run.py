"""Everybody's ways to the burials of a run: who heard what, who came where first, how they got there."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from coldfield.beacon.hearing import Sources
from coldfield.debrief.approach.approach import Approach, approach_of
from coldfield.debrief.approach.arrival import Arrival, Listener, arrivals_of, seen_bias_m
from coldfield.debrief.approach.heard_walk import HeardWalk, heard_walk
from coldfield.debrief.clocks.align import Aligned
from coldfield.debrief.clocks.run_splits import RunSplits
from coldfield.debrief.snow import Snow
from coldfield.drill.drill import Drill
from coldfield.message import length, message


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ways:
    """Everybody's walk and approaches, by searcher id, for those who have a track.

    `aligned` has a larger drift for devices that were seen to stand well off a burial.
    """

    aligned: Aligned
    walks: Mapping[str, HeardWalk]
    listeners: Mapping[str, Listener]
    approaches: Mapping[str, Sequence[Approach]]


def ways_of(drill: Drill, aligned: Aligned, sources: Sources, terrain: Snow) -> Ways:
    """Return everybody's ways to the burials.

    Parameters
    ----------
    drill : Drill
        As buried.
    aligned : Aligned
        Tracks and splits on one clock.
    sources : Sources
        The sets of the burials.
    terrain : Plane or GridSnow
        The snow.
    """
    walks = _walks(drill, aligned, sources, terrain)
    listeners = _listeners(drill, aligned, walks, sources, terrain)
    arrivals = {who: arrivals_of(listener, aligned.splits) for who, listener in listeners.items()}
    seen = {who: seen_bias_m(listeners[who], arrivals[who], aligned.tracks[who].bias_m) for who in listeners}
    aligned = _with_bias(aligned, seen)
    listeners = _listeners(drill, aligned, walks, sources, terrain)
    arrivals = _first_there(arrivals, aligned.splits)
    clock_s = aligned.splits.uncertainty_s
    approaches = {
        who: [c.widened(clock_s) for c in _approaches(listeners[who], arrivals[who])] for who in listeners
    }
    return Ways(aligned=aligned, walks=walks, listeners=listeners, approaches=approaches)


def _walks(drill: Drill, aligned: Aligned, sources: Sources, terrain: Snow) -> dict[str, HeardWalk]:
    off = {
        burial.id: t
        for burial in drill.burials
        if (t := aligned.splits.first("set_out", burial=burial.id)) is not None
    }
    return {
        s.id: heard_walk(
            aligned.tracks[s.id],
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


def _listeners(
    drill: Drill, aligned: Aligned, walks: Mapping[str, HeardWalk], sources: Sources, terrain: Snow
) -> dict[str, Listener]:
    return {
        s.id: Listener(
            searcher=s,
            walk=walks[s.id],
            accuracy_m=aligned.tracks[s.id].accuracy_m,
            sources=sources,
            terrain=terrain,
            noise_rise_db=drill.conditions.noise_rise_db,
        )
        for s in drill.searchers
        if s.id in walks
    }


def _with_bias(aligned: Aligned, bias_m: Mapping[str, float]) -> Aligned:
    """The same, with a larger drift for devices that were seen to stand well off; said in the notes."""
    tracks, notes = dict(aligned.tracks), list(aligned.notes)
    for who, bias in bias_m.items():
        if bias > tracks[who].bias_m + 0.05:
            tracks[who] = replace(tracks[who], bias_m=bias)
            unsure = length(tracks[who].accuracy_m, 1)
            notes.append(message("note.stood_off", accuracy=unsure).at(tracks[who].file))
    return replace(aligned, tracks=tracks, notes=tuple(notes))


def _first_there(arrivals: Mapping[str, list[Arrival]], splits: RunSplits) -> dict[str, list[Arrival]]:
    """Leave out helpers: whoever the splits do not name, or who came well after somebody else to stay."""
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
            if a.seen == "split"
            or (finder[a.burial] in (None, who) and a.at_s <= first.get(a.burial, np.inf) + 5.0)
        ]
        for who, mine in arrivals.items()
    }


def _approaches(listener: Listener, arrivals: Sequence[Arrival]) -> list[Approach]:
    found: list[Approach] = []
    since = 0.0
    for arrival in arrivals:
        one = approach_of(listener, arrival, since_s=since)
        if one is not None:
            found.append(one)
            since = max(since, one.fine.t_s, one.end_s if arrival.seen != "pass" else 0.0)
    return found
