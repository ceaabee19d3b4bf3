"""Scripted runs with known flaws: late turns, detours, wrong ways, haste, people idle or in a crowd, gaps.

Every flaw is drawn independently; about half of everything is done well. The result has the form of a played
run.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np
from debrief_trials import TUNING, WIDTH_M, Trial, debriefed_trial, draw_burial, people

from coldfield.beacon.fluxline import walked_flux_line
from coldfield.beacon.hearing import Sources, hear, sources_of
from coldfield.drill import Drill
from coldfield.drill.terrain import Plane
from coldfield.rescue.played import BurialTimes, Played, Trace
from made_walks import drill
from recorded_tracks import BOWL

SPEED_M_S = 1.1
EVEN, GAPPED = (7.0, 22.0, 37.0, 52.0), (4.0, 11.0, 49.0, 56.0)


@dataclass
class Way:
    """What one person does, as points with times and phases."""

    who: str
    t_s: list[float] = field(default_factory=list)
    place_m: list[np.ndarray] = field(default_factory=list)
    phase: list[str] = field(default_factory=list)

    def add(self, t_s: float, place_m: np.ndarray, phase: str) -> None:
        """Add a place and time, and the phase from then on."""
        self.t_s.append(float(t_s))
        self.place_m.append(np.asarray(place_m, dtype=float))
        self.phase.append(phase)

    def trace(self) -> Trace:
        """Return the path as a played trace."""
        way = np.array(self.place_m)
        return Trace(
            searcher=self.who,
            t_s=np.array(self.t_s),
            east_m=way[:, 0],
            north_m=way[:, 1],
            phase=tuple(self.phase),
        )


def flawed_trial(family: int, number: int) -> Trial | None:
    """Return a scripted run, recorded and debriefed; None if its lanes give none."""
    rng = np.random.default_rng([family, 1, number])
    slope = float(np.radians(rng.uniform(0, 15)))
    first = (float(rng.uniform(10, 50)), float(rng.uniform(25, 45)))
    second = (float(rng.uniform(10, 50)), float(rng.uniform(58, 75)))
    burials = (draw_burial(rng, "A", first), draw_burial(rng, "B", second))
    site = replace(BOWL, slope_rad=slope, aspect_rad=float(np.pi))
    planned = replace(drill(*burials, site=site, strip_width_m=WIDTH_M), searchers=people(["practised"] * 4))
    made = Script(planned, rng).run()
    return None if made is None else debriefed_trial(planned, made[0], 0.0, rng, made[1])


class Script:
    """Four people on four lanes; the first to hear a set follows it, the others search on, then help."""

    def __init__(self, planned: Drill, rng: np.random.Generator) -> None:
        self.drill, self.rng = planned, rng
        self.terrain = Plane.of(planned.site)
        self.sources = sources_of(planned.burials, self.terrain)
        self.flaws: list[tuple[str, str]] = []
        gapped = rng.random() < 0.4
        self.lanes = GAPPED if gapped else EVEN
        if gapped:
            self.flaws.append(("gap", ""))

    def lane_at(self, i: int, t: np.ndarray | float) -> np.ndarray:
        """Return where person i is on the lane."""
        y = np.minimum(SPEED_M_S * np.asarray(t) - 6.0, 84.0)
        return np.stack([np.full(np.shape(y), self.lanes[i]), y], axis=-1)

    def run(self) -> tuple[Played, tuple[tuple[str, str], ...]] | None:
        """Return the run and its flaws."""
        t = np.arange(0.0, 80.0, 0.5)
        pairs = []
        for i in range(4):
            heard = hear(
                self.sources,
                self.drill.searchers[i].receiver,
                self.terrain.at(self.lane_at(i, t), np.ones(t.size)),
            ).audible
            pairs += [(float(t[heard[:, k].argmax()]), i, k) for k in (0, 1) if heard[:, k].any()]
        chases: dict[int, tuple[int, float]] = {}
        for onset, i, k in sorted(pairs):
            if i not in chases and k not in {k for k, _ in chases.values()}:
                chases[i] = (k, onset)
        if len(chases) < 2:
            return None
        ways, times = {}, {}
        for i, (k, onset) in chases.items():
            done = self.chase(i, k, onset)
            if done is None:
                return None
            ways[i], times[k] = done
        for i in set(range(4)) - set(chases):
            ways[i] = self.other(i, times)
        end = max(one.airway_s for one in times.values()) + 20.0
        for way in ways.values():
            way.add(end, way.place_m[-1], way.phase[-1])
        return (
            Played(
                run=0,
                seed=TUNING,
                burials=tuple(times[k] for k in sorted(times)),
                traces=tuple(ways[i].trace() for i in range(4)),
                end_s=end,
                events=0,
            ),
            tuple(self.flaws),
        )

    def chase(self, i: int, k: int, onset_s: float) -> tuple[Way, BurialTimes] | None:
        """Return one person's approach to a burial, with or without flaws."""
        rng, who, burial = self.rng, f"s{i + 1}", self.drill.burials[k]
        late = rng.random() < 0.4
        reaction = float(rng.uniform(15, 45)) if late else float(rng.uniform(3, 6))
        turn = onset_s + reaction
        start = self.lane_at(i, turn)
        if late:
            self.flaws.append(("late_turn", who))
        one = Sources((burial.id,), self.sources.point_m[[k]], self.sources.moment_am2[[k]])
        line = walked_flux_line(one, 0, self.terrain, start, self.drill.searchers[i].receiver)
        if line.ended != "reading of 3 m" or line.length_m < 12.0:
            return None
        way = Way(who)
        way.add(0.0, self.lane_at(i, 0.0), "signal")
        way.add(turn, start, "coarse")
        t, places = self.follow(who, np.asarray(line.line_m), turn + 2.0, way)
        for moment, place in zip(t, places, strict=True):
            way.add(moment, place, "coarse")
        fine = float(t[-1])
        place = np.array(burial.position_m)
        way.phase[-1] = "fine"
        way.add(fine + 22.0, place + rng.normal(0, 0.3, 2), "probe")
        way.add(fine + 50.0, place + rng.normal(0, 0.3, 2), "dig")
        reading_10 = np.linalg.norm(np.array(places) - place, axis=1) <= 9.0
        return way, BurialTimes(
            burial=burial.id,
            first_signal_s=onset_s,
            turn_s=turn,
            within_10_m_s=float(t[reading_10.argmax()]) if reading_10.any() else fine,
            fine_start_s=fine,
            lowest_reading_s=fine + 22.0,
            probe_strike_s=fine + 50.0,
            airway_s=fine + 50.0 + float(rng.uniform(150, 350)),
            finder=who,
        )

    def follow(self, who: str, line: np.ndarray, start_s: float, way: Way) -> tuple[np.ndarray, np.ndarray]:
        """Return times and places from the turn to a reading of 3 m: straight, bowed, or first wrong."""
        rng = self.rng
        flaw = rng.choice(["", "", "long_way", "wrong_way"])
        length = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(line, axis=0), axis=1))])
        along = np.linspace(0.0, length[-1], 60)
        places = np.column_stack([np.interp(along, length, line[:, j]) for j in (0, 1)])
        if flaw == "long_way":
            chord = places[-1] - places[0]
            side = np.array([-chord[1], chord[0]]) / np.linalg.norm(chord)
            bow = float(rng.uniform(0.25, 0.6)) * float(length[-1]) * float(rng.choice([-1, 1]))
            places = places + np.sin(np.pi * along / along[-1])[:, None] * bow * side
            self.flaws.append(("long_way", who))
        elif flaw == "wrong_way":
            back = (places[0] - places[3]) / np.linalg.norm(places[0] - places[3])
            far = places[0] + float(rng.uniform(8, 20)) * back
            places = np.vstack([places[0], far, places])
            self.flaws.append(("wrong_way", who))
        steps = np.linalg.norm(np.diff(places, axis=0), axis=1)
        hasty = rng.random() < 0.3
        if hasty:
            self.flaws.append(("fast_near", who))
        near = np.linalg.norm(places[1:] - line[-1], axis=1) < 8.0
        speed = np.where(near, 1.5 if hasty else 0.5, 1.1)
        return start_s + np.concatenate([[0.0], np.cumsum(steps / speed)]), places

    def other(self, i: int, times: dict[int, BurialTimes]) -> Way:
        """Search on until the first strike; then help, crowd, or stand about."""
        rng, who = self.rng, f"s{i + 1}"
        first = min(times.values(), key=lambda one: one.probe_strike_s)
        place = np.array(self.drill.burials["AB".index(first.burial)].position_m)
        way = Way(who)
        way.add(0.0, self.lane_at(i, 0.0), "signal")
        stop = first.probe_strike_s
        lane_end = 90.0 / SPEED_M_S
        if stop > lane_end:
            way.add(lane_end, self.lane_at(i, lane_end), "wait")
        here = self.lane_at(i, stop)
        if rng.random() < 0.4:
            way.add(stop, here, "wait")
            self.flaws.append(("idle", who))
            return way
        way.add(stop, here, "walk")
        there = place + rng.normal(0, 1.2, 2)
        way.add(stop + float(np.linalg.norm(there - here)) / 1.2, there, "dig")
        return way
