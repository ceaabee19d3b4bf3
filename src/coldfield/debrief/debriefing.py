"""Compare a run with the physics: from aligned tracks and splits to findings."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from coldfield.beacon.hearing import Sources, sources_of
from coldfield.debrief.approach.approach import Approach
from coldfield.debrief.approach.arrival import Listener
from coldfield.debrief.approach.heard_for import Heard, heard_for
from coldfield.debrief.approach.heard_walk import HeardWalk
from coldfield.debrief.approach.of_run import Ways, reached_s, ways_of
from coldfield.debrief.approach.walked_line import length_of
from coldfield.debrief.clocks.align import FROM_ALARM, FROM_SPLIT, Aligned
from coldfield.debrief.ensemble import Middle
from coldfield.debrief.findings.finding import Finding, placed
from coldfield.debrief.findings.idle import NEAR_BURIAL_M, Idle, idle_of
from coldfield.debrief.findings.of_run import Evidence, findings_of
from coldfield.debrief.findings.order_found import Reached, order_found, passed_over
from coldfield.debrief.findings.yardsticks import (
    RehearsedPhase,
    Standard,
    against_bands,
    against_standards,
    minutes_once,
)
from coldfield.debrief.ground.last_signal import last_first_signal_s
from coldfield.debrief.ground.searched_ground import swept_by_all
from coldfield.debrief.ground.sweep import Swept
from coldfield.debrief.phases.digs import Dig, digs_of, with_digs
from coldfield.debrief.phases.from_splits import UnknownPhase, split_phases, unknown_phases
from coldfield.debrief.phases.from_tracks import phases_of
from coldfield.debrief.phases.phase import Phase, timed_phase
from coldfield.debrief.phases.signal_search import searching
from coldfield.debrief.snow import Snow
from coldfield.drill.drill import Drill
from coldfield.drill.terrain import Plane
from coldfield.message import Value, message

Floats = NDArray[np.float64]

IDLE_UNTIL_S = 900.0
"""Standing counts as idle only until then: later a probing line looks the same, s. Setting."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Debriefing:
    """A debriefed run. Mappings are by searcher id, for searchers with a track (phases: for all).

    For runs without a track, `nobodys` holds phases whose splits name nobody, and `unknown` those without
    splits.
    """

    drill: Drill
    aligned: Aligned
    terrain: Snow
    sources: Sources
    strip_width_m: float | None
    walks: Mapping[str, HeardWalk]
    approaches: Mapping[str, Sequence[Approach]]
    phases: Mapping[str, Sequence[Phase]]
    idle: Mapping[str, Idle]
    swept: Swept | None
    listeners: Mapping[str, Listener]
    heard: Mapping[str, Mapping[str, Heard]]
    length_m: Mapping[str, Middle]
    findings: Sequence[Finding]
    order: Sequence[Reached] = ()
    digs: Sequence[Dig] = ()
    nobodys: Sequence[Phase] = ()
    unknown: Sequence[UnknownPhase] = ()


