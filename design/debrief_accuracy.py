"""How well a debrief recovers what is known to be true: played runs, recorded with errors, debriefed.

    python design/debrief_accuracy.py [runs]

Each trial draws a drill, plays it once with the searcher model, lets a device with errors of its own
record every searcher (correlated and white noise, sampling interval, dropouts), keeps splits with a
clock that may be minutes off, and compares the debrief with the truth. Printed: one row per quantity
with the share of cases inside the stated uncertainty, and the share of findings the truth contradicts.
"""

from __future__ import annotations

import sys
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from itertools import pairwise
from typing import Any

import numpy as np

from coldfield.app.debrief import Debriefed, RunFiles, debrief
from coldfield.beacon.fluxline import walked_flux_line
from coldfield.beacon.hearing import carried_point_m, hear, sources_of
from coldfield.debrief.recorded import Recorded
from coldfield.debrief.recording import record
from coldfield.debrief.sweep import swept_ground
from coldfield.drill import (
    SKILLS,
    Antenna,
    Burial,
    Conditions,
    Drill,
    Origin,
    Receiver,
    Searcher,
    Site,
    Split,
    Splits,
    Transmitter,
)
from coldfield.drill.frame import SiteFrame
from coldfield.drill.terrain import Plane
from coldfield.rescue.played import Played
from coldfield.rescue.searcher_model import play
from coldfield.search.lanes import plan_lanes

NOON = 1_771_061_400.0
ORIGIN = Origin(
    latitude_rad=float(np.radians(61.2)), longitude_rad=float(np.radians(8.1)), elevation_m=1180.0
)
WIDTH_M = 24.0


@dataclass
class Tally:
    """Counts over trials: (inside, all) per quantity, errors, and findings by kind."""

    inside: dict[str, list[bool]] = field(default_factory=lambda: defaultdict(list))
    error: dict[str, list[float]] = field(default_factory=lambda: defaultdict(list))
    stated: dict[str, list[float]] = field(default_factory=lambda: defaultdict(list))
    clock_found: list[bool] = field(default_factory=list)
    findings: dict[str, list[bool]] = field(default_factory=lambda: defaultdict(list))

    def add(self, quantity: str, error: float, stated: float) -> None:
        """Count one comparison; a whole second is the grain of the run's clock."""
        self.inside[quantity].append(abs(error) <= stated)
        self.error[quantity].append(error)
        self.stated[quantity].append(stated)


def draw_drill(rng: np.random.Generator) -> Drill:
    """Return a drill on a slope of 60 by 80 m with one or two burials and two or three searchers."""
    site = Site(
        origin=ORIGIN,
        boundary_m=((0, 0), (60, 0), (60, 80), (0, 80)),
        entry_m=(30, 0),
        slope_rad=float(np.radians(rng.uniform(0, 20))),
        aspect_rad=float(np.pi),
    )
    burials = []
    for name in "AB"[: int(rng.integers(1, 3))]:
        antenna = Antenna(
            azimuth_rad=float(rng.uniform(0, 2 * np.pi)), tilt_rad=float(np.arcsin(rng.uniform(-0.8, 0.8)))
        )
        x, y = rng.uniform(8, 52), rng.uniform(25, 72)
        if burials and np.hypot(x - burials[0].position_m[0], y - burials[0].position_m[1]) < 15:
            continue
        burials.append(
            Burial(
                id=name,
                position_m=(float(x), float(y)),
                depth_m=float(rng.uniform(0.4, 1.4)),
                antenna=antenna,
                transmitter=Transmitter(
                    period_s=float(rng.uniform(0.9, 1.1)), phase_s=float(rng.uniform(0, 1))
                ),
                body_azimuth_rad=antenna.azimuth_rad,
            )
        )
    people = [
        Searcher(id=f"s{i}", name=f"Person {i}", skill=SKILLS[skill], receiver=Receiver(coaxial_range_m=40.0))
        for i, skill in enumerate(
            rng.choice(["novice", "practised", "expert"], int(rng.integers(2, 4))), start=1
        )
    ]
    return Drill(
        name="trial",
        site=site,
        burials=tuple(burials),
        searchers=tuple(people),
        conditions=Conditions(strip_width_m=WIDTH_M),
    )


@dataclass(frozen=True, eq=False)
class Trial:
    """One played run, what was recorded of it, and its debrief."""

    drill: Drill
    played: Played
    debriefed: Debriefed
    late_s: float


