"""State of one run of the plain player: people, burials, lanes, and their geometry."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from enum import Enum
from math import cos, exp, hypot, inf, nan, pi, sin, sqrt

import numpy as np
from numpy.typing import NDArray

from coldfield.beacon.field import antenna_axis, moment_am2
from coldfield.drill import Burial, Drill, Searcher
from coldfield.drill.terrain import Plane
from coldfield.rescue.draws import Draws, Purpose
from coldfield.rescue.player.receiver import Complex3, TodaysReceiver, Vector, field_at
from coldfield.rescue.settings import Settings
from coldfield.search.lanes.pace import STEEPEST_RISE

SEARCH_HEIGHT_M, FINE_HEIGHT_M = 1.0, 0.1
STRAY_HEIGHT_M = 0.5
STRAY_PERIOD_S, STRAY_PULSE_S = 1.0, 0.09


class Mode(Enum):
    """What a person does. The value is the word used in a trace."""

    READY = "ready"
    TO_LANE = "walk"
    LANE = "signal"
    CIRCLE = "circle"
    COARSE = "coarse"
    FINE = "fine"
    PROBE = "probe"
    GO = "go"
    AT = "wait"
    DIG = "dig"
    LINE = "line"
    IDLE = "idle"


SEARCHING = (Mode.TO_LANE, Mode.LANE, Mode.CIRCLE)
CHASING = (Mode.COARSE, Mode.FINE, Mode.PROBE)


@dataclass(eq=False)
class Person:
    """The state of one searcher during a run. Positions are in the axes on the snow, m."""

    index: int
    noun: Searcher
    receiver: TodaysReceiver
    x: float
    y: float
    mode: Mode = Mode.READY
    since_s: float = 0.0
    dx: float = 0.0
    dy: float = 1.0
    speed: float = 0.0
    timer_s: float = inf
    goal_x: float = 0.0
    goal_y: float = 0.0
    lane: int = -1
    target: int = -1
    probe_job: bool = False
    probe_ready: bool = False
    shovel_ready: bool = False
    gear_off: bool = False
    at_ready: bool = False
    circle: int = 0
    circle_x: float = 0.0
    circle_y: float = 0.0
    height_m: float = SEARCH_HEIGHT_M
    turned_s: float = 0.0
    best: float = inf
    best_x: float = 0.0
    best_y: float = 0.0
    best2_x: float = 0.0
    best2_y: float = 0.0
    walked: float = 0.0
    best_walked: float = 0.0
    misses: int = 0
    abouts: int = 0
    swings: list[tuple[float, float]] = field(default_factory=list)
    axis_x: float = 0.0
    axis_y: float = 1.0
    leg: int = 0
    best_leg: int = -1
    leg_improved: bool = False
    attempt: int = 0
    probe_hits: bool = False
    left_on: bool = False
    stray_solved: bool = False
    dig_began_s: float = inf
    heard: dict[int, tuple[int, int]] = field(default_factory=dict)
    losses: dict[int, int] = field(default_factory=dict)
    lost_k: dict[int, int] = field(default_factory=dict)
    turns: dict[int, int] = field(default_factory=dict)

    def place(self, t: float) -> tuple[float, float]:
        """Return where the person is at a time, which must not be before the last change."""
        walked = self.speed * max(0.0, t - self.since_s)
        return self.x + self.dx * walked, self.y + self.dy * walked


@dataclass(eq=False)
class Buried:
    """The state of one burial during a run."""

    index: int
    noun: Burial
    x: float
    y: float
    lean: float = 0.0
    first_signal_s: float = nan
    turn_s: float = nan
    within_10_m_s: float = nan
    fine_start_s: float = nan
    lowest_s: float = nan
    strike_s: float = nan
    airway_s: float = nan
    finder: int = -1
    claimed: int = -1
    needs_probe: bool = False
    tried_m: float = 0.0
    blind: int = -1
    probed: bool = False
    place_x: float = 0.0
    place_y: float = 0.0
    attempts: int = 0
    snow_kg: float = 0.0
    luck: float = 1.0
    dug: bool = False
    dug_since_s: float = 0.0
    block: int = 0
    updated_s: float = 0.0
    rate: float = 0.0
    due_s: float = inf
    ends: bool = False
    uncovering: bool = False

    @property
    def struck(self) -> bool:
        """True once a probe hit."""
        return self.strike_s == self.strike_s

    @property
    def clear(self) -> bool:
        """True once the airway is free."""
        return self.airway_s == self.airway_s


@dataclass(eq=False)
class Way:
    """One lane and how far it has been walked: `leg` is the index of the next corner."""

    points: list[tuple[float, float]]
    second: bool
    leg: int = 1
    x: float = 0.0
    y: float = 0.0
    walker: int = -1
    done: bool = False


@dataclass(eq=False)
class Source:
    """A set that may transmit: a burial's, or (from index n on) a searcher's own."""

    moment: Vector
    period_s: float
    pulse_s: float
    phase_s: float
    k: int = 0

    def next_s(self) -> float:
        """Return when the next pulse begins."""
        return self.phase_s + self.k * self.period_s


class Snow:
    """The snow surface of the site: axes on it, and points above it in site axes, m."""

    def __init__(self, drill: Drill) -> None:
        site = drill.site
        self.plane = Plane.of(site)
        a, s = site.aspect_rad, site.slope_rad
        self.along: Vector = (-cos(a), sin(a), 0.0)
        self.up: Vector = (-sin(a) * cos(s), -cos(a) * cos(s), sin(s))
        self.normal: Vector = (sin(a) * sin(s), cos(a) * sin(s), cos(s))
        self.slope_rad = s

    def lay(self, position_m: Sequence[float] | NDArray[np.float64]) -> tuple[float, float]:
        """Return a plan position (2,) in the axes on the snow."""
        x, y = self.plane.to_snow(np.asarray(position_m, dtype=np.float64)).tolist()
        return x, y

    def point(self, x: float, y: float, above_m: float) -> Vector:
        """Return the point in space above a place on the snow."""
        e, n, u = (x * self.along[i] + y * self.up[i] + above_m * self.normal[i] for i in range(3))
        return e, n, u

    def level(self, dx: float, dy: float) -> tuple[float, float]:
        """Return the level unit vector, east and north, of a direction on the snow."""
        e = dx * self.along[0] + dy * self.up[0]
        n = dx * self.along[1] + dy * self.up[1]
        size = hypot(e, n)
        return e / size, n / size

    def laid(self, angle_rad: float) -> tuple[float, float]:
        """Return the unit direction on the snow above a level line; angle from east to north."""
        e, n = cos(angle_rad), sin(angle_rad)
        x = e * self.along[0] + n * self.along[1]
        flat = cos(self.slope_rad)
        y = (e * self.up[0] + n * self.up[1]) / (flat * flat)
        size = hypot(x, y)
        return x / size, y / size

    def pace(self, dx: float, dy: float) -> float:
        """Return Tobler's factor for walking along a direction on the snow, 1 on the level.

        W. Tobler, NCGIA technical report 93-1, 1993 (formula from memory). Steeper ways are walked
        in zigzags: see `coldfield.search.lanes.pace.level_metres`.
        """
        rise = dy * sin(self.slope_rad)
        flat = sqrt(max(dx * dx + dy * dy - rise * rise, 1e-300))
        slope, share = rise / flat, 1.0
        if abs(rise) > STEEPEST_RISE * flat:
            slope = STEEPEST_RISE if rise > 0.0 else -STEEPEST_RISE
            share = STEEPEST_RISE / (abs(rise) * sqrt(1.0 + STEEPEST_RISE * STEEPEST_RISE))
        return share * exp(-3.5 * (abs(slope + 0.05) - 0.05))


@dataclass(eq=False)
class World:
    """The whole state of one run."""

    drill: Drill
    settings: Settings
    draws: Draws
    snow: Snow
    travel_factor: float
    people: list[Person]
    buried: list[Buried]
    ways: list[Way]
    sources: list[Source]
    line_area_m2: list[float]
    ground_m2: float
    marks: list[list[bool]]
    over: bool = False
    line_done_m2: float = 0.0
    line_since_s: float = nan
    line_began_s: float = nan
    line_due_s: float = inf
    line_rate: float = 0.0
    line_next: int = -1
    line_pass: int = 0
    line_at_m2: float = 0.0
    events: int = 0
    strays: int = 0
    log: list[list[tuple[float, float, float, str]]] = field(default_factory=list)

    def note(self, person: Person, t: float) -> None:
        """Record a corner of the person's trace."""
        self.note_at(person, t, person.place(t))

    def note_at(self, person: Person, t: float, place: tuple[float, float]) -> None:
        """Record a corner at a place; corners planned for later are dropped."""
        corners = self.log[person.index]
        while corners and corners[-1][0] > t:
            corners.pop()
        corners.append((t, *place, person.mode.value))

    def walk(self, person: Person, t: float, to: tuple[float, float], base_speed: float) -> None:
        """Set off straight to a place; the timer ends on arrival. The person stands at `x, y`."""
        person.goal_x, person.goal_y = to
        ex, ey = to[0] - person.x, to[1] - person.y
        length = sqrt(ex * ex + ey * ey)
        person.since_s = t
        if length > 0.0:
            person.dx, person.dy = ex / length, ey / length
            person.speed = base_speed * self.travel_factor * self.snow.pace(person.dx, person.dy)
            person.timer_s = t + length / person.speed
        else:
            person.speed, person.timer_s = 0.0, t

    def arrive(self, person: Person, t: float) -> None:
        """Stop exactly at the goal."""
        person.x, person.y = person.goal_x, person.goal_y
        person.since_s, person.speed, person.timer_s = t, 0.0, inf

    def stand(self, person: Person, t: float) -> None:
        """Stop where the person is at `t`."""
        person.x, person.y = person.place(t)
        person.since_s, person.speed, person.timer_s = t, 0.0, inf

    def field(self, person: Person, t: float, source: int) -> Complex3:
        """Return the field of a source at the person's set, A/m, site axes."""
        x, y = person.place(t)
        at = self.snow.point(x, y, person.height_m)
        below = self.source_point(source, t)
        return field_at(self.sources[source].moment, (at[0] - below[0], at[1] - below[1], at[2] - below[2]))

    def source_point(self, source: int, t: float) -> Vector:
        """Return where a source lies."""
        if source < len(self.buried):
            b = self.buried[source]
            return self.snow.point(b.x, b.y, -b.noun.depth_m)
        x, y = self.people[source - len(self.buried)].place(t)
        return self.snow.point(x, y, STRAY_HEIGHT_M)

    def transmits(self, source: int, t: float) -> bool:
        """Return whether a source transmits: a set not yet dug out, or one that fell back to transmit."""
        if source < len(self.buried):
            return self.buried[source].noun.transmitter is not None and not self.buried[source].clear
        person = self.people[source - len(self.buried)]
        return (
            person.mode is Mode.DIG
            and person.left_on
            and not person.stray_solved
            and t >= person.dig_began_s + self.settings.fallback_s
        )

    def candidates(self, buried: Buried) -> bool:
        """True for each burial that nobody has struck and nobody follows."""
        return not buried.struck and buried.claimed < 0 and not buried.needs_probe

    def open_sets(self) -> int:
        """Return how many sets nobody has heard yet."""
        return sum(1 for b in self.buried if b.noun.transmitter is not None and self.candidates(b))