def debrief_run(
    drill: Drill,
    aligned: Aligned,
    *,
    strip_width_m: float | None,
    bands: Sequence[RehearsedPhase] = (),
    standards: Sequence[Standard] = (),
    terrain: Snow | None = None,
    diggers: Mapping[str, Sequence[str]] | None = None,
) -> Debriefing:
    """Debrief a run.

    Parameters
    ----------
    drill : Drill
        The drill as buried.
    aligned : Aligned
        Tracks and splits on one clock.
    strip_width_m : float, optional
        The width in use, for the swept ground; None leaves that out.
    bands : sequence of RehearsedPhase
        How long phases take in rehearsals of this drill.
    standards : sequence of Standard
        Times that the instructor expects.
    terrain : Plane or GridSnow, optional
        The snow; default: the plane of the site.
    diggers : mapping, optional
        Burial -> the people assigned on a phone to dig there.

    Notes
    -----
    What each person could hear is in definite mode, each set on its own. Below a reading of 3 m tracks are
    too coarse: fine search, probing and digging come only from splits.
    """
    terrain = terrain if terrain is not None else Plane.of(drill.site)
    sources = sources_of(drill.burials, terrain)
    ways = ways_of(drill, aligned, sources, terrain)
    aligned, walks, approaches = ways.aligned, ways.walks, ways.approaches
    search = _search(drill, aligned, walks, approaches)
    accuracy = {who: aligned.tracks[who].accuracy_m for who in walks}
    everybody = [s.id for s in drill.searchers]
    digs = digs_of(drill.burials, aligned.splits, walks, accuracy, everybody, diggers or {})
    phases = with_digs(_phases(drill, ways, search, terrain), digs)
    idle = _idle(drill, ways)
    heard_all_s = last_first_signal_s(drill, aligned.splits, approaches)
    swept = swept_by_all(
        drill, aligned, ways.listeners, approaches, search, terrain, strip_width_m, heard_all_s=heard_all_s
    )
    evidence = Evidence(
        drill=drill,
        splits=aligned.splits,
        walks=walks,
        listeners=ways.listeners,
        approaches=approaches,
        phases=phases,
        idle=idle,
        accuracy_m=accuracy,
        swept=swept,
        end_s=aligned.end_s,
    )
    over = passed_over(drill, approaches, ways.listeners, terrain, ids=sources.ids)
    held = () if aligned.zero == FROM_SPLIT else standards
    more = [placed(one, walks.get(one.searcher or "")) for one in over]
    more += _held_against(evidence, bands, held) + _digs_held_against(drill, digs, bands, held)
    nobodys, unknown = _without_tracks(drill, aligned, phases)
    return Debriefing(
        drill=drill,
        aligned=aligned,
        terrain=terrain,
        sources=sources,
        strip_width_m=strip_width_m,
        walks=walks,
        approaches=approaches,
        phases=phases,
        idle=idle,
        swept=swept,
        listeners=ways.listeners,
        heard=_heard(ways),
        length_m={who: length_of(one, terrain) for who, one in ways.listeners.items()},
        findings=findings_of(evidence, more),
        order=order_found(drill, approaches, aligned.splits),
        digs=digs,
        nobodys=nobodys,
        unknown=unknown,
    )


def _phases(
    drill: Drill, ways: Ways, search: Mapping[str, NDArray[np.bool_]], terrain: Snow
) -> dict[str, tuple[Phase, ...]]:
    """Return everybody's phases; `search` has the seconds of signal search of each track."""
    return {
        s.id: phases_of(
            s.id,
            ways.walks.get(s.id),
            ways.approaches.get(s.id, ()),
            ways.aligned.splits,
            terrain,
            searching=search.get(s.id),
            from_alarm=ways.aligned.zero == FROM_ALARM,
        )
        for s in drill.searchers
    }


def _without_tracks(
    drill: Drill, aligned: Aligned, phases: Mapping[str, Sequence[Phase]]
) -> tuple[list[Phase], list[UnknownPhase]]:
    """Return the phases without a named person, and the unknown ones; both are empty if there is a track."""
    if aligned.tracks:
        return [], []
    nobodys = split_phases(None, aligned.splits, from_alarm=aligned.zero == FROM_ALARM)
    told = [*nobodys, *(phase for mine in phases.values() for phase in mine)]
    return nobodys, unknown_phases(drill.burials, told, aligned.splits)


