"""What a group can take from a run: statements with their numbers, place, moment and doubt.

A statement is withheld where its size does not exceed its own doubt. Limits are settings.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from coldfield.debrief.approach.approach import LOST_S, Approach
from coldfield.debrief.approach.heard_walk import HeardWalk
from coldfield.debrief.clocks.run_splits import RunSplits, TimedSplit
from coldfield.debrief.findings.finding import CLEAR, LIKELY, Finding, confidence, placed
from coldfield.debrief.ground.sweep import Swept
from coldfield.debrief.phases.phase import Phase
from coldfield.drill.drill import Drill
from coldfield.drill.run import Split
from coldfield.message import area, duration, length, message, share, speed, verbatim

REACTION_S = 10.0
"""No statement about a reaction shorter than this. Setting."""

USUAL_S = 5.0
"""So long it takes to stop and take the direction; only what is beyond was lost. Setting."""

RATIO = 1.15
"""No statement about a walked line less than this times as long as the flux line. Setting."""

MOST_RATIO = 2.0
"""A way longer than this is more likely two searches taken for one; nothing is said. Setting."""

IDLE_S = 60.0
"""No statement about standing for less than this. Setting."""

NEAR_FAST_M_S = 1.0
"""Below a reading of 10 m people are taught to walk slowly and exactly (common practice); from this
speed on it is said. Setting."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Evidence:
    """Everything findings draw on: of each searcher by id, in the drill's order."""

    drill: Drill
    splits: RunSplits
    walks: Mapping[str, HeardWalk]
    approaches: Mapping[str, Sequence[Approach]]
    phases: Mapping[str, Sequence[Phase]]
    idle: Mapping[str, Sequence[tuple[float, float]]]
    accuracy_m: Mapping[str, float]
    swept: Swept | None
    end_s: float


def findings_of(evidence: Evidence, more: Sequence[Finding] = ()) -> list[Finding]:
    """Return the statements of a run and `more`, the most costly first, then observations, then praise."""
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
    """Return statements about one way to a burial: the turn, the line, the way round, the speed."""
    found = []
    for one in (_reaction(approach, name), _line(approach, name), _near_speed(approach, name)):
        if one is not None:
            found.append(one)
    found += [_wrong_way(approach, name, stretch) for stretch in approach.wrong_way]
    walk = evidence.walks.get(approach.searcher)
    return [placed(one, walk) for one in found]


def _reaction(approach: Approach, name: str) -> Finding | None:
    if approach.audible is None or approach.heard_from_start or approach.lost_s > LOST_S:
        return None
    seconds = approach.turn.t_s - approach.audible.t_s
    doubt = float(np.hypot(approach.turn.uncertainty_s, approach.audible.uncertainty_s))
    numbers = {"seconds": seconds, "uncertainty_s": doubt}
    common = {"searcher": approach.searcher, "burial": approach.burial, "at_s": approach.audible.t_s}
    surely = approach.turn_not_before_s - approach.audible.t_s - 0.5 * approach.audible.uncertainty_s
    late_s = seconds - USUAL_S  # what the statement is about, and has to exceed its doubt
    if seconds >= REACTION_S and late_s > doubt and surely >= 4.0:
        return Finding(
            kind="late_turn",
            text=message("finding.late_turn", name=name, burial=approach.burial, time=duration(seconds)),
            numbers=numbers,
            minutes=late_s / 60.0,
            confidence=confidence(late_s, doubt),
            **common,  # type: ignore[arg-type]
        )
    if abs(seconds) <= USUAL_S and seconds + doubt <= 2.0 * REACTION_S:
        return Finding(
            kind="quick_turn",
            text=message(
                "finding.quick_turn",
                name=name,
                burial=approach.burial,
                time=duration(max(seconds, 0.0) + doubt),
            ),
            numbers=numbers,
            praise=True,
            **common,  # type: ignore[arg-type]
        )
    return None


def _line(approach: Approach, name: str) -> Finding | None:
    if approach.ratio is None or approach.ratio_uncertainty is None or approach.flux_line is None:
        return None
    if approach.lost_s > LOST_S or approach.ratio > MOST_RATIO:
        return None  # the way may have begun later
    flux_m, doubt = approach.flux_line.length_m, approach.ratio_uncertainty
    numbers = {
        "ratio": approach.ratio,
        "uncertainty": doubt,
        "walked_m": approach.walked_m,
        "flux_line_m": flux_m,
        "side_distance_m": approach.side_distance_m,
    }
    common = {
        "searcher": approach.searcher,
        "burial": approach.burial,
        "at_s": approach.turn.t_s,
        "numbers": numbers,
    }
    if (
        approach.ratio - doubt > 1.05
        and approach.ratio >= RATIO
        and approach.side_distance_m > 2.5 * approach.accuracy_m
    ):
        speed = max(approach.walked_m / max(approach.fine.t_s - approach.turn.t_s, 1.0), 0.3)
        return Finding(
            kind="long_way",
            text=message(
                "finding.long_way",
                name=name,
                burial=approach.burial,
                walked=length(approach.walked_m, 0),
                best=length(flux_m, 0),
            ),
            minutes=(approach.walked_m - flux_m) / speed / 60.0,
            confidence=confidence(approach.ratio - 1.0, doubt),
            **common,  # type: ignore[arg-type]
        )
    kept = approach.side_distance_m < max(5.0, 2.5 * approach.accuracy_m)
    if approach.ratio < 1.1 and doubt < 0.25 and flux_m >= 10.0 and kept and not approach.wrong_way:
        return Finding(
            kind="straight_line",
            text=message(
                "finding.straight_line",
                name=name,
                walked=length(approach.walked_m, 0),
                best=length(flux_m, 0),
            ),
            praise=True,
            **common,  # type: ignore[arg-type]
        )
    return None