def one_trial(number: int) -> Trial:
    """Play, record and debrief run `number`."""
    rng = np.random.default_rng([6, number])
    planned = draw_drill(rng)
    lanes = plan_lanes(planned.site, planned.searchers, strip_width_m=WIDTH_M)
    played = play(planned, lanes, seed=6, run=number)
    late = float(rng.choice([-1, 1]) * rng.uniform(60, 300)) if number % 4 == 0 else 0.0
    recorded = [recorded_trace(trace, rng) for trace in played.traces if trace.t_s[-1] > trace.t_s[0]]
    splits = splits_of(played, late)
    run = RunFiles(drill=planned, recorded=tuple(recorded), splits=splits)
    return Trial(planned, played, debrief(run), late)


def recorded_trace(trace: Any, rng: np.random.Generator) -> Recorded:
    """Return a true trace as a device with errors of its own wrote it down."""
    t, place = record(
        trace.t_s,
        np.column_stack([trace.east_m, trace.north_m]),
        rng=rng,
        interval_s=float(rng.choice([0.2, 1.0, 1.0, 2.0, 5.0, 10.0])),
        white_m=float(rng.uniform(0.2, 1.5)),
        bias_m=float(rng.uniform(1.0, 8.0)),
        correlation_s=float(rng.uniform(100.0, 600.0)),
        dropouts_per_h=float(rng.choice([0.0, 20.0])),
    )
    lat, lon = SiteFrame(ORIGIN).to_wgs84(place)
    return Recorded(
        file=f"{trace.searcher}.gpx",
        name="",
        unix_s=t + NOON,
        place=np.column_stack([lat, lon]),
        segment=np.zeros(t.size, dtype=np.int64),
    )


def splits_of(played: Played, late_s: float) -> Splits:
    """Return the splits a keeper would write, to the second, by a clock `late_s` late."""
    rows = [Split(split="alarm", time_unix_s=NOON + late_s)]
    for times in played.burials:
        for kind, moment in (
            ("within_10_m", times.within_10_m_s),
            ("lowest_reading", times.lowest_reading_s),
            ("probe_strike", times.probe_strike_s),
            ("airway_clear", times.airway_s),
        ):
            if np.isfinite(moment) and times.finder is not None:
                who = times.finder if kind != "airway_clear" else None
                rows.append(
                    Split(
                        split=kind,
                        searcher=who,
                        burial=times.burial,
                        time_unix_s=NOON + round(moment) + late_s,
                    )
                )
    return Splits(rows=tuple(sorted(rows, key=lambda r: r.time_unix_s or 0.0)))


def compare(trial: Trial, tally: Tally) -> None:
    """Count how a debrief stands against the truth."""
    document = trial.debriefed.document
    drift = trial.late_s if not trial.late_s else trial.late_s + document["run"]["splits_shift_s"]
    doubt = trial.debriefed.debriefing.aligned.splits.uncertainty_s
    if trial.late_s:
        tally.clock_found.append(bool(document["run"]["splits_shift_s"]))
        if not tally.clock_found[-1]:
            return  # nothing in the tracks contradicts the keeper's clock
        tally.add("clock of the splits", drift, doubt)
    # Tracks keep their own clock; a zero that is off moves all of a track's moments alike.
    by_id = {s["id"]: s for s in document["searchers"]}
    for times in trial.played.burials:
        if times.finder is None or not np.isfinite(times.turn_s):
            continue
        for approach in by_id[times.finder]["approaches"]:
            if approach["burial"] == times.burial:
                tally.add(
                    "turn", approach["turn_s"] + drift - times.turn_s, approach["turn_uncertainty_s"] + 1
                )
                if np.isfinite(times.fine_start_s):
                    error = approach["reading_3_m_s"] + drift - times.fine_start_s
                    tally.add(
                        "reading of 3 m",
                        error,
                        float(np.hypot(approach["reading_3_m_uncertainty_s"] + 1, doubt)),
                    )
    for trace in trial.played.traces:
        person = by_id[trace.searcher]
        if person["track"] is None:
            continue
        for k, seconds in enumerate(true_audible_s(trial, trace, person, drift)):
            told = person["audible"][k]
            tally.add("audible", told["seconds"] - seconds, told["uncertainty_s"] + 1)
    share = true_swept(trial)
    tally.add("swept share", document["swept_fraction"] - share, document["swept_fraction_uncertainty"])
    for finding, wrong in judged(trial, drift):
        tally.findings[finding["kind"]].append(wrong)


def true_audible_s(trial: Trial, trace: Any, person: dict[str, Any], drift: float) -> Iterator[float]:
    """Yield, for each burial, the seconds a set was audible where the person truly was."""
    terrain = Plane.of(trial.drill.site)
    sources = sources_of(trial.drill.burials, terrain)
    receiver = trial.drill.searcher(trace.searcher).receiver
    known = np.concatenate([np.array(p["t_s"]) for p in person["track"]["pieces"]])
    place = trace.at(known + drift)
    point, _ = carried_point_m(sources, receiver, terrain, place)
    audible = hear(sources, receiver, point).audible
    for k in range(len(sources.ids)):
        yield float(audible[:, k].sum())


