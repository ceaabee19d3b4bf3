"""Measure how well debriefs recover known truth: runs recorded with errors, debriefed, compared.

    python design/debrief_accuracy.py [judge|tune] [played runs] [first number]

Each trial draws a drill, plays it once with the searcher model, records every searcher with a device that has
errors (correlated and white noise, sampling interval, dropouts), keeps splits with a clock that may be wrong
by minutes, and compares the debrief with the truth. The same number of scripted runs with known flaws
follows, and perfect walkers. 'tune' uses the seeds with which settings were chosen, 'judge' others. The
output has one row per quantity with the share of cases inside the stated uncertainty and its interval, and
the share of findings that the truth contradicts, by kind. Nothing is left out.
"""

from __future__ import annotations

import sys
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

sys.path.append(str(Path(__file__).parent))

import numpy as np
from debrief_flaws import flawed_trial
from debrief_trials import JUDGING, NOON, TUNING, Trial, draw_drill, played_trial, recorded_trace
from debrief_truth import audible_s, flaw_sizes, judged, swept
from scipy.stats import beta

from coldfield.app.answers import said
from coldfield.app.debriefs.from_files import RunFiles, debrief
from coldfield.beacon.fluxline import walked_flux_line
from coldfield.beacon.hearing import hear, sources_of
from coldfield.drill import Split, Splits
from coldfield.drill.terrain import Plane


@dataclass
class Tally:
    """Counts over trials: inside or not per quantity, errors, uncertainties; findings and flaws by kind."""

    inside: dict[str, list[bool]] = field(default_factory=lambda: defaultdict(list))
    error: dict[str, list[float]] = field(default_factory=lambda: defaultdict(list))
    stated: dict[str, list[float]] = field(default_factory=lambda: defaultdict(list))
    clocks: dict[str, list[bool]] = field(default_factory=lambda: defaultdict(list))
    findings: dict[str, list[bool]] = field(default_factory=lambda: defaultdict(list))
    flaws: dict[str, list[bool]] = field(default_factory=lambda: defaultdict(list))
    wrong: list[tuple[int, str, str]] = field(default_factory=list)

    def add(self, quantity: str, error: float, stated: float) -> None:
        """Count one comparison; the resolution of the run's clock is one second."""
        self.inside[quantity].append(abs(error) <= stated)
        self.error[quantity].append(error)
        self.stated[quantity].append(stated)


def compare(trial: Trial, tally: Tally, number: int = 0) -> None:
    """Compare a debrief with the truth."""
    document = said(trial.debriefed.document)
    drift = trial.late_s + document["run"]["splits_shift_s"]
    splits = trial.debriefed.debriefing.aligned.splits
    if trial.late_s:
        told = "moved to within 45 s" if abs(drift) < 45.0 else "moved elsewhere"
        if abs(drift - trial.late_s) < 1:
            told = "left as it was" + ("" if splits.checked else ", said to be unchecked")
        tally.clocks[told].append(abs(drift) <= splits.uncertainty_s + 1)
    tally.add("clock of the splits", drift, splits.uncertainty_s + 1)
    _compare_chases(trial, tally, drift)
    by_id = {s["id"]: s for s in document["searchers"]}
    for trace in trial.played.traces:
        person = by_id[trace.searcher]
        if person["track"] is None:
            continue
        for told_s, seconds in zip(person["audible"], audible_s(trial, trace, person, drift), strict=True):
            tally.add("audible", told_s["seconds"] - seconds, told_s["uncertainty_s"] + 1)
    error = document["swept_fraction"] - swept(trial).fraction
    tally.add("swept share", error, document["swept_fraction_uncertainty"])
    find(trial, tally, drift, number)


def _compare_chases(trial: Trial, tally: Tally, drift: float) -> None:
    # Tracks keep their own clock; a wrong zero shifts all moments of a track equally.
    by_id = {s["id"]: s for s in said(trial.debriefed.document)["searchers"]}
    for times in trial.played.burials:
        if times.finder is None or not np.isfinite(times.turn_s):
            continue
        for one in by_id[times.finder]["approaches"]:
            if one["burial"] != times.burial:
                continue
            tally.add("turn", one["turn_s"] + drift - times.turn_s, one["turn_uncertainty_s"] + 1)
            if np.isfinite(times.fine_start_s):
                error = one["reading_3_m_s"] + drift - times.fine_start_s
                tally.add("reading of 3 m", error, one["reading_3_m_uncertainty_s"] + 1)


