"""Trials of the debrief with a second walker and device (debrief_walkers.py).

    python design/debrief_second.py [tune|judge] [runs] [first number] [processes]

Runs with flaws go in turn through the kernels of drift, rough and smooth and, of every fifth run, a phone
that lags and freezes; every fourth run has anchors visited before and after; every third keeper's clock is
one to five minutes off. Half as many runs have perfect walkers alone. Settings were chosen with 'tune'.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import Any

sys.path.append(str(Path(__file__).parent))

import numpy as np
from debrief_counts import Counts, report
from debrief_devices import recorded_by
from debrief_walkers import WIDTH_M, draw_run
from debrief_walks import Chase, TrueRun, Walk

from coldfield.app.answers import said
from coldfield.app.debriefs.from_files import Debriefed, RunFiles, debrief
from coldfield.beacon.hearing import Heard, Sources, hear, sources_of
from coldfield.beacon.receiver import raw_reading_m
from coldfield.debrief.approach.best_lines import best_line
from coldfield.debrief.ground.sweep import swept_ground
from coldfield.debrief.tracks.lengths import standing
from coldfield.drill import Split, Splits
from coldfield.drill.terrain import Plane
from recorded_tracks import NOON

FAMILIES = {"tune": 11, "judge": 2040}
GRAIN_S = 1.0
CLAIMS = {
    "late_turn": ("seconds", 10.0),
    "wrong_way": ("length_m", 4.0),
    "fast_near": ("speed_m_s", 0.8),
    "idle": ("seconds", 60.0),
}
ALONG_RAD = float(np.radians(25.0))


@dataclass(frozen=True, eq=False)
class Judged:
    """One run with its truth and its debrief."""

    true: TrueRun
    debriefed: Debriefed
    document: dict[str, Any]
    late_s: float
    kernel: str
    anchored: bool
    number: int

    @property
    def shift_s(self) -> float:
        """What to add to the debrief's moments to get true ones, s."""
        return self.late_s + float(self.document["run"]["splits_shift_s"])

    def person(self, who: str) -> dict[str, Any]:
        """Return what the debrief says about a person."""
        return next(s for s in self.document["searchers"] if s["id"] == who)

    def walk(self, who: str) -> Walk:
        """Return what the person truly did."""
        return next(w for w in self.true.walks if w.who == who)

    def chase(self, who: str | None, burial: str | None) -> Chase | None:
        """Return the true way of a person to a burial, if there is one."""
        return next((c for c in self.true.chases if (c.who, c.burial) == (who, burial)), None)


