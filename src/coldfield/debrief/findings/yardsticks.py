"""What a run's phases are compared with: rehearsals of the drill, earlier runs, an entered standard."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from coldfield.debrief.findings.finding import CLEAR, LIKELY, Finding
from coldfield.debrief.phases.phase import Phase
from coldfield.debrief.written import Code, Count, Number, Written
from coldfield.message import Message, Quantity, Value, about, duration, message
from coldfield.rescue.outcome import quantile

PHASES = ("signal", "coarse", "fine", "probe", "dig")
GRAIN_S = 1.0
"""Splits are pressed to the second. Common practice."""

MOMENTS = ("strike", "airway")
"""Standards besides those for phases: times from the alarm to the strike or the free airway."""

_TOOK = {
    "signal": message("phase.long.signal"),
    "coarse": message("phase.long.coarse"),
    "fine": message("phase.long.fine"),
    "probe": message("phase.long.probe"),
    "dig": message("phase.long.dig"),
    "strike": message("term.took.strike"),
    "airway": message("term.took.airway"),
}

LEAST_RUNS = 5
"""The fewest rehearsed runs for a band. Setting."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RehearsedPhase:
    """The duration of a phase at a burial: 80 % within `p10_s` to `p90_s`, half below `p50_s`.

    The band includes the uncertainty of the settings; `scatter_s` is the narrower p10 and p90 of runs alone,
    with the settings at their medians. A rehearsed run that left the burial unfound counts as longest, so a
    percentile is None if it lies among failed runs.
    """

    burial: str
    phase: str
    p10_s: float | None
    p50_s: float | None
    p90_s: float | None
    runs: int
    scatter_s: tuple[float | None, float | None] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Standard(Written):
    """A time that an instructor expects: for a phase, or for 'strike' or 'airway' from the alarm, s."""

    what: Code
    most_s: Number


@dataclass(frozen=True, slots=True, kw_only=True)
class EarlierPhase(Written):
    """A phase in earlier runs of the group: count, best and median duration, s."""

    phase: Code
    times: Count
    best_s: Number
    p50_s: Number


@dataclass(frozen=True, slots=True, kw_only=True)
class EarlierRun:
    """What a debrief needs from an earlier one: the model that made it, and its phases."""

    model_version: int | None
    phases: tuple[Phase, ...]


def bands_of(
    durations_s: Mapping[str, NDArray[np.float64]],
    burials: Sequence[str],
    *,
    scatter_s: Mapping[str, NDArray[np.float64]] | None = None,
) -> tuple[RehearsedPhase, ...]:
    """Return bands from durations by phase, each of shape (runs, burials).

    Durations are inf if a run left the burial unfound, which counts as longest, and NaN if a run had no such
    phase, which is ignored. `scatter_s` holds the durations with the settings at their medians, for the
    narrower band. Phases in fewer than five runs are left out.
    """
    found = []
    for k, burial in enumerate(burials):
        for phase in PHASES:
            values = _ordered(durations_s[phase][:, k])
            if values.size < LEAST_RUNS:
                continue
            alone = _ordered(scatter_s[phase][:, k]) if scatter_s is not None else np.empty(0)
            low, middle, high = (quantile(values, share) for share in (0.1, 0.5, 0.9))
            found.append(
                RehearsedPhase(
                    burial=burial,
                    phase=phase,
                    p10_s=low,
                    p50_s=middle,
                    p90_s=high,
                    runs=int(values.size),
                    scatter_s=(quantile(alone, 0.1), quantile(alone, 0.9))
                    if alone.size >= LEAST_RUNS
                    else None,
                )
            )
    return tuple(found)