def find(trial: Trial, tally: Tally, drift: float, number: int = 0) -> None:
    """Count findings that can be compared with the truth."""
    for finding, wrong in judged(trial, drift):
        tally.findings[finding["kind"]].append(wrong)
        if wrong:
            tally.wrong.append((number, finding["kind"], finding["text"]))


def perfect_walk(number: int, family: int = TUNING) -> list[str] | None:
    """Return the criticisms of a person who walks a lane, turns after 4 s and follows the flux line.

    None if nothing is heard on the lane of this number, or there is no line to follow.
    """
    rng = np.random.default_rng([family, 2, number])
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
    run = RunFiles(drill=planned, recorded=(recorded_trace(trace, rng),), splits=Splits(rows=tuple(rows)))
    return [f["kind"] for f in said(debrief(run).document)["findings"] if not f["praise"]]


@dataclass(frozen=True, eq=False)
class Walked:
    """A true walk in the form for a recorder."""

    searcher: str
    t_s: np.ndarray
    east_m: np.ndarray
    north_m: np.ndarray


def perfect_walkers(count: int, family: int) -> list[str]:
    """Return the row of the report on `count` perfect walkers."""
    told: list[list[str]] = []
    number = 0
    while len(told) < count:
        one = perfect_walk(number, family)
        number += 1
        if one is not None:
            told.append(one)
    fair = [not kinds for kinds in told]
    return [f"Perfect flux-line walkers: {count}; without any criticism {share(fair)}."]


def share(of: Sequence[bool]) -> str:
    """Return a share in per cent with its 95 % interval (Clopper and Pearson)."""
    n, k = len(of), int(np.sum(of))
    low = float(beta.ppf(0.025, k, n - k + 1)) if k else 0.0
    high = float(beta.ppf(0.975, k + 1, n - k)) if k < n else 1.0
    return f"{100 * k / max(n, 1):.1f} % ({100 * low:.0f} to {100 * high:.0f} %)"


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
        rows.append(
            f"| {name} | {len(inside)} | {share(inside)} | {middle:+.1f} {unit} | within {most:.1f} {unit} "
            f"| {scale * np.median(stated):.1f} {unit} |"
        )
    rows += ["", f"Clocks of splits that were minutes off: {sum(map(len, tally.clocks.values()))}."]
    rows += [
        f"- {told}: {len(inside)}, of these within what was stated {sum(inside)}"
        for told, inside in sorted(tally.clocks.items())
    ]
    return rows


def findings_table(tally: Tally) -> list[str]:
    """Return the rows on findings and flaws, as Markdown."""
    rows = ["| finding | said | contradicted by the truth |", "|---|---|---|"]
    for kind, wrong in sorted(tally.findings.items()):
        rows.append(f"| {kind} | {len(wrong)} | {sum(wrong)} |")
    every = [w for wrong in tally.findings.values() for w in wrong]
    rows.append(f"| all | {len(every)} | {sum(every)}: {share(every)} |")
    if tally.flaws:
        rows += ["", "| flaw put in | cases | told by a finding |", "|---|---|---|"]
        rows += [f"| {kind} | {len(told)} | {share(told)} |" for kind, told in sorted(tally.flaws.items())]
    return rows


def run(count: int, first: int = 0, family: int = TUNING) -> Tally:
    """Return the tally of `count` played trials."""
    tally = Tally()
    for number in range(first, first + count):
        compare(played_trial(family, number), tally, number)
    return tally


def run_flawed(count: int, first: int = 0, family: int = TUNING) -> Tally:
    """Return the tally of scripted trials with known flaws; numbers without a run are skipped."""
    tally = Tally()
    for number in range(first, first + count):
        trial = flawed_trial(family, number)
        if trial is not None:
            find(trial, tally, said(trial.debriefed.document)["run"]["splits_shift_s"], number)
            for kind, _, told in flaw_sizes(trial):
                tally.flaws[kind].append(told)
    return tally


def report(family: int, count: int, first: int) -> list[str]:
    """Return the whole report."""
    played, flawed = run(count, first, family), run_flawed(count, first, family)
    wrong = [f"{n}: {kind}: {text}" for n, kind, text in played.wrong + flawed.wrong]
    return [
        *table(played),
        *("", "Played runs", ""),
        *findings_table(played),
        *("", "Scripted runs with known flaws", ""),
        *findings_table(flawed),
        *("", *perfect_walkers(count, family)),
        *("", "Contradicted:", *wrong),
    ]


if __name__ == "__main__":
    words = [*sys.argv[1:], *("tune", "50", "0")[len(sys.argv) - 1 :]]
    seeds = {"judge": JUDGING, "tune": TUNING}[words[0]]
    print("\n".join(report(seeds, int(words[1]), int(words[2]))))
