"""The findings of a run: statements with their numbers, place, moment and confidence.

A finding is made if nearly all variants agree that it is at least as large as stated. Limits are settings.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from coldfield.debrief.approach.approach import LOST_S, Approach
from coldfield.debrief.approach.arrival import Listener
from coldfield.debrief.approach.heard_walk import HeardWalk
from coldfield.debrief.approach.of_run import reached_s
from coldfield.debrief.clocks.run_splits import RunSplits, TimedSplit
from coldfield.debrief.ensemble import GRAIN_S
from coldfield.debrief.findings.finding import Finding, in_ways, placed, sized
from coldfield.debrief.findings.idle import Idle
from coldfield.debrief.ground.gaps import SURE as GAP_SURE
from coldfield.debrief.ground.sweep import Swept
from coldfield.debrief.phases.phase import Phase
from coldfield.drill.drill import Drill
from coldfield.drill.run import Split
from coldfield.message import area, duration, length, message, share, speed, verbatim

Floats = NDArray[np.float64]

AT_BURIAL_M = 12.0
"""People closer to a burial than this are at it, m. Setting."""

REACTION_S = 10.0
"""No finding about a reaction shorter than this, s. Setting."""

APART_RAD = 0.26
"""If lane and flux line differ by less than this, a turn leaves no clear trace, rad. Setting."""

USUAL_S = 5.0
"""The time needed to stop and take the direction; only time beyond it counts as lost, s. Setting."""

RATIO = 1.15
"""No finding about a walked line shorter than this multiple of the flux line. Setting."""

MOST_RATIO = 2.0
"""No finding about a longer path than this multiple: it is more likely two searches. Setting."""

SWEPT_ALL = 0.95
"""The share of ground surely swept that counts as all of it. Setting."""

IDLE_S = 60.0
"""No finding about standing for less than this, s. Setting."""

NEAR_FAST_M_S = 0.8
"""Below a reading of 10 m people are taught to walk slowly and exactly (common practice); a finding needs at
least this speed, m/s. Setting."""

WRONG_M = 4.0
"""No finding about a shorter path away from a burial, m. Setting."""

ASTRAY_M = 3.0
"""No praise for a path that may have led this far the wrong way, m. Setting."""

KNOWN_TURN_S = 15.0
"""No praise for a path whose start is less certain than this, s. Setting."""

QUICK_S = 15.0
"""Praise for people who surely turned within this time, s. Setting."""

MOST_STRAIGHT = 1.25
"""People who surely walked less than this multiple of the flux line kept to it. Setting."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Evidence:
    """The evidence for findings, by searcher id, in the drill's order."""

    drill: Drill
    splits: RunSplits
    walks: Mapping[str, HeardWalk]
    approaches: Mapping[str, Sequence[Approach]]
    phases: Mapping[str, Sequence[Phase]]
    listeners: Mapping[str, Listener]
    idle: Mapping[str, Idle]
    accuracy_m: Mapping[str, float]
    swept: Swept | None
    end_s: float


def findings_of(evidence: Evidence, more: Sequence[Finding] = ()) -> list[Finding]:
    """Return the findings of a run and `more`: the most costly first, then observations, then praise."""
    found: list[Finding] = list(more)
    for searcher in evidence.drill.searchers:
        for approach in evidence.approaches.get(searcher.id, ()):
            found += about_approach(approach, searcher.name, evidence)
        found += _about_idle(searcher.id, searcher.name, evidence)
    found += _about_gaps(evidence)
    found += _about_bunching(evidence)
    found += _about_burials(evidence)
    found += _observations(evidence)

    def rank(finding: Finding) -> tuple[int, float]:
        last = 2 if finding.praise else 1 if finding.kind == "observation" else 0
        return last, -(finding.minutes or 0.0)

    return sorted(found, key=rank)


def about_approach(approach: Approach, name: str, evidence: Evidence) -> list[Finding]:
    """Return findings on one approach: the turn, the line, the wrong way, the speed."""
    found = []
    for tell in (_reaction, _line, _near_speed, _wrong_way):
        one = tell(approach, name)
        if one is not None:
            found.append(one)
    walk = evidence.walks.get(approach.searcher)
    return [placed(one, walk) for one in found]