def _search(
    drill: Drill,
    aligned: Aligned,
    walks: Mapping[str, HeardWalk],
    approaches: Mapping[str, Sequence[Approach]],
) -> dict[str, NDArray[np.bool_]]:
    """Return in which seconds each person was in signal search."""
    reached = reached_s(aligned.splits, approaches)
    sets = [b.id for b in drill.burials if b.transmitter is not None]
    done = bool(sets) and set(sets) <= set(reached)
    over_s = max(reached[b] for b in sets) if done else aligned.end_s
    turned = {c.burial: c.turn.t_s for mine in approaches.values() for c in mine}
    places = {
        b.id: (min(reached[b.id], turned.get(b.id, np.inf)), b.position_m)
        for b in drill.burials
        if b.id in reached
    }
    return {
        who: searching(
            walk,
            approaches[who],
            places,
            over_s=over_s,
            near_m=NEAR_BURIAL_M + aligned.tracks[who].accuracy_m,
        )
        for who, walk in walks.items()
    }


def _idle(drill: Drill, ways: Ways) -> dict[str, Idle]:
    """Return standing that is not part of the work, by person."""
    aligned, approaches = ways.aligned, ways.approaches
    start = ways.aligned.zero_off_s()
    end = np.minimum(_work_end(drill, aligned) + aligned.splits.clock_off_s(), IDLE_UNTIL_S + start)
    return {
        who: idle_of(one, approaches[who], drill.burials, start_s=start, end_s=end)
        for who, one in ways.listeners.items()
    }


def _heard(ways: Ways) -> dict[str, dict[str, Heard]]:
    """Return for how long each person could hear each set."""
    splits = ways.aligned.splits
    off = splits.each("set_out")
    return {
        who: heard_for(
            one, off_from_s=off, clock_off_s=splits.clock_off_s(), zero_off_s=ways.aligned.zero_off_s()
        )
        for who, one in ways.listeners.items()
    }


def _held_against(
    evidence: Evidence, bands: Sequence[RehearsedPhase], standards: Sequence[Standard]
) -> list[Finding]:
    """Return findings on phases compared with rehearsals and standards."""
    found: list[Finding] = []
    for searcher in evidence.drill.searchers:
        walk = evidence.walks.get(searcher.id)
        for phase in evidence.phases[searcher.id]:
            if phase.phase == "dig":
                continue
            one = against_bands(phase, bands, searcher=searcher.id, name=searcher.name)
            found += [placed(one, walk)] if one is not None else []
            if phase.burial is not None:
                found += against_standards(
                    phase.end_s - phase.start_s,
                    phase.border_uncertainty_s or 0.0,
                    phase.phase,
                    standards,
                    searcher=searcher.id,
                    burial=phase.burial,
                )
    for burial in evidence.drill.burials:
        for what, split in (("strike", "probe_strike"), ("airway", "airway_clear")):
            moment = evidence.splits.first(split, burial=burial.id)
            if moment is not None:
                found += against_standards(
                    moment,
                    0.0,
                    what,
                    standards,
                    searcher=evidence.splits.who(split, burial.id) if what == "strike" else None,
                    burial=burial.id,
                )
    return minutes_once(found)


def _digs_held_against(
    drill: Drill, digs: Sequence[Dig], bands: Sequence[RehearsedPhase], standards: Sequence[Standard]
) -> list[Finding]:
    """Return findings on digging, for everybody who was there."""
    names = {s.id: s.name for s in drill.searchers}
    found: list[Finding] = []
    for dig in digs:
        who = tuple(names[one.searcher] for one in dig.helpers)
        said: Value = who if dig.known else message("term.helpers_not_known")
        if who and not dig.known:
            said = message("term.and_helpers_not_known", who=who)
        phase = timed_phase(dig.burial, "dig", dig.start_s, dig.end_s, 0.0)
        one = against_bands(phase, bands, searcher=None, name=said)
        found += [one] if one is not None else []
        seconds = dig.end_s - dig.start_s
        found += against_standards(seconds, 0.0, "dig", standards, searcher=None, burial=dig.burial)
    return minutes_once(found)


def _work_end(drill: Drill, aligned: Aligned) -> float:
    clear = aligned.splits.each("airway_clear")
    return max(clear.values()) if clear and len(clear) == len(drill.burials) else aligned.end_s
