"""Runs with known truth for trials of the debrief: drawn, played or scripted, recorded with errors."""

from __future__ import annotations

import sys
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

sys.path.append(str(Path(__file__).parents[1] / "tests"))

from coldfield.app.debriefs.from_files import Debriefed, RunFiles, debrief
from coldfield.debrief.tracks.device_noise import record
from coldfield.drill import SKILLS, Burial, Drill, Receiver, Searcher, Split, Splits
from coldfield.drill.frame import SiteFrame
from coldfield.drill.recorded import Recorded
from coldfield.rescue.played import Played
from coldfield.rescue.player.play import play
from coldfield.search.lanes.plan import plan_lanes
from made_walks import burial, drill
from recorded_tracks import BOWL, NOON, VARDHOLM

WIDTH_M = 24.0
TUNING, JUDGING = 6, 2041
"""Families of seeds: settings were chosen with the first only, the report uses the second."""

SPLITS = (
    ("within_10_m", "within_10_m_s"),
    ("lowest_reading", "lowest_reading_s"),
    ("probe_strike", "probe_strike_s"),
    ("airway_clear", "airway_s"),
)


@dataclass(frozen=True, eq=False)
class Trial:
    """One run with its truth, its recordings, its debrief, and the error of the keeper's clock."""

    drill: Drill
    played: Played
    debriefed: Debriefed
    late_s: float
    flaws: tuple[tuple[str, str], ...] = ()


def draw_drill(rng: np.random.Generator) -> Drill:
    """Return a drill on a slope of 60 by 80 m with one or two burials and two or three searchers."""
    site = replace(BOWL, slope_rad=float(np.radians(rng.uniform(0, 20))), aspect_rad=float(np.pi))
    burials: list[Burial] = []
    for name in "AB"[: int(rng.integers(1, 3))]:
        place = (float(rng.uniform(8, 52)), float(rng.uniform(25, 72)))
        one = draw_burial(rng, name, place)
        if not burials or np.hypot(*np.subtract(place, burials[0].position_m)) >= 15:
            burials.append(one)
    skills = rng.choice(["novice", "practised", "expert"], int(rng.integers(2, 4)))
    return replace(drill(*burials, site=site, strip_width_m=WIDTH_M), searchers=people(skills))


def draw_burial(rng: np.random.Generator, name: str, place: tuple[float, float]) -> Burial:
    """Return a burial at a place: direction, depth, period and phase are drawn."""
    one = burial(
        name,
        place,
        azimuth_deg=float(rng.uniform(0, 360)),
        tilt_deg=float(np.degrees(np.arcsin(rng.uniform(-0.8, 0.8)))),
        depth_m=float(rng.uniform(0.4, 1.4)),
    )
    assert one.transmitter is not None
    pulses = replace(one.transmitter, period_s=float(rng.uniform(0.9, 1.1)), phase_s=float(rng.uniform(0, 1)))
    return replace(one, transmitter=pulses)


def people(skills: Any) -> tuple[Searcher, ...]:
    """Return searchers s1, s2 ... of these skills, with receivers of 40 m."""
    return tuple(
        Searcher(id=f"s{i}", name=f"Person {i}", skill=SKILLS[one], receiver=Receiver(coaxial_range_m=40.0))
        for i, one in enumerate(skills, start=1)
    )


def played_trial(family: int, number: int) -> Trial:
    """Play a drawn drill with the searcher model and debrief it; every fourth keeper's clock is wrong."""
    rng = np.random.default_rng([family, number])
    planned = draw_drill(rng)
    lanes = plan_lanes(planned.site, planned.searchers, strip_width_m=WIDTH_M)
    played = play(planned, lanes, seed=family, run=number)
    late = float(rng.choice([-1, 1]) * rng.uniform(60, 300)) if number % 4 == 0 else 0.0
    return debriefed_trial(planned, played, late, rng)


def debriefed_trial(
    planned: Drill,
    played: Played,
    late_s: float,
    rng: np.random.Generator,
    flaws: tuple[tuple[str, str], ...] = (),
) -> Trial:
    """Record everybody who walked, keep the splits, and debrief the run."""
    recorded = [recorded_trace(trace, rng) for trace in played.traces if trace.t_s[-1] > trace.t_s[0]]
    left_out = rng.choice(["", "", "within_10_m", "lowest_reading"])  # keepers do not record all of them
    splits = splits_of(played, late_s, left_out=str(left_out))
    run = RunFiles(drill=planned, recorded=tuple(recorded), splits=splits)
    return Trial(planned, played, debrief(run), late_s, flaws)


def recorded_trace(trace: Any, rng: np.random.Generator) -> Recorded:
    """Return a true trace as recorded by a device with errors, from some time before the alarm.

    Before the alarm people stand at the start; every third one steps about there.
    """
    t, place = before_alarm(trace, rng)
    moments, places = record(
        t,
        place,
        rng=rng,
        interval_s=float(rng.choice([0.2, 1.0, 1.0, 2.0, 5.0, 10.0])),
        white_m=float(rng.uniform(0.2, 1.5)),
        bias_m=float(rng.uniform(1.0, 8.0)),
        correlation_s=float(rng.uniform(100.0, 600.0)),
        dropouts_per_h=float(rng.choice([0.0, 20.0])),
    )
    lat, lon = SiteFrame(VARDHOLM).to_wgs84(places)
    return Recorded(
        file=f"{trace.searcher}.gpx",
        name="",
        unix_s=moments + NOON,
        place=np.column_stack([lat, lon]),
        segment=np.zeros(moments.size, dtype=np.int64),
        simulated=True,
    )


def before_alarm(trace: Any, rng: np.random.Generator) -> tuple[np.ndarray, np.ndarray]:
    """Return times and places of a trace, preceded by the minutes before the alarm."""
    start = -float(rng.uniform(30, 400))
    steps = np.sort(rng.uniform(start, 0.0, int(rng.integers(2, 12)))) if rng.random() < 0.33 else np.zeros(0)
    way = np.column_stack([trace.east_m, trace.north_m])
    about = way[0] + rng.normal(0.0, 2.0, (steps.size, 2))
    t = np.concatenate([[start], steps, trace.t_s])
    return t, np.vstack([way[:1], about, way])


def splits_of(played: Played, late_s: float, *, left_out: str = "") -> Splits:
    """Return the splits of a keeper, to the second, by a clock that is `late_s` slow."""
    rows = [Split(split="alarm", time_unix_s=NOON + late_s)]
    for times in played.burials:
        for kind, name in SPLITS:
            moment = getattr(times, name)
            if np.isfinite(moment) and times.finder is not None and kind != left_out:
                who = times.finder if kind != "airway_clear" else None
                at = NOON + round(moment) + late_s
                rows.append(Split(split=kind, searcher=who, burial=times.burial, time_unix_s=at))
    return Splits(rows=tuple(sorted(rows, key=lambda r: r.time_unix_s or 0.0)))