def true_swept(trial: Trial) -> float:
    """Return the share of the ground swept along the true paths, until each person's true turn."""
    paths: dict[str, list[np.ndarray]] = {}
    first_fine = min(
        (b.fine_start_s for b in trial.played.burials if np.isfinite(b.fine_start_s)), default=1e9
    )
    for trace in trial.played.traces:
        t = np.arange(0.0, trace.t_s[-1], 1.0)
        end = searched_until_s(trace, first_fine)
        search = t <= end
        place = trace.at(t)
        at = np.flatnonzero(search)
        pieces = np.split(at, np.flatnonzero(np.diff(at) > 1) + 1)
        paths[trace.searcher] = [place[p] for p in pieces if len(p)]
    terrain = Plane.of(trial.drill.site)
    return swept_ground(
        trial.drill.site, paths, terrain, strip_width_m=WIDTH_M, accuracy_m=dict.fromkeys(paths, 3.0)
    ).fraction


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
    """Yield findings that the truth can judge, and whether it contradicts them."""
    times = {(t.finder, t.burial): t for t in trial.played.burials}
    for finding in trial.debriefed.document["findings"]:
        true = times.get((finding["searcher"], finding["burial"]))
        if finding["kind"] in ("late_turn", "quick_turn") and true is not None and np.isfinite(true.turn_s):
            seconds = true.turn_s - true_onset_s(trial, finding["searcher"], finding["burial"], true.turn_s)
            late = finding["kind"] == "late_turn"
            yield finding, seconds < 8.0 if late else seconds > 12.0
        elif finding["kind"] in ("long_way", "straight_line") and true is not None:
            ratio = true_ratio(trial, finding["searcher"], true)
            if ratio is not None:
                yield finding, ratio < 1.08 if finding["kind"] == "long_way" else ratio > 1.25
        elif finding["kind"] == "wrong_way" and true is not None:
            yield finding, not went_back(trial, finding, true)
        elif finding["kind"] == "idle":
            yield finding, false_idle(trial, finding, drift)


def true_onset_s(trial: Trial, who: str, burial: str, turn_s: float) -> float:
    """Return when the set became audible for good before the turn, at the true places."""
    terrain = Plane.of(trial.drill.site)
    sources = sources_of(trial.drill.burials, terrain)
    trace = next(t for t in trial.played.traces if t.searcher == who)
    t = np.arange(0.0, turn_s + 1.0)
    receiver = trial.drill.searcher(who).receiver
    audible = hear(sources, receiver, terrain.at(trace.at(t), np.ones(t.size))).audible[
        :, sources.ids.index(burial)
    ]
    heard = np.flatnonzero(audible)
    if not heard.size:
        return turn_s
    breaks = np.flatnonzero(np.diff(heard) > 6)
    return float(t[heard[breaks[-1] + 1] if breaks.size else heard[0]])


def true_ratio(trial: Trial, who: str, true: Any) -> float | None:
    """Return the truly walked length from turn to fine search over the flux line from the true turn."""
    from coldfield.debrief.best_lines import best_line

    if not (np.isfinite(true.turn_s) and np.isfinite(true.fine_start_s)):
        return None
    terrain = Plane.of(trial.drill.site)
    trace = next(t for t in trial.played.traces if t.searcher == who)
    t = np.linspace(true.turn_s, true.fine_start_s, 400)
    sources = sources_of(trial.drill.burials, terrain)
    receiver = trial.drill.searcher(who).receiver
    line = best_line(sources, sources.ids.index(true.burial), terrain, trace.at(t)[0], receiver)
    return None if line is None else terrain.length_m(trace.at(t)) / line.length_m


def went_back(trial: Trial, finding: dict[str, Any], true: Any) -> bool:
    """True where the true walk went at least 3 m away from the set between turn and fine search."""
    trace = next(t for t in trial.played.traces if t.searcher == finding["searcher"])
    end = true.fine_start_s if np.isfinite(true.fine_start_s) else true.probe_strike_s
    t = np.arange(max(true.turn_s - 10, 0.0), end, 1.0)
    place = np.array(next(b for b in trial.drill.burials if b.id == true.burial).position_m)
    away = np.linalg.norm(trace.at(t) - place, axis=1)
    return bool((away - np.minimum.accumulate(away)).max() > 2.0)


def false_idle(trial: Trial, finding: dict[str, Any], drift: float) -> bool:
    """True where the person truly moved, or worked at a burial, for most of the time said to be idle."""
    trace = next(t for t in trial.played.traces if t.searcher == finding["searcher"])
    start = finding["at_s"] + drift
    phases = [trace.phase_at(t) for t in np.arange(start, start + 60.0, 5.0)]
    return sum(p in ("probe", "dig", "fine", "coarse", "line") for p in phases) > len(phases) / 2


