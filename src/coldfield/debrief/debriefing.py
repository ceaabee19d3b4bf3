"""A whole run looked at against the physics: from aligned tracks and splits to findings."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from coldfield.beacon.hearing import Sources, sources_of
from coldfield.debrief.align import Aligned
from coldfield.debrief.along import Along, walk_along
from coldfield.debrief.chase import Arrival, Chase, Ear, arrivals_of, chase
from coldfield.debrief.findings import Evidence, Finding, findings_of
from coldfield.debrief.phases import Phase, idle_of, phases_of
from coldfield.debrief.sweep import Swept, swept_ground
from coldfield.drill.drill import Drill
from coldfield.drill.terrain import Plane

Floats = NDArray[np.float64]

NEAR_BURIAL_M = 6.0
"""Whoever is nearer than this to a burial that has been reached works there. Setting."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Debriefing:
    """One run, debriefed. Mappings are by searcher id, for those who have a track (phases: for all)."""

    drill: Drill
    aligned: Aligned
    sources: Sources
    strip_width_m: float | None
    alongs: Mapping[str, Along]
    chases: Mapping[str, Sequence[Chase]]
    phases: Mapping[str, Sequence[Phase]]
    idle: Mapping[str, Sequence[tuple[float, float]]]
    swept: Swept | None
    findings: Sequence[Finding]


def debrief_run(drill: Drill, aligned: Aligned, *, strip_width_m: float | None) -> Debriefing:
    """Return what a run shows.

    Parameters
    ----------
    drill : Drill
        As buried.
    aligned : Aligned
        Tracks and splits on one clock.
    strip_width_m : float, optional
        The width in force, for the swept ground; None leaves that out.

    Notes
    -----
    What each person could hear is definite mode, every set by itself. Below a reading of 3 m a track
    says nothing: fine search, probing and digging come from splits only.
    """
    terrain = Plane.of(drill.site)
    sources = sources_of(drill.burials, terrain)
    alongs = _alongs(drill, aligned, sources, terrain)
    ears = {
        s.id: Ear(
            searcher=s,
            along=alongs[s.id],
            accuracy_m=aligned.tracks[s.id].accuracy_m,
            sources=sources,
            terrain=terrain,
            noise_rise_db=drill.conditions.noise_rise_db,
        )
        for s in drill.searchers
        if s.id in alongs
    }
    arrivals = _first_there({who: arrivals_of(ear, aligned.splits) for who, ear in ears.items()})
    chases = {who: _chases(ears[who], arrivals[who]) for who in ears}
    ends = {who: _search_end(drill, aligned, alongs[who], chases) for who in alongs}
    phases = {
        s.id: phases_of(
            s.id,
            alongs.get(s.id),
            chases.get(s.id, ()),
            aligned.splits,
            terrain,
            search_end_s=ends.get(s.id, 0.0),
        )
        for s in drill.searchers
    }
    work_end_s = _work_end(drill, aligned)
    idle = {
        who: idle_of(
            along,
            _busy(drill, along, chases, who, accuracy_m=aligned.tracks[who].accuracy_m),
            start_s=0.0,
            end_s=work_end_s,
        )
        for who, along in alongs.items()
    }
    swept = _swept(drill, aligned, alongs, phases, terrain, strip_width_m)
    evidence = Evidence(
        drill=drill,
        splits=aligned.splits,
        alongs=alongs,
        chases=chases,
        phases=phases,
        idle=idle,
        accuracy_m={who: aligned.tracks[who].accuracy_m for who in alongs},
        swept=swept,
        end_s=aligned.end_s,
    )
    return Debriefing(
        drill=drill,
        aligned=aligned,
        sources=sources,
        strip_width_m=strip_width_m,
        alongs=alongs,
        chases=chases,
        phases=phases,
        idle=idle,
        swept=swept,
        findings=findings_of(evidence),
    )