def judged_run(family: int, number: int, *, perfect: bool = False) -> Judged | None:
    """Return one run, recorded and debriefed."""
    rng = np.random.default_rng([family, int(perfect), number])
    anchored = number % 4 == 3
    kernel = (
        "phone"
        if number % 5 == 4 and not perfect
        else ("rough", "smooth")[number % 2 if perfect else (number // 4 + number) % 2]
    )
    true = draw_run(rng, perfect=perfect, anchored=anchored)
    if true is None:
        return None
    late_s = float(rng.choice([-1, 1]) * rng.uniform(60, 300)) if number % 3 == 0 else 0.0
    recorded = tuple(recorded_by(walk, kernel, rng) for walk in true.walks)
    run = RunFiles(drill=true.drill, recorded=recorded, splits=splits_of(true, late_s, rng))
    made = debrief(run)
    return Judged(true, made, said(made.document), late_s, kernel, anchored, number)


def splits_of(true: TrueRun, late_s: float, rng: np.random.Generator) -> Splits:
    """Return the splits as a keeper pressed them: up to 3 s late, to the second, by a clock of their own."""
    rows = [Split(split="alarm", time_unix_s=NOON + late_s)]
    for c in true.chases:
        for kind, moment in (
            ("lowest_reading", c.low_s),
            ("probe_strike", c.strike_s),
            ("airway_clear", c.clear_s),
        ):
            if np.isfinite(moment) and not (kind == "lowest_reading" and rng.random() < 0.25):
                at = NOON + round(moment + float(rng.uniform(0, 3))) + late_s
                who = c.who if kind != "airway_clear" else None
                rows.append(Split(split=kind, searcher=who, burial=c.burial, time_unix_s=at))
    return Splits(rows=tuple(sorted(rows, key=lambda r: r.time_unix_s or 0.0)))


def heard_on(one: Judged, who: str, burial: str) -> tuple[np.ndarray, np.ndarray]:
    """Return the seconds of a true walk from the alarm on, and whether a set was audible at each."""
    walk = one.walk(who)
    at = (walk.t_s >= 0.0) & (walk.t_s <= one.document["run"]["end_s"] + one.shift_s)
    return walk.t_s[at], np.asarray(heard_at(one, who, burial, walk.place_m[at]).audible[:, 0])


def heard_at(one: Judged, who: str, burial: str, place: np.ndarray) -> Heard:
    """Return what somebody's receiver truly made of one set at places (n, 2)."""
    terrain = Plane.of(one.true.drill.site)
    sources = sources_of(one.true.drill.burials, terrain)
    k = sources.ids.index(burial)
    only = Sources((burial,), sources.point_m[[k]], sources.moment_am2[[k]])
    point = terrain.at(place, np.ones(len(place)))
    return hear(only, one.true.receiver, point)


def since_s(one: Judged, chase: Chase) -> float:
    """Return since when the set was truly audible before the turn, s; silences of up to 5 s do not count."""
    t, heard = heard_on(one, chase.who, chase.burial)
    at = np.flatnonzero(heard & (t <= chase.turn_s))
    if not at.size:
        return float("nan")
    breaks = np.flatnonzero(np.diff(at) > 6)
    return float(t[at[breaks[-1] + 1] if breaks.size else at[0]])


def compare(one: Judged, counts: Counts) -> None:
    """Count the numbers of a debrief against the truth."""
    shift, run = one.shift_s, one.document["run"]
    counts.add("clock of the splits", shift, run["splits_shift_uncertainty_s"])
    if one.late_s:
        counts.add("clock, where it was off", shift, run["splits_shift_uncertainty_s"])
    for chase in one.true.chases:
        for way in one.person(chase.who)["approaches"]:
            if way["burial"] != chase.burial:
                continue
            counts.add("turn", way["turn_s"] + shift - chase.turn_s, way["turn_uncertainty_s"])
            counts.add(
                "reading of 3 m",
                way["reading_3_m_s"] + shift - chase.fine_s,
                way["reading_3_m_uncertainty_s"],
            )
            if way["audible_s"] is not None and np.isfinite(true := since_s(one, chase)):
                counts.add("first audible", way["audible_s"] + shift - true, way["audible_uncertainty_s"])
    for walk in one.true.walks:
        person = one.person(walk.who)
        for told in person["audible"]:
            t, heard = heard_on(one, walk.who, told["burial"])
            counts.add("audible seconds", told["seconds"] - float(heard.sum()), told["uncertainty_s"])
            if told["from_s"] is not None and heard.any():
                counts.add(
                    "audible from",
                    told["from_s"] + shift - float(t[heard.argmax()]),
                    told["from_uncertainty_s"],
                )
        counts.add(
            "length",
            person["track"]["length_m"] - true_length_m(one, walk),
            person["track"]["length_uncertainty_m"],
        )
    places(one, counts)
    counts.add(
        "swept share",
        one.document["swept_fraction"] - swept(one)[0],
        one.document["swept_fraction_uncertainty"],
    )


def places(one: Judged, counts: Counts) -> None:
    """Compare places and short ways with the truth; everything else follows from them."""
    for who, listener in one.debriefed.debriefing.listeners.items():
        ways, walk = listener.ways, one.walk(who)
        for t in np.arange(20.0, min(ways.t_s[-1] - 10.0, 300.0), 45.0):
            at = t + one.shift_s
            true = [
                np.array([np.interp(at + s, walk.t_s, walk.place_m[:, axis]) for axis in (0, 1)])
                for s in (0.0, 8.0)
            ]
            here, there = (ways.at(np.array([t + s]))[:, 0] for s in (0.0, 8.0))
            for row, drawn, truth in (
                ("place", here, true[0]),
                ("way of 8 s", there - here, true[1] - true[0]),
            ):
                middle, spread = np.median(drawn, axis=0), 1.96 * np.std(drawn, axis=0)
                counts.add(f"{row}, {one.kernel}", float(middle[0] - truth[0]), float(spread[0]))


def true_length_m(one: Judged, walk: Walk) -> float:
    """Return the truly walked length on the snow within the run, standing taken out."""
    at = (walk.t_s >= one.shift_s) & (walk.t_s <= one.document["run"]["end_s"] + one.shift_s)
    on_snow = Plane.of(one.true.drill.site).to_snow(walk.place_m[at])
    still = standing(on_snow, 0.0)
    step = np.linalg.norm(np.diff(on_snow, axis=0), axis=1)
    return float(step[~still[1:] | ~still[:-1]].sum())


def swept(one: Judged) -> tuple[float, Any]:
    """Return the share of the ground truly swept, by people on their lanes, and the ground."""
    paths = {}
    fine = [c.fine_s for c in one.true.chases]
    over = max(fine) if len(fine) == len(one.true.drill.burials) else np.inf  # no search once all are reached
    for walk in one.true.walks:
        lane = (
            np.array([s in ("lane", "reacts") for s in walk.states]) & (walk.t_s >= 0.0) & (walk.t_s <= over)
        )
        at = np.flatnonzero(lane)
        pieces = np.split(at, np.flatnonzero(np.diff(at) > 1) + 1)
        paths[walk.who] = [walk.place_m[p] for p in pieces if len(p)]
    ground = swept_ground(
        one.true.drill.site,
        paths,
        Plane.of(one.true.drill.site),
        strip_width_m=WIDTH_M,
        accuracy_m=dict.fromkeys(paths, 3.0),
    )
    return ground.fraction, ground


def findings(one: Judged, counts: Counts) -> None:
    """Count the findings of a debrief that the truth can judge, and which flaws they tell."""
    for finding in one.document["findings"]:
        if (size := true_size(one, finding)) is None:
            continue
        truly, claimed = size
        wrong = counts.wrong_of_phones if one.kernel == "phone" else counts.wrong
        wrong[finding["kind"]].append(truly < claimed)
        if truly < claimed:
            counts.lines.append(
                f"{one.number} {one.kernel}: {finding['kind']} {truly:.2f} < {claimed:.2f}: {finding['text']}"
            )
    for kind, row, who, burial, at_s in flaws(one):
        told = False
        for f in one.document["findings"]:
            if f["kind"] == kind and f["searcher"] == who and f["burial"] in (None, burial):
                name, least = CLAIMS[kind]
                told |= f["numbers"][name] >= least and abs(f["at_s"] + one.shift_s - at_s) <= 15.0
        counts.told[row, one.kernel].append(told)
        if one.anchored and one.kernel != "phone":
            counts.told[row, "anchors visited"].append(told)


def flaws(one: Judged) -> Iterator[tuple[str, str, str, str | None, float]]:
    """Yield the flaws that people truly made: kind, row, who, burial, moment."""
    for chase in one.true.chases:
        mine = one.walk(chase.who).flaws
        since = since_s(one, chase)
        if "late_turn" in mine and chase.turn_s - since >= 19.0 and since > 3.0:
            row = "late_turn" if chase.between_rad > ALONG_RAD else "late_turn, line along the lane"
            yield "late_turn", row, chase.who, chase.burial, since
        if chase.wrong_m >= 7.9:
            row = "wrong_way" if chase.farther_m >= 4.0 else "wrong_way, hardly farther from the set"
            yield "wrong_way", row, chase.who, chase.burial, chase.wrong_s
        if "fast_near" in mine and chase.near_m_s >= 1.1:
            yield "fast_near", "fast_near", chase.who, chase.burial, chase.fine_s
    for who, (start, _) in one.true.idle_s.items():
        yield "idle", "idle", who, None, start


def true_size(one: Judged, finding: dict[str, Any]) -> tuple[float, float] | None:
    """Return the true size of what a finding claims, and the claimed size less the grain."""
    kind, numbers, shift = finding["kind"], finding["numbers"], one.shift_s
    chase = one.chase(finding["searcher"], finding["burial"])
    if kind == "idle":
        return idle_s(one, finding["searcher"]), numbers["seconds"] - 5.0
    if kind == "gap":
        _, ground = swept(one)
        x, y = finding["position_m"]
        column, row = (int((v - o) / ground.cell_m) for v, o in zip((x, y), ground.origin_m, strict=True))
        reach = max(1, int(numbers["width_m"] / 6.0))
        box = ground.times[max(row - reach, 0) : row + reach + 1, max(column - reach, 0) : column + reach + 1]
        return float((box == 0).mean()), 0.5
    if kind == "swept_all":
        return swept(one)[0], 0.95
    if kind not in CHASED or (finding["searcher"], finding["burial"]) in one.true.unfinished:
        return None
    if chase is None:  # a way to a burial that the person never took
        return 0.0, 1.0
    if kind in ("late_turn", "quick_turn"):
        truly = chase.turn_s - since_s(one, chase)
        return (
            (truly, numbers["seconds"] - GRAIN_S)
            if kind == "late_turn"
            else (numbers["seconds"] + GRAIN_S, truly)
        )
    if kind == "wrong_way":
        return gone_away_m(one, chase), numbers["length_m"] - 0.5
    if kind == "fast_near":
        return near_m_s(one, chase), numbers["speed_m_s"] - 0.05
    if kind == "order":
        start = one.walk(chase.who).place_m[int(chase.turn_s - one.walk(chase.who).t_s[0])]
        far, near = (
            float(np.linalg.norm(start - b.position_m))
            for b in sorted(one.true.drill.burials, key=lambda b: b.id != chase.burial)
        )
        return far - near, 0.0
    ratio = true_ratio(one, chase, finding["at_s"] + shift)
    return (ratio, numbers["ratio"] - 0.03) if kind == "long_way" else (numbers["ratio"] + 0.03, ratio)


CHASED = ("late_turn", "quick_turn", "long_way", "straight_line", "wrong_way", "fast_near", "order")


def idle_s(one: Judged, who: str) -> float:
    """Return how long somebody truly stood idle: not on a lane, a way or at work."""
    walk = one.walk(who)
    idle = np.array([s in ("idles", "done", "waits") for s in walk.states]) & (walk.t_s >= 0.0)
    return float(idle.sum())


def near_m_s(one: Judged, chase: Chase) -> float:
    """Return how fast somebody truly walked from where the reading last fell to 10 m to the fine search, m/s.

    Measured straight from place to place. Somebody who turns late may be near before the turn. The result is
    the faster of two: over the whole way, with the stop at the turn, and after the turn alone.
    """
    walk = one.walk(chase.who)
    at = (walk.t_s >= chase.turn_s - 60.0) & (walk.t_s <= chase.fine_s)
    t, place = walk.t_s[at], walk.place_m[at]
    size = heard_at(one, chase.who, chase.burial, place).magnitude_a_per_m[:, 0]
    far = np.flatnonzero(raw_reading_m(one.true.receiver, size) > 10.0)
    first = min(int(far[-1]) + 1 if far.size else 0, len(t) - 2)
    whole = float(np.linalg.norm(place[-1] - place[first])) / max(float(t[-1] - t[first]), 1.0)
    return max(whole, chase.near_m_s)


def gone_away_m(one: Judged, chase: Chase) -> float:
    """Return how far somebody truly went away from the set between turn and fine search, straight, m.

    It need not be a flaw: somebody who follows the line past a set goes away from it, too.
    """
    walk = one.walk(chase.who)
    place = walk.place_m[(walk.t_s >= chase.turn_s) & (walk.t_s <= chase.fine_s)]
    burial = next(b for b in one.true.drill.burials if b.id == chase.burial)
    away = np.linalg.norm(place - np.array(burial.position_m), axis=1)
    rise = away - np.minimum.accumulate(away)
    top = int(rise.argmax())
    start = int(away[: top + 1].argmin())
    return max(chase.wrong_m, float(np.linalg.norm(place[top] - place[start])))


def true_ratio(one: Judged, chase: Chase, start_s: float) -> float:
    """Return the truly walked length from the turn to the reading of 3 m over that of the flux line."""
    terrain = Plane.of(one.true.drill.site)
    walk = one.walk(chase.who)
    t = np.arange(chase.turn_s, chase.fine_s, 1.0)
    way = np.column_stack([np.interp(t, walk.t_s, walk.place_m[:, axis]) for axis in (0, 1)])
    sources = sources_of(one.true.drill.burials, terrain)
    line = best_line(sources, sources.ids.index(chase.burial), terrain, way[0], one.true.receiver)
    return np.nan if line is None else terrain.length_m(way) / max(line.length_m, 5.0)


def trial(family: int, runs: int, first: int = 0, processes: int = 1) -> Counts:
    """Return the counts of `runs` runs with flaws and half as many with perfect walkers."""
    numbers = range(first, first + runs)
    counts = Counts()
    if processes == 1:
        for number in numbers:
            counts.take_in(counted(family, number))
        return counts
    with ProcessPoolExecutor(processes) as pool:
        for one in pool.map(counted, [family] * runs, numbers, chunksize=4):
            counts.take_in(one)
    return counts


def counted(family: int, number: int) -> Counts:
    """Return the counts of one run with flaws and, of every second number, one of perfect walkers."""
    counts = Counts()
    count_flawed(family, number, counts)
    if number % 2 == 0:
        count_perfect(family, number // 2, counts)
    return counts


def count_flawed(family: int, number: int, counts: Counts) -> None:
    """Count one run with flaws."""
    one = judged_run(family, number)
    if one is not None:
        findings(one, counts)
        if one.kernel != "phone":
            compare(one, counts)


def count_perfect(family: int, number: int, counts: Counts) -> None:
    """Count one run of four perfect walkers."""
    one = judged_run(family, number, perfect=True)
    if one is not None:
        blamed = [f for f in one.document["findings"] if not f["praise"] and f["searcher"] is not None]
        for walk in one.true.walks:
            counts.criticised[one.kernel].append(any(f["searcher"] == walk.who for f in blamed))
        counts.lines += [f"perfect {one.number} {one.kernel}: {f['kind']}: {f['text']}" for f in blamed]
        findings(one, counts)
        compare(one, counts)


if __name__ == "__main__":
    words = [*sys.argv[1:], *("tune", "40", "0", "1")[len(sys.argv) - 1 :]]
    print("\n".join(report(trial(FAMILIES[words[0]], *(int(word) for word in words[1:])))))