def perfect_walk(number: int) -> list[str] | None:
    """Return the criticisms of somebody who walks a lane, turns after 4 s and follows the flux line.

    None where the lane of this number hears nothing, or leads to no line that can be followed.
    """
    rng = np.random.default_rng([7, number])
    planned = draw_drill(rng)
    planned = replace(
        planned,
        burials=planned.burials[:1],
        searchers=planned.searchers[:1],
        site=replace(planned.site, slope_rad=0.0),
    )
    terrain, receiver = Plane.of(planned.site), planned.searchers[0].receiver
    sources = sources_of(planned.burials, terrain)
    t = np.arange(0.0, 120.0, 0.5)
    lane = np.column_stack([np.full(t.size, rng.uniform(5, 55)), 1.2 * t - 15.0])
    heard = hear(sources, receiver, terrain.at(lane, np.ones(t.size))).audible[:, 0]
    if not heard.any() or heard[0]:
        return None
    turn = int(heard.argmax()) + 8
    line = walked_flux_line(sources, 0, terrain, lane[min(turn, t.size - 1)], receiver)
    if line.ended != "reading of 3 m" or turn >= t.size:
        return None
    fine_s = t[turn] + float(line.walked_s[-1])
    place = np.array(planned.burials[0].position_m)
    moments = np.concatenate(
        [t[: turn + 1], t[turn] + line.walked_s[1:], fine_s + np.array([20.0, 45.0, 240.0])]
    )
    way = np.vstack([lane[: turn + 1], line.line_m[1:], place, place, place])
    trace = Walked(searcher="s1", t_s=moments, east_m=way[:, 0], north_m=way[:, 1])
    rows = [Split(split="alarm", time_unix_s=NOON)]
    for kind, moment in (
        ("lowest_reading", fine_s + 20),
        ("probe_strike", fine_s + 45),
        ("airway_clear", fine_s + 240),
    ):
        rows.append(Split(split=kind, searcher="s1", burial="A", time_unix_s=NOON + round(moment)))
    recorded = recorded_trace(trace, rng)
    document = debrief(
        RunFiles(drill=planned, recorded=(recorded,), splits=Splits(rows=tuple(rows)))
    ).document
    return [f["kind"] for f in document["findings"] if not f["praise"]]


@dataclass(frozen=True, eq=False)
class Walked:
    """A true walk, as far as a recorder asks."""

    searcher: str
    t_s: np.ndarray
    east_m: np.ndarray
    north_m: np.ndarray


def perfect_walkers(count: int) -> list[str]:
    """Return the row of the report on `count` perfect walkers."""
    told: list[list[str]] = []
    number = 0
    while len(told) < count:
        one = perfect_walk(number)
        number += 1
        if one is not None:
            told.append(one)
    blamed = [kinds for kinds in told if kinds]
    share = 100 * (1 - len(blamed) / count)
    return [f"Perfect flux-line walkers: {count}; without any criticism {share:.1f} %."]


def table(tally: Tally) -> list[str]:
    """Return the rows of the report, as Markdown."""
    rows = [
        "| quantity | cases | inside what was stated | median error | nine of ten errors | stated, median |",
        "|---|---|---|---|---|---|",
    ]
    for name, inside in tally.inside.items():
        error, stated = np.array(tally.error[name]), np.array(tally.stated[name])
        scale, unit = (100.0, "%") if "share" in name else (1.0, "s")
        middle, most = scale * np.median(error), scale * np.quantile(np.abs(error), 0.9)
        share, said = 100 * np.mean(inside), scale * np.median(stated)
        rows.append(
            f"| {name} | {len(inside)} | {share:.0f} % | {middle:+.1f} {unit} | within {most:.1f} {unit} "
            f"| {said:.1f} {unit} |"
        )
    found = tally.clock_found
    rows += ["", f"Clocks of splits that were minutes off: {len(found)}, found {sum(found)}."]
    rows += ["", "| finding | said | contradicted by the truth |", "|---|---|---|"]
    for kind, wrong in sorted(tally.findings.items()):
        rows.append(f"| {kind} | {len(wrong)} | {sum(wrong)} |")
    every = [w for wrong in tally.findings.values() for w in wrong]
    rows.append(f"| all | {len(every)} | {sum(every)} ({100 * np.mean(every or [0]):.1f} %) |")
    return rows


def run(count: int, first: int = 0) -> Tally:
    """Return the tally of `count` trials."""
    tally = Tally()
    for number in range(first, first + count):
        compare(one_trial(number), tally)
    return tally


if __name__ == "__main__":
    how_many = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    print("\n".join([*table(run(how_many)), "", *perfect_walkers(how_many)]))
