"""The truth of a trial, and the findings that it contradicts."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import pairwise
from typing import Any

import numpy as np
from debrief_trials import WIDTH_M, Trial

from coldfield.app.answers import said
from coldfield.beacon.hearing import carried_point_m, hear, sources_of
from coldfield.debrief.approach.best_lines import best_line
from coldfield.debrief.ground.sweep import Swept, swept_ground
from coldfield.drill.terrain import Plane

AT_WORK = ("probe", "dig", "fine", "coarse", "line")


def trace_of(trial: Trial, who: str) -> Any:
    """Return a person's true trace."""
    return next(t for t in trial.played.traces if t.searcher == who)


def audible_s(trial: Trial, trace: Any, person: dict[str, Any], drift: float) -> Iterator[float]:
    """Yield, for each burial, the seconds a set was audible where the person truly was."""
    terrain = Plane.of(trial.drill.site)
    sources = sources_of(trial.drill.burials, terrain)
    receiver = trial.drill.searcher(trace.searcher).receiver
    known = np.concatenate([np.array(p["t_s"]) for p in person["track"]["pieces"]])
    point, _ = carried_point_m(sources, receiver, terrain, trace.at(known + drift))
    audible = hear(sources, receiver, point).audible
    for k in range(len(sources.ids)):
        yield float(audible[:, k].sum())


def swept(trial: Trial) -> Swept:
    """Return the ground swept along the true paths, while people truly searched."""
    paths: dict[str, list[np.ndarray]] = {}
    first_fine = min(
        (b.fine_start_s for b in trial.played.burials if np.isfinite(b.fine_start_s)), default=1e9
    )
    for trace in trial.played.traces:
        t = np.arange(0.0, trace.t_s[-1], 1.0)
        place = trace.at(t)
        at = np.flatnonzero(t <= searched_until_s(trace, first_fine))
        pieces = np.split(at, np.flatnonzero(np.diff(at) > 1) + 1)
        paths[trace.searcher] = [place[p] for p in pieces if len(p)]
    accuracy = dict.fromkeys(paths, 3.0)
    terrain = Plane.of(trial.drill.site)
    return swept_ground(trial.drill.site, paths, terrain, strip_width_m=WIDTH_M, accuracy_m=accuracy)


def searched_until_s(trace: Any, first_fine_s: float) -> float:
    """Return when a person's signal search truly ended: at the last chase or lane, a wait, or to help."""
    pairs = list(zip(trace.t_s, trace.phase, strict=True))
    ends = [b[0] for a, b in pairwise(pairs) if a[1] == "signal" != b[1]]
    ends += [t for t, phase in pairs if phase == "coarse"][:1]
    if ends:
        return float(max(ends))
    stops = [t for t, phase in pairs if phase == "wait" or (phase == "walk" and t >= first_fine_s)]
    return float(min(stops, default=trace.t_s[-1]))


def judged(trial: Trial, drift: float) -> Iterator[tuple[dict[str, Any], bool]]:
    """Yield findings that can be compared with the truth, and whether it contradicts them."""
    times = {(t.finder, t.burial): t for t in trial.played.burials}
    for finding in said(trial.debriefed.document)["findings"]:
        true = times.get((finding["searcher"], finding["burial"]))
        if finding["kind"] in OF_A_CHASE:
            if true is None or not (np.isfinite(true.turn_s) and np.isfinite(true.fine_start_s)):
                continue
            yield finding, OF_A_CHASE[finding["kind"]](trial, true, finding, drift)
        elif finding["kind"] in OF_A_RUN:
            yield finding, OF_A_RUN[finding["kind"]](trial, finding, drift)


def reaction_s(trial: Trial, true: Any) -> float:
    """Return the true time from when the set became audible for good to the turn."""
    terrain = Plane.of(trial.drill.site)
    sources = sources_of(trial.drill.burials, terrain)
    trace = trace_of(trial, true.finder)
    t = np.arange(0.0, true.turn_s + 1.0)
    receiver = trial.drill.searcher(true.finder).receiver
    heard = hear(sources, receiver, terrain.at(trace.at(t), np.ones(t.size))).audible
    at = np.flatnonzero(heard[:, sources.ids.index(true.burial)])
    if not at.size:
        return 0.0
    breaks = np.flatnonzero(np.diff(at) > 6)
    return float(true.turn_s - t[at[breaks[-1] + 1] if breaks.size else at[0]])