def sources_of_run(drill: Drill, snow: Snow, settings: Settings, draws: Draws) -> list[Source]:
    """Return the sets of burials, then of searchers, with their keying in this run."""
    found = []
    for j, burial in enumerate(drill.burials):
        sent = burial.transmitter
        if sent is None:
            found.append(Source((0.0, 0.0, 0.0), 1.0, 0.0, 0.0))
            continue
        axis = antenna_axis(burial.antenna.azimuth_rad, burial.antenna.tilt_rad)
        m = (float(moment_am2(sent.field_at_10m_a_per_m)) * axis).tolist()
        u, v, _, _ = draws.four(Purpose.KEYING, source=j)
        period = sent.period_s * (1.0 + settings.period_spread * (2.0 * v - 1.0))
        phase = (sent.phase_s + u * period) % period
        found.append(Source((m[0], m[1], m[2]), period, sent.pulse_s, phase))
    strength = float(moment_am2(settings.stray_field_at_10m_a_per_m))
    for s in range(len(drill.searchers)):
        u, v, w, _ = draws.four(Purpose.STRAY, searcher=s)
        period = STRAY_PERIOD_S * (1.0 + settings.period_spread * (2.0 * v - 1.0))
        azimuth = 2.0 * pi * w
        found.append(
            Source((strength * sin(azimuth), strength * cos(azimuth), 0.0), period, STRAY_PULSE_S, u * period)
        )
    return found