def _ordered(seconds: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.sort(seconds[~np.isnan(seconds)])


def against_bands(
    phase: Phase, bands: Sequence[RehearsedPhase], *, searcher: str | None, name: Value
) -> Finding | None:
    """Return a finding if a phase is outside its band by more than its uncertainty, else None.

    For digging, which several people do together, `searcher` is None, and `name` says who they were.
    """
    band = next((b for b in bands if b.burial == phase.burial and b.phase == phase.phase), None)
    seconds, doubt = phase.end_s - phase.start_s, max(phase.border_uncertainty_s or 0.0, GRAIN_S)
    if band is None or band.p10_s is None:
        return None
    numbers = {"seconds": seconds, "uncertainty_s": doubt, "p10_s": band.p10_s}
    if band.p90_s is not None:
        numbers["p90_s"] = band.p90_s
    if band.p90_s is not None and band.p50_s is not None and seconds - doubt > band.p90_s:
        return Finding(
            kind=f"long_{phase.phase}",
            text=_long(phase, band.burial, name, (duration(seconds), about(band.p10_s), about(band.p90_s))),
            numbers=numbers,
            searcher=searcher,
            burial=phase.burial,
            phase=phase.phase,
            at_s=phase.start_s,
            minutes=(seconds - band.p50_s) / 60.0,
            confidence=CLEAR if seconds - 2.0 * doubt > band.p90_s else LIKELY,
        )
    if seconds + doubt < band.p10_s:
        high = None if band.p90_s is None else about(band.p90_s)
        return Finding(
            kind=f"quick_{phase.phase}",
            text=_quick(phase, band.burial, name, (duration(seconds), about(band.p10_s), high)),
            numbers=numbers,
            searcher=searcher,
            burial=phase.burial,
            phase=phase.phase,
            at_s=phase.start_s,
            praise=True,
        )
    return None


def _long(phase: Phase, burial: str, name: Value, times: tuple[Quantity, Quantity, Quantity]) -> Message:
    time, low, high = times
    if phase.phase == "dig":
        return message("finding.long_dig", burial=burial, who=name, time=time, low=low, high=high)
    took = _TOOK[phase.phase]
    return message("finding.long_phase", phase=took, burial=burial, name=name, time=time, low=low, high=high)


def _quick(
    phase: Phase, burial: str, name: Value, times: tuple[Quantity, Quantity, Quantity | None]
) -> Message:
    time, low, high = times
    took = _TOOK[phase.phase]
    if phase.phase == "dig":
        if high is None:
            return message("finding.quick_dig_open", burial=burial, who=name, time=time, low=low)
        return message("finding.quick_dig", burial=burial, who=name, time=time, low=low, high=high)
    if high is None:
        return message("finding.quick_phase_open", phase=took, burial=burial, name=name, time=time, low=low)
    return message("finding.quick_phase", phase=took, burial=burial, name=name, time=time, low=low, high=high)


def against_standards(
    seconds: float,
    doubt: float,
    what: str,
    standards: Sequence[Standard],
    *,
    searcher: str | None,
    burial: str | None,
) -> list[Finding]:
    """Return a finding for each standard on `what` that is met or missed by more than the uncertainty."""
    found = []
    for standard in standards:
        if standard.what != what or abs(seconds - standard.most_s) <= doubt:
            continue
        met = seconds < standard.most_s
        took, limit = duration(seconds), duration(standard.most_s)
        text = message("finding.standard", what=_TOOK[what], time=took, standard=limit)
        if burial:
            text = message("finding.standard_of", what=_TOOK[what], burial=burial, time=took, standard=limit)
        found.append(
            Finding(
                kind="standard_met" if met else "standard_missed",
                text=text,
                numbers={"seconds": seconds, "standard_s": standard.most_s, "uncertainty_s": doubt},
                searcher=searcher,
                burial=burial,
                phase=what,
                minutes=None if met else (seconds - standard.most_s) / 60.0,
                praise=met,
            )
        )
    return found


def minutes_once(found: Sequence[Finding]) -> list[Finding]:
    """Return findings without counting the same minutes twice.

    If a phase is longer than in rehearsals and also misses a standard, the finding with more minutes keeps
    them, and the other one is noted without.
    """
    most: dict[tuple[str | None, str | None, str | None], float] = {}
    for one in found:
        of = (one.phase, one.searcher, one.burial)
        most[of] = max(most.get(of, 0.0), one.minutes or 0.0)
    kept = []
    for one in found:
        of = (one.phase, one.searcher, one.burial)
        told = one.minutes is not None and one.minutes > 0.0
        kept.append(replace(one, minutes=None) if told and one.minutes != most[of] else one)
        if told and one.minutes == most[of]:
            most[of] = float("inf")
    return kept


def earlier_phases(runs: Sequence[EarlierRun]) -> tuple[EarlierPhase, ...]:
    """Return the durations of each phase in earlier runs of a group.

    Every finished phase of every person at a burial counts once.
    """
    seconds: dict[str, list[float]] = {phase: [] for phase in PHASES}
    for run in runs:
        for one in run.phases:
            if one.burial is not None and one.phase in seconds:
                seconds[one.phase].append(one.end_s - one.start_s)
    return tuple(
        EarlierPhase(phase=phase, times=len(values), best_s=min(values), p50_s=float(np.median(values)))
        for phase, values in seconds.items()
        if values
    )