def on_lane_s(trial: Trial, true: Any) -> float:
    """Return how long the walk kept its direction to 20 degrees after the set became audible.

    A late turn and a longer walk along the lane for another reason look the same; findings state the latter.
    """
    trace, onset = trace_of(trial, true.finder), true.turn_s - reaction_s(trial, true)
    t = np.arange(max(onset - 20.0, 0.0), true.fine_start_s, 0.5)
    way = trace.at(t)
    before = way[np.searchsorted(t, onset)] - way[0]
    ahead = trace.at(t + 4.0) - way
    turn = np.arctan2(before[0] * ahead[:, 1] - before[1] * ahead[:, 0], ahead @ before)
    off = (t >= onset) & (np.abs(turn) > 0.35) & (np.linalg.norm(ahead, axis=1) > 1.0)
    return float(t[off.argmax()] - onset) if off.any() else float(true.fine_start_s - onset)


def ratio(trial: Trial, true: Any, start_s: float | None = None) -> float:
    """Return the truly walked length to fine search over the flux line, from the turn or another moment.

    A person who lost a set and found it again turned twice; a finding is compared from its own turn.
    """
    terrain = Plane.of(trial.drill.site)
    t = np.linspace(true.turn_s if start_s is None else start_s, true.fine_start_s, 400)
    way = trace_of(trial, true.finder).at(t)
    sources = sources_of(trial.drill.burials, terrain)
    receiver = trial.drill.searcher(true.finder).receiver
    line = best_line(sources, sources.ids.index(true.burial), terrain, way[0], receiver)
    return np.nan if line is None else terrain.length_m(way) / line.length_m


def went_back_m(trial: Trial, true: Any, since_s: float | None = None) -> float:
    """Return how far the true walk went away from the set again before the fine search.

    Counted from the last turn on, or from an earlier `since_s`: people who lose a set turn for it twice.
    """
    begin_s = min(true.turn_s - 10.0, np.inf if since_s is None else since_s)
    t = np.arange(max(begin_s, 0.0), true.fine_start_s, 1.0)
    place = np.array(next(b for b in trial.drill.burials if b.id == true.burial).position_m)
    away = np.linalg.norm(trace_of(trial, true.finder).at(t) - place, axis=1)
    return float((away - np.minimum.accumulate(away)).max())


def near_speed_m_s(trial: Trial, true: Any) -> float:
    """Return the true speed while moving, from about a reading of 10 m to the fine search."""
    t = np.arange(true.turn_s, true.fine_start_s, 0.5)
    way = trace_of(trial, true.finder).at(t)
    place = np.array(next(b for b in trial.drill.burials if b.id == true.burial).position_m)
    step = np.linalg.norm(np.diff(way, axis=0), axis=1)
    near = (np.linalg.norm(way[1:] - place, axis=1) < 9.0) & (step > 0.05)
    return float(step[near].mean() / 0.5) if near.any() else 0.0


def not_idle(trial: Trial, finding: dict[str, Any], drift: float) -> bool:
    """Return True if the person truly moved, or worked at a burial, for most of the stated idle time."""
    trace = trace_of(trial, finding["searcher"])
    t = finding["at_s"] + drift + np.arange(0.0, 60.0, 5.0)
    work = [trace.phase_at(moment) in AT_WORK for moment in t]
    moved = np.linalg.norm(np.diff(trace.at(t), axis=0), axis=1) > 2.0
    return bool(np.mean(work) > 0.5 or moved.mean() > 0.5)