def _alongs(drill: Drill, aligned: Aligned, sources: Sources, terrain: Plane) -> dict[str, Along]:
    off = {
        burial.id: t
        for burial in drill.burials
        if (t := aligned.splits.first("set_out", burial=burial.id)) is not None
    }
    return {
        s.id: walk_along(
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


def _first_there(arrivals: Mapping[str, list[Arrival]]) -> dict[str, list[Arrival]]:
    """Leave out those who came to a burial well after somebody else had come to stay: helpers."""
    first: dict[str, float] = {}
    for mine in arrivals.values():
        for one in mine:
            if one.seen != "pass":
                first[one.burial] = min(first.get(one.burial, np.inf), one.at_s)
    return {
        who: [a for a in mine if a.seen == "split" or a.at_s <= first.get(a.burial, np.inf) + 20.0]
        for who, mine in arrivals.items()
    }


def _chases(ear: Ear, arrivals: Sequence[Arrival]) -> list[Chase]:
    found: list[Chase] = []
    since = 0.0
    for arrival in arrivals:
        one = chase(ear, arrival, since_s=since)
        if one is not None:
            found.append(one)
            since = max(since, one.fine.t_s, one.end_s if arrival.seen != "pass" else 0.0)
    return found


def _search_end(drill: Drill, aligned: Aligned, along: Along, chases: Mapping[str, Sequence[Chase]]) -> float:
    """When somebody's signal search was over: all sets reached, or the person came to help at one."""
    reached = _reached(drill, aligned, chases)
    sets = [b for b in drill.burials if b.transmitter is not None]
    end = aligned.end_s
    if sets and all(b.id in reached for b in sets):
        end = min(end, max(reached[b.id] for b in sets))
    for burial in sets:
        if burial.id in reached:
            away = np.linalg.norm(along.position_m - np.array(burial.position_m), axis=1)
            there = (
                (np.nan_to_num(away, nan=np.inf) < NEAR_BURIAL_M)
                & along.still
                & (along.t_s > reached[burial.id])
            )
            if there.any():
                end = min(end, float(along.t_s[there.argmax()]))
    return end


def _reached(drill: Drill, aligned: Aligned, chases: Mapping[str, Sequence[Chase]]) -> dict[str, float]:
    reached = {one.burial: one.fine.t_s for mine in chases.values() for one in mine}
    for burial in drill.burials:
        struck = aligned.splits.first("probe_strike", burial=burial.id)
        if struck is not None:
            reached[burial.id] = min(struck, reached.get(burial.id, np.inf))
    return reached


def _work_end(drill: Drill, aligned: Aligned) -> float:
    clear = [aligned.splits.first("airway_clear", burial=b.id) for b in drill.burials]
    known = [t for t in clear if t is not None]
    return max(known) if known and len(known) == len(clear) else aligned.end_s


def _busy(
    drill: Drill,
    along: Along,
    chases: Mapping[str, Sequence[Chase]],
    who: str,
    *,
    accuracy_m: float,
) -> list[tuple[float, float]]:
    """Stretches in which standing is part of the work: one's own chase, and near a reached burial."""
    near_m = NEAR_BURIAL_M + 2.0 * accuracy_m
    busy = [(c.audible.t_s if c.audible else c.turn.t_s, c.end_s) for c in chases[who]]
    reached = {one.burial: one.fine.t_s for mine in chases.values() for one in mine}
    for burial in drill.burials:
        away = np.linalg.norm(along.position_m - np.array(burial.position_m), axis=1)
        near = np.nan_to_num(away, nan=np.inf) < near_m
        near &= along.t_s >= reached.get(burial.id, 0.0 if burial.transmitter is None else np.inf)
        edges = np.flatnonzero(np.diff(np.concatenate([[False], near, [False]]).astype(np.int8)))
        busy += [(float(along.t_s[a]), float(along.t_s[b - 1])) for a, b in edges.reshape(-1, 2)]
    return busy


def _swept(
    drill: Drill,
    aligned: Aligned,
    alongs: Mapping[str, Along],
    phases: Mapping[str, Sequence[Phase]],
    terrain: Plane,
    strip_width_m: float | None,
) -> Swept | None:
    if strip_width_m is None or not alongs:
        return None
    paths = {}
    for who, along in alongs.items():
        pieces = []
        for phase in phases[who]:
            if phase.phase == "signal":
                inside = (along.t_s >= phase.start_s) & (along.t_s <= phase.end_s) & along.known
                at = np.flatnonzero(inside)
                pieces += [along.position_m[run] for run in np.split(at, np.flatnonzero(np.diff(at) > 1) + 1)]
        paths[who] = [piece for piece in pieces if len(piece)]
    accuracy = float(np.mean([aligned.tracks[who].accuracy_m for who in alongs]))
    return swept_ground(drill.site, paths, terrain, strip_width_m=strip_width_m, accuracy_m=accuracy)
