"""A second walker and device, apart from the searcher model and from the debrief's beliefs about both.

Everybody goes step by step, twice a second: waits, walks a lane with a weave and a speed of their own, turns
for a set, follows the direction as read with errors of the hand, searches finely, probes, digs, or helps.
Flaws are drawn one by one; perfect runs have none. The devices are those of debrief_devices.py.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from debrief_trials import draw_burial
from debrief_walks import Chase, TrueRun, Walk, Walker

from coldfield.beacon.field import harmonic_dipole_field
from coldfield.beacon.hearing import Sources, hear, line_azimuth_rad, sources_of
from coldfield.beacon.receiver import raw_reading_m
from coldfield.drill import SKILLS, Anchor, Drill, Receiver, Searcher, Site
from coldfield.drill.terrain import Plane
from made_walks import drill
from recorded_tracks import BOWL

TICK_S = 0.5
OUTSIDE_M = 20.0
WIDTH_M = 24.0
RANGE_M, RANGE_SPREAD = 40.0, 0.03
"""Range of the receivers in the drill, and how far the true one is from it, as the debrief expects."""
ANCHORS = (Anchor(name="cairn", position_m=(-6.0, -4.0)), Anchor(name="pole", position_m=(66.0, -4.0)))
SHORT_M = 18.0
"""Finders who first hear a set nearer than this make no flaw: there is no room for one, m."""


def draw_run(rng: np.random.Generator, *, perfect: bool, anchored: bool) -> TrueRun | None:
    """Return a run of four people and two burials; None where fewer than one set is found."""
    places = rng.permutation([(14.0, 30.0), (44.0, 28.0), (16.0, 62.0), (43.0, 60.0)])[:2]
    burials = [
        draw_burial(rng, name, tuple(float(v) for v in place + rng.uniform(-7, 7, 2)))
        for name, place in zip("AB", places, strict=True)
    ]
    slope = float(np.radians(rng.uniform(0, 18)))
    site: Site = replace(BOWL, slope_rad=slope, aspect_rad=float(rng.uniform(0, 6.2)), anchors=ANCHORS)
    people = tuple(
        Searcher(
            id=f"s{i}",
            name=f"Person {i}",
            skill=SKILLS["practised"],
            receiver=Receiver(coaxial_range_m=RANGE_M),
        )
        for i in range(1, 5)
    )
    planned = replace(drill(*burials, site=site, strip_width_m=WIDTH_M), searchers=people)
    return Group(planned, rng, perfect=perfect, anchored=anchored).run()


class Group:
    """The people of a run, all moved together."""

    def __init__(self, planned: Drill, rng: np.random.Generator, *, perfect: bool, anchored: bool) -> None:
        self.drill, self.rng, self.anchored = planned, rng, anchored
        self.terrain = Plane.of(planned.site)
        carried = planned.searchers[0].receiver
        self.receiver = replace(
            carried, coaxial_range_m=RANGE_M * float(np.exp(rng.normal(0.0, RANGE_SPREAD)))
        )
        self.sources = sources_of(planned.burials, self.terrain)
        self.ids = list(self.sources.ids)
        self.taken: dict[str, str] = {}
        self.struck: dict[str, float] = {}
        self.idle: dict[str, tuple[float, float]] = {}
        side = rng.integers(0, 4)
        self.walkers = []
        for i in range(4):
            flaws = set() if perfect else self.draw_flaws()
            self.walkers.append(self.at_start(i, int(side), frozenset(flaws)))

    def draw_flaws(self) -> set[str]:
        """Return which flaws a person makes when there is an occasion."""
        flaws = {
            kind
            for kind, odds in (("late_turn", 0.4), ("wrong_way", 0.35), ("fast_near", 0.4))
            if self.rng.random() < odds
        }
        return flaws | ({"idle"} if self.rng.random() < 0.4 else set())

    def at_start(self, i: int, side: int, flaws: frozenset[str]) -> Walker:
        """Put a person at the start of their lane: the ground is crossed from one of its four sides."""
        across = (i + 0.5) / 4.0 + float(self.rng.normal(0, 0.02))
        start, heading = (
            ((60 * across, -OUTSIDE_M), 0.0),
            ((60 * across, 80.0 + OUTSIDE_M), np.pi),
            ((-OUTSIDE_M, 80 * across), np.pi / 2),
            ((60.0 + OUTSIDE_M, 80 * across), -np.pi / 2),
        )[side]
        heading += float(self.rng.normal(0, 0.06))
        one = Walker(f"s{i + 1}", np.array(start), heading, float(self.rng.uniform(0.95, 1.35)), flaws)
        one.place = one.start.copy()
        one.until = float(self.rng.uniform(0.0, 4.0))
        return one

    def run(self) -> TrueRun | None:
        """Move everybody until the last airway is clear."""
        t = 0.0
        while t < 1500.0:
            for one in self.walkers:
                one.t.append(t)
                one.places.append(one.place.copy())
                one.states.append(one.state)
            heard = self.heard()
            for i, one in enumerate(self.walkers):
                self.step(one, t, heard[i])
            t += TICK_S
            open_chases = [w for w in self.walkers if w.chase is not None and w.state not in ("done",)]
            if self.taken and not open_chases and (len(self.taken) == len(self.ids) or t > 400.0):
                break
        chases = [w.chase for w in self.walkers if w.chase is not None and np.isfinite(w.chase.clear_s)]
        if not chases:
            return None
        end = t + 25.0
        idle = {k: v for k, v in self.idle.items() if v[1] <= t}
        taken = {(who, burial) for burial, who in self.taken.items()}
        return TrueRun(
            drill=self.drill,
            receiver=self.receiver,
            walks=tuple(self.walk_of(w, end) for w in self.walkers),
            chases=tuple(chases),
            unfinished=frozenset(taken - {(c.who, c.burial) for c in chases}),
            idle_s=idle,
            end_s=end,
        )

    def heard(self) -> np.ndarray:
        """Return which sets each person's receiver hears, (people, sets)."""
        places = np.array([w.place for w in self.walkers])
        return np.asarray(
            hear(self.sources, self.receiver, self.terrain.at(places, np.ones(len(places)))).audible
        )

    def at(self, burial: str) -> np.ndarray:
        """Return the place of a burial in plan."""
        return np.array(next(b.position_m for b in self.drill.burials if b.id == burial))

    def step(self, one: Walker, t: float, heard: np.ndarray) -> None:
        """Do what a person does in one tick."""
        getattr(self, f"do_{one.state}")(one, t, heard)

    def ahead(self, one: Walker, heading: float, speed: float) -> None:
        """Walk on for a tick."""
        one.place = one.place + speed * TICK_S * np.array([np.sin(heading), np.cos(heading)])

    def do_lane(self, one: Walker, t: float, heard: np.ndarray) -> None:
        """Walk the lane with a weave; take a set that nobody has taken; help after the first strike."""
        if t < one.until and one.along == 0.0:
            return
        free = [self.ids[k] for k in np.flatnonzero(heard) if self.ids[k] not in self.taken]
        if free and t > 1.0:
            self.hears(one, t, free[0])
        elif self.struck and t >= min(self.struck.values()) + 2.0:
            self.goes_to_help(one, t)
            return
        self.along(one)

    def along(self, one: Walker) -> None:
        """One tick along the lane, there and back beside it."""
        one.along += one.speed * TICK_S
        weave = 0.12 * np.sin(one.along / 2.6 + float(one.who[1]))
        far = (86.0 if abs(np.cos(one.heading)) > 0.7 else 66.0) + OUTSIDE_M
        lap = int(one.along // far)
        heading = one.heading + weave + (np.pi if lap % 2 else 0.0)
        if lap and one.along % far < 4.0:
            heading = one.heading + np.pi / 2
        self.ahead(one, heading, one.speed * float(self.rng.normal(1.0, 0.05)))

    def hears(self, one: Walker, t: float, burial: str) -> None:
        """Somebody first hears a set: they turn soon, or late."""
        self.taken[burial] = one.who
        near = float(np.linalg.norm(self.at(burial) - one.place)) < SHORT_M
        one.flaws = frozenset() if near else one.flaws
        wait = (
            float(self.rng.uniform(20.0, 26.0)) if "late_turn" in one.flaws else float(self.rng.uniform(3, 6))
        )
        one.chase = Chase(one.who, burial, t, t + wait)
        one.state, one.until = "reacts", t + wait

    def do_reacts(self, one: Walker, t: float, heard: np.ndarray) -> None:
        """Walk on along the lane until the turn."""
        if t < one.until:
            self.along(one)
            return
        assert one.chase is not None
        one.chase.turn_s = t
        line = self.direction(one)
        toward = self.toward(one, line)
        one.chase.between_rad = abs(float((line - one.heading + np.pi / 2) % np.pi - np.pi / 2))
        one.way = toward + (np.pi if "wrong_way" in one.flaws else 0.0)
        one.state, one.until = "stops", t + float(self.rng.uniform(1.0, 2.5))

    def do_stops(self, one: Walker, t: float, heard: np.ndarray) -> None:
        """Stand to take the direction; then follow it, the right way or the wrong way first."""
        if t < one.until:
            return
        assert one.chase is not None
        one.state = "follows"
        if "wrong_way" in one.flaws:
            one.chase.wrong_s, one.aim, one.state = t, one.place.copy(), "errs"
            one.from_set = self.from_set(one)

    def do_errs(self, one: Walker, t: float, heard: np.ndarray) -> None:
        """Follow the line away from the set for 8 m, then turn about."""
        assert one.chase is not None
        line = self.direction(one)
        one.way = line if np.cos(line - one.way) > 0 else line + np.pi
        self.ahead(one, one.way, 1.1)
        one.chase.wrong_m = float(np.linalg.norm(one.place - one.aim))
        if one.chase.wrong_m >= 8.0:
            one.chase.farther_m = float(np.max(self.from_set(one) - one.from_set))
            one.way += np.pi
            one.state = "follows"

    def do_follows(self, one: Walker, t: float, heard: np.ndarray) -> None:
        """Follow the direction, read with an error of the hand that lasts some seconds, to 3 m."""
        assert one.chase is not None
        if self.rng.random() < TICK_S / 3.0:
            one.hand = float(self.rng.normal(0.0, 0.12))
        line = self.direction(one)
        one.way = line if np.cos(line - one.way) > 0 else line + np.pi
        reading = self.reading(one, 1.0)
        chase, fast = one.chase, "fast_near" in one.flaws
        chase.least_m = min(chase.least_m, reading)
        if reading > chase.least_m + 2.0:  # past the set: the person sees the reading rise and turns about
            one.way, chase.least_m = one.way + np.pi, reading
        if reading <= 10.0 and not np.isfinite(chase.near_s):
            chase.near_s, one.aim = t, one.place.copy()
        slow = 1.2 if fast else float(np.clip(0.1 * one.speed * reading, 0.4, 0.65))
        speed = slow if reading <= 10.0 else one.speed
        self.ahead(one, one.way + one.hand, speed)
        away = float(np.linalg.norm(one.place - self.at(chase.burial)))
        if self.reading(one, 0.1) <= 3.0 or away < 1.2:
            chase.fine_s = t + TICK_S
            seconds = max(chase.fine_s - chase.near_s, TICK_S)
            chase.near_m_s = float(np.linalg.norm(one.place - one.aim)) / seconds
            self.begin_fine(one, t)

    def begin_fine(self, one: Walker, t: float) -> None:
        """Plan the cross and the probing about the burial."""
        assert one.chase is not None
        place = self.at(one.chase.burial)
        one.rest = [place + self.rng.normal(0, 0.8, 2) for _ in range(int(self.rng.integers(2, 6)))]
        one.rest.append(place + self.rng.normal(0, 0.3, 2))
        one.state = "fine"

    def do_fine(self, one: Walker, t: float, heard: np.ndarray) -> None:
        """Cross to the lowest reading at a creep."""
        assert one.chase is not None
        step = one.rest[0] - one.place
        size = float(np.linalg.norm(step))
        if size <= 0.15:
            one.rest.pop(0)
            if not one.rest:
                one.chase.low_s = t
                one.state, one.until = "probes", t + float(self.rng.uniform(12, 45))
            return
        one.place = one.place + step / size * min(size, 0.25 * TICK_S)

    def do_probes(self, one: Walker, t: float, heard: np.ndarray) -> None:
        """Probe; then dig."""
        assert one.chase is not None
        self.shuffles(one)
        if t >= one.until:
            one.chase.strike_s = t
            self.struck[one.chase.burial] = t
            one.state, one.until = "digs", t + float(self.rng.uniform(150, 320))

    def do_digs(self, one: Walker, t: float, heard: np.ndarray) -> None:
        """Dig until the airway is clear."""
        assert one.chase is not None
        self.shuffles(one)
        if t >= one.until:
            one.chase.clear_s = t
            one.state = "done"

    def do_done(self, one: Walker, t: float, heard: np.ndarray) -> None:
        """Stay."""

    def shuffles(self, one: Walker) -> None:
        """Somebody at work moves about within a metre."""
        assert one.chase is not None or one.rest
        centre = self.at(one.chase.burial) if one.chase is not None else one.rest[0]
        if self.rng.random() < TICK_S / 8.0:
            one.aim = centre + self.rng.normal(0, 0.4, 2)
            one.along = -1.0
        if one.along == -1.0:
            step = one.aim - one.place
            one.place = one.place + step * min(1.0, 0.3 / max(float(np.linalg.norm(step)), 0.3))

    def goes_to_help(self, one: Walker, t: float) -> None:
        """After the first strike: set off to help, or stand idle for 90 s first."""
        burial = min(self.struck, key=lambda b: self.struck[b])
        away = float(np.linalg.norm(self.at(burial) - one.place))
        one.rest = [self.at(burial) + self.rng.normal(0, 1.0, 2)]
        if "idle" in one.flaws and away > 15.0:
            one.state, one.until = "idles", t + 90.0
            self.idle[one.who] = (t, t + 90.0)
        else:
            one.state = "walks"

    def do_idles(self, one: Walker, t: float, heard: np.ndarray) -> None:
        """Stand about."""
        if t >= one.until:
            one.state = "walks"

    def do_walks(self, one: Walker, t: float, heard: np.ndarray) -> None:
        """Walk over to help."""
        step = one.rest[0] - one.place
        size = float(np.linalg.norm(step))
        if size <= 0.5:
            one.state = "helps"
            return
        one.place = one.place + step / size * min(size, 1.2 * TICK_S)

    def do_helps(self, one: Walker, t: float, heard: np.ndarray) -> None:
        """Dig with the others."""
        self.shuffles(one)

    def direction(self, one: Walker) -> float:
        """Return the azimuth of the line of the set that a person follows."""
        assert one.chase is not None
        k = self.ids.index(one.chase.burial)
        point = self.terrain.at(one.place, np.array(1.0))
        return float(
            line_azimuth_rad(
                harmonic_dipole_field(self.sources.moment_am2[k], point - self.sources.point_m[k])
            )
        )

    def toward(self, one: Walker, line: float) -> float:
        """Return the azimuth along the line in which the reading falls."""
        here = [
            self.reading(replace(one, place=one.place + s * np.array([np.sin(line), np.cos(line)])), 1.0)
            for s in (2.0, -2.0)
        ]
        return line if here[0] < here[1] else line + np.pi

    def reading(self, one: Walker, above_m: float) -> float:
        """Return the raw reading of the set that a person follows, m."""
        assert one.chase is not None
        k = self.ids.index(one.chase.burial)
        only = Sources((one.chase.burial,), self.sources.point_m[[k]], self.sources.moment_am2[[k]])
        size = hear(only, self.receiver, self.terrain.at(one.place, np.array(above_m))).magnitude_a_per_m
        return float(raw_reading_m(self.receiver, size)[0])

    def from_set(self, one: Walker) -> np.ndarray:
        """Return a person's distance from the set they follow, and its reading, m."""
        assert one.chase is not None
        return np.array([np.linalg.norm(one.place - self.at(one.chase.burial)), self.reading(one, 1.0)])

    def walk_of(self, one: Walker, end_s: float) -> Walk:
        """A person's walk at each second, with what came before the alarm and, with anchors, after it."""
        rng = self.rng
        before = float(rng.uniform(60, 240))
        t, places, states = [-before], [one.start], ["waits"]
        if self.anchored:
            anchor = np.array(min(ANCHORS, key=lambda a: np.hypot(*(one.start - a.position_m))).position_m)
            over = float(np.linalg.norm(anchor - one.start)) / 1.1 + 5.0
            spot = anchor + rng.normal(0, 0.4, 2)
            t = [-before - over - 50.0, -before - over, -before]
            places, states = [spot, spot, one.start], ["waits", "walks", "waits"]
        elif rng.random() < 0.33:
            steps = np.sort(rng.uniform(-before, -5.0, 5))
            t += steps.tolist()
            places += [one.start + rng.normal(0, 1.5, 2) for _ in steps]
            states += ["waits"] * 5
        t, places, states = t + one.t, places + one.places, states + one.states
        if self.anchored:
            over = float(np.linalg.norm(anchor - one.place)) / 1.1 + 2.0
            t += [end_s, end_s + over, end_s + over + 50.0]
            places += [one.place, spot, spot]
            states += ["walks", "waits", "waits"]
        else:
            t, places, states = [*t, end_s], [*places, one.place], [*states, one.states[-1]]
        whole = np.arange(np.ceil(t[0]), np.floor(t[-1]) + 1.0)
        at = np.array(places)
        way = np.column_stack([np.interp(whole, t, at[:, axis]) for axis in (0, 1)])
        index = np.searchsorted(t, whole, side="right") - 1
        return Walk(one.who, whole, way, tuple(states[i] for i in index), one.flaws)