def _reaction(approach: Approach, name: str) -> Finding | None:
    if approach.audible is None or approach.heard_from_start or approach.lost_s > LOST_S:
        return None
    late = sized(approach.told.reaction_s, "late_turn")
    common = {"searcher": approach.searcher, "burial": approach.burial, "at_s": approach.audible.t_s}
    if late.said >= REACTION_S and np.nanmedian(approach.told.apart_rad) >= APART_RAD:
        return Finding(
            kind="late_turn",
            text=message("finding.turned_late", name=name, burial=approach.burial, time=duration(late.said)),
            numbers=late.numbers("seconds"),
            minutes=(late.said - USUAL_S) / 60.0,
            confidence=late.words,
            **common,  # type: ignore[arg-type]
        )
    soon = sized(-approach.told.reaction_s, "quick_turn")
    most_s = max(-soon.said, 0.0) + GRAIN_S
    if most_s <= QUICK_S:
        return Finding(
            kind="quick_turn",
            text=message("finding.quick_turn", name=name, burial=approach.burial, time=duration(most_s)),
            numbers={"seconds": most_s, "middle_seconds": max(-soon.middle, 0.0), "share": soon.share},
            praise=True,
            confidence=soon.words,
            **common,  # type: ignore[arg-type]
        )
    return None


def _line(approach: Approach, name: str) -> Finding | None:
    line = approach.flux_line
    if line is None or approach.ratio is None or approach.lost_s > LOST_S:
        return None  # the approach may have begun later
    if approach.ratio > MOST_RATIO:
        return None
    longer, straight = sized(approach.told.ratio, "long_way"), sized(-approach.told.ratio, "straight_line")
    common = {"searcher": approach.searcher, "burial": approach.burial, "at_s": approach.turn.t_s}
    sizes = {
        "walked_m": approach.walked_m,
        "flux_line_m": line.length_m,
        "side_distance_m": approach.side_distance_m,
    }
    if longer.said >= RATIO:
        speed = max(approach.walked_m / max(approach.fine.t_s - approach.turn.t_s, 1.0), 0.3)
        return Finding(
            kind="long_way",
            text=message(
                "finding.walked_farther",
                name=name,
                burial=approach.burial,
                walked=length(longer.said * line.length_m, 0),
                best=length(line.length_m, 0),
            ),
            numbers=longer.numbers("ratio") | sizes,
            minutes=(longer.said - 1.0) * line.length_m / speed / 60.0,
            confidence=longer.words,
            **common,  # type: ignore[arg-type]
        )
    astray = float(np.median(approach.told.wrong_m)) > ASTRAY_M
    astray |= approach.turn.uncertainty_s > KNOWN_TURN_S
    if -straight.said < MOST_STRAIGHT and line.length_m >= 10.0 and not astray:
        return Finding(
            kind="straight_line",
            text=message(
                "finding.kept_to_line",
                name=name,
                walked=length(max(-straight.said, 1.0) * line.length_m, 0),
                best=length(line.length_m, 0),
            ),
            numbers={"ratio": -straight.said, "middle_ratio": -straight.middle, "share": straight.share}
            | sizes,
            praise=True,
            confidence=straight.words,
            **common,  # type: ignore[arg-type]
        )
    return None


def _near_speed(approach: Approach, name: str) -> Finding | None:
    near, far = sized(approach.told.near_m_s, "fast_near"), approach.above_10_m_s
    if near.said < NEAR_FAST_M_S:
        return None
    return Finding(
        kind="fast_near",
        text=message("finding.hurried_near", name=name, speed=speed(near.said)),
        numbers=near.numbers("speed_m_s") | ({"speed_above_10_m_s": far} if far is not None else {}),
        searcher=approach.searcher,
        burial=approach.burial,
        at_s=approach.fine.t_s,
        confidence=near.words,
    )


def _wrong_way(approach: Approach, name: str) -> Finding | None:
    wrong, (start, end) = sized(approach.told.wrong_m, "wrong_way"), approach.told.wrong_s
    if wrong.said < WRONG_M:
        return None
    return Finding(
        kind="wrong_way",
        text=message("finding.walked_away", name=name, burial=approach.burial, length=length(wrong.said, 0)),
        numbers=wrong.numbers("length_m") | {"seconds": end - start},
        searcher=approach.searcher,
        burial=approach.burial,
        at_s=start,
        minutes=2.0 * (end - start) / 60.0,
        confidence=wrong.words,
    )