def _near_speed(approach: Approach, name: str) -> Finding | None:
    near, far = approach.below_10_m_s, approach.above_10_m_s
    if near is None or near - approach.below_10_m_doubt_m_s < NEAR_FAST_M_S:
        return None
    return Finding(
        kind="fast_near",
        text=message("finding.fast_near", name=name, speed=speed(near)),
        numbers={"speed_m_s": near, "uncertainty_m_s": approach.below_10_m_doubt_m_s}
        | ({"speed_above_10_m_s": far} if far is not None else {}),
        searcher=approach.searcher,
        burial=approach.burial,
        at_s=approach.fine.t_s,
        confidence=LIKELY,
    )


def _wrong_way(approach: Approach, name: str, stretch: tuple[float, float, float]) -> Finding:
    start, end, walked_m = stretch
    return Finding(
        kind="wrong_way",
        text=message("finding.wrong_way", name=name, burial=approach.burial, length=length(walked_m, 0)),
        numbers={"length_m": walked_m, "seconds": end - start},
        searcher=approach.searcher,
        burial=approach.burial,
        at_s=start,
        minutes=2.0 * (end - start) / 60.0,
        confidence=CLEAR if walked_m > 10.0 else LIKELY,
    )


def _about_idle(searcher: str, name: str, evidence: Evidence) -> list[Finding]:
    long = [(a, b) for a, b in evidence.idle.get(searcher, ()) if b - a >= IDLE_S]
    if not long:
        return []
    total = sum(b - a for a, b in long)
    start, _ = max(long, key=lambda stretch: stretch[1] - stretch[0])
    finding = Finding(
        kind="idle",
        text=message("finding.idle", name=name, time=duration(total)),
        numbers={"seconds": total, "stretches": float(len(long))},
        searcher=searcher,
        at_s=start,
        confidence=CLEAR,
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
            confidence=CLEAR
            if gap.width_m > 3.0 * max(evidence.accuracy_m.values(), default=3.0)
            else LIKELY,
        )
        for gap in swept.gaps
        if gap.surely and gap.needed
    ]
    if swept.fraction >= 0.98:
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
    """Three or more at one burial for a minute while another set had nobody near it."""
    if len(evidence.walks) < 3:
        return []
    reached = _reached(evidence)
    sets = [b for b in evidence.drill.burials if b.transmitter is not None]
    found = []
    for burial in sets:
        others = [reached.get(b.id, np.inf) for b in sets if b.id != burial.id]
        start, until = reached.get(burial.id), max(others, default=0.0)
        if start is None or until <= start:
            continue
        crowd = np.zeros(int(evidence.end_s) + 1)
        for who, walk in evidence.walks.items():
            away = np.linalg.norm(walk.position_m - np.array(burial.position_m), axis=1)
            near = np.nan_to_num(away, nan=np.inf) < 4.0 + evidence.accuracy_m[who]
            crowd[: near.size] += near[: crowd.size]
        t = np.arange(crowd.size)
        bunched = (crowd >= 3) & (t >= start) & (t < until)
        seconds = int(bunched.sum())
        if seconds >= IDLE_S:
            most = int(crowd[bunched].max())
            found.append(
                Finding(
                    kind="bunched",
                    text=message("finding.bunched", people=most, burial=burial.id, time=duration(seconds)),
                    numbers={"seconds": float(seconds), "people": float(most)},
                    burial=burial.id,
                    at_s=float(t[bunched][0]),
                    position_m=burial.position_m,
                    minutes=seconds / 60.0,
                    confidence=LIKELY,
                )
            )
    return found


def _reached(evidence: Evidence) -> dict[str, float]:
    reached: dict[str, float] = {}
    for approaches in evidence.approaches.values():
        for approach in approaches:
            reached[approach.burial] = min(reached.get(approach.burial, np.inf), approach.fine.t_s)
    for burial in evidence.drill.burials:
        struck = evidence.splits.first("probe_strike", burial=burial.id)
        if struck is not None:
            reached[burial.id] = min(reached.get(burial.id, np.inf), struck)
    return reached


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
        if not splits.times("probe_strike", burial=burial.id)
        and not splits.times("airway_clear", burial=burial.id)
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