def not_bunched(trial: Trial, finding: dict[str, Any], drift: float) -> bool:
    """Return False if three people were truly at the burial for half of the time, and another was alone."""
    t = np.arange(0.0, trial.played.end_s)
    places = {b.id: np.array(b.position_m) for b in trial.drill.burials}
    near = {
        name: np.sum([np.linalg.norm(r.at(t) - p, axis=1) < 6.0 for r in trial.played.traces], axis=0)
        for name, p in places.items()
    }
    alone = np.zeros(t.size, dtype=bool)
    for name in places:
        if name != finding["burial"]:
            struck = next(b.probe_strike_s for b in trial.played.burials if b.burial == name)
            alone |= (near[name] == 0) & ~(t > struck)
    return bool(((near[finding["burial"]] >= 3) & alone).sum() < 0.5 * finding["numbers"]["seconds"])


def not_a_gap(trial: Trial, finding: dict[str, Any], drift: float) -> bool:
    """Return True if the gap's place, and most of a square of a third of its width, was swept."""
    ground = swept(trial)
    x, y = finding["position_m"]
    column, row = (int((v - o) / ground.cell_m) for v, o in zip((x, y), ground.origin_m, strict=True))
    reach = max(1, int(finding["numbers"]["width_m"] / 6.0))
    box = ground.times[max(row - reach, 0) : row + reach + 1, max(column - reach, 0) : column + reach + 1]
    return bool((box > 0).mean() > 0.5)


def farther_was_nearer(trial: Trial, finding: dict[str, Any], drift: float) -> bool:
    """Return True if the burial stated as farther was truly the nearer one when the approach began."""
    true = next(b for b in trial.played.burials if b.burial == finding["burial"])
    other = next(b for b in trial.drill.burials if b.id != finding["burial"])
    this = next(b for b in trial.drill.burials if b.id == finding["burial"])
    start = trace_of(trial, finding["searcher"]).at(np.array(true.turn_s))
    far, near = (float(np.linalg.norm(start - np.array(b.position_m))) for b in (this, other))
    return near >= far


def not_quick(trial: Trial, true: Any, finding: dict[str, Any], drift: float) -> bool:
    """Return True if the turn was later than stated by more than the clock's resolution."""
    told = finding["numbers"]
    return reaction_s(trial, true) > told["seconds"] + 2.0


OF_A_CHASE: dict[str, Callable[[Trial, Any, dict[str, Any], float], bool]] = {
    "late_turn": lambda trial, true, finding, drift: on_lane_s(trial, true) < 8.0,
    "quick_turn": not_quick,
    "long_way": lambda trial, true, finding, drift: ratio(trial, true, finding["at_s"] + drift) < 1.08,
    "straight_line": lambda trial, true, finding, drift: ratio(trial, true, finding["at_s"] + drift) > 1.25,
    "wrong_way": lambda trial, true, finding, drift: (
        went_back_m(trial, true, finding["at_s"] + drift - 5.0) < 2.0
    ),
    "fast_near": lambda trial, true, finding, drift: near_speed_m_s(trial, true) < 0.85,
}
OF_A_RUN: dict[str, Callable[[Trial, dict[str, Any], float], bool]] = {
    "idle": not_idle,
    "bunched": not_bunched,
    "gap": not_a_gap,
    "swept_all": lambda trial, finding, drift: swept(trial).fraction < 0.95,
    "order": farther_was_nearer,
}


def flaw_sizes(trial: Trial) -> Iterator[tuple[str, str, bool]]:
    """Yield flaws that are large enough to matter: kind, person, and whether a finding reports it."""
    told = {(f["kind"], f["searcher"] or "") for f in said(trial.debriefed.document)["findings"]}
    times = {t.finder: t for t in trial.played.burials}
    large = {
        "late_turn": lambda true: reaction_s(trial, true) >= 25.0,
        "long_way": lambda true: ratio(trial, true) >= 1.5,
        "wrong_way": lambda true: went_back_m(trial, true) >= 10.0,
        "fast_near": lambda true: near_speed_m_s(trial, true) >= 1.3,
    }
    for kind, who in trial.flaws:
        if kind not in large or large[kind](times[who]):
            yield kind, who, (kind, who) in told