def _about_idle(searcher: str, name: str, evidence: Evidence) -> list[Finding]:
    idle = evidence.idle.get(searcher)
    if idle is None or not idle.spans:
        return []
    stood = sized(idle.seconds.sum(axis=0), "idle")
    if stood.said < IDLE_S:
        return []
    surest = int(np.argmax([sized(each, "idle").said for each in idle.seconds]))
    start, _ = idle.spans[surest]
    finding = Finding(
        kind="idle",
        text=message("finding.stood_idle", name=name, time=duration(stood.said)),
        numbers=stood.numbers("seconds") | {"stretches": float(len(idle.spans))},
        searcher=searcher,
        at_s=start,
        confidence=stood.words,
    )
    return [placed(finding, evidence.walks.get(searcher))]


def _about_gaps(evidence: Evidence) -> list[Finding]:
    swept = evidence.swept
    if swept is None:
        return []
    found = [
        Finding(
            kind="gap",
            text=message("finding.gap", area=area(gap.area_m2), width=length(gap.width_m, 0)),
            numbers={"area_m2": gap.area_m2, "width_m": gap.width_m},
            position_m=gap.position_m,
            confidence=in_ways(GAP_SURE),
        )
        for gap in swept.gaps
        if gap.surely and gap.needed
    ]
    if swept.fraction - swept.fraction_uncertainty >= SWEPT_ALL:
        found.append(
            Finding(
                kind="swept_all",
                text=message("finding.swept_all", share=share(swept.fraction)),
                numbers={"fraction": swept.fraction},
                praise=True,
            )
        )
    return found


def _about_bunching(evidence: Evidence) -> list[Finding]:
    """Three or more people at one burial for a minute while nobody was near another set."""
    if len(evidence.walks) < 3:
        return []
    reached = reached_s(evidence.splits, evidence.approaches)
    sets = [b for b in evidence.drill.burials if b.transmitter is not None]
    found = []
    for burial in sets:
        others = [reached.get(b.id, np.inf) for b in sets if b.id != burial.id]
        start, until = reached.get(burial.id), max(others, default=0.0)
        if start is None or until <= start:
            continue
        t = np.arange(max(start, 0.0), min(until, np.floor(evidence.end_s)))
        crowd = np.sum([_at(one, burial.position_m, t) for one in evidence.listeners.values()], axis=0)
        bunched = sized((crowd >= 3).sum(axis=1).astype(np.float64), "bunched")
        if not t.size or bunched.said < IDLE_S:
            continue
        often = (crowd >= 3).mean(axis=0) > 0.5
        most = int(np.median(crowd.max(axis=1)))
        found.append(
            Finding(
                kind="bunched",
                text=message("finding.crowded", people=most, burial=burial.id, time=duration(bunched.said)),
                numbers=bunched.numbers("seconds") | {"people": float(most)},
                burial=burial.id,
                at_s=float(t[often.argmax()]),
                position_m=burial.position_m,
                minutes=bunched.said / 60.0,
                confidence=bunched.words,
            )
        )
    return found


def _at(listener: Listener, place_m: tuple[float, float], t: Floats) -> NDArray[np.bool_]:
    """Return in which variants somebody is at a place at whole seconds, (w, n); False outside the track."""
    ways = listener.ways
    here = np.zeros((len(ways.position_m), t.size), dtype=bool)
    told = (t >= ways.t_s[0]) & (t <= ways.t_s[-1])
    away = np.linalg.norm(ways.at(t[told]) - np.array(place_m), axis=2)
    here[:, told] = away < AT_BURIAL_M
    return here


def _about_burials(evidence: Evidence) -> list[Finding]:
    splits = evidence.splits
    if not any(row.split in ("probe_strike", "airway_clear") for row in splits.rows):
        return []
    return [
        Finding(
            kind="not_found",
            text=message("finding.not_found", burial=burial.id),
            burial=burial.id,
            position_m=burial.position_m,
            confidence=message("confidence.by_splits"),
        )
        for burial in evidence.drill.burials
        if burial.id not in splits.each("probe_strike") | splits.each("airway_clear")
    ]


def _observations(evidence: Evidence) -> list[Finding]:
    splits = evidence.splits
    timed = [_observation(row, row.t_s) for row in splits.rows if row.split == "observation"]
    return timed + [_observation(row, None) for row in splits.untimed]


def _observation(row: TimedSplit | Split, at_s: float | None) -> Finding:
    return Finding(
        kind="observation",
        text=row.said or verbatim(row.note),
        searcher=row.searcher,
        burial=row.burial,
        at_s=at_s,
        confidence=message("confidence.as_seen"),
    )
