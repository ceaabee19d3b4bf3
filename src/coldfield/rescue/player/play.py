"""A whole rescue, played pulse by pulse: the plain player of the searcher model.

It is slow and simple on purpose. The compiled kernel in `coldfield.rescue.kernel` is a second program of
the same model; tests check that both give the same events. ``docs/rehearsal.md`` describes the model.
"""

from __future__ import annotations

from dataclasses import replace
from math import inf, isnan, tan

import numpy as np

from coldfield.drill import Drill
from coldfield.drill.skills import check_skill
from coldfield.errors import BadInput, OutOfModel
from coldfield.message import message
from coldfield.rescue.draws import Draws, Purpose, normal
from coldfield.rescue.ground_order import ground_before_m2
from coldfield.rescue.lanes_like import LanesLike
from coldfield.rescue.played import BurialTimes, Played, Trace
from coldfield.rescue.player import crew
from coldfield.rescue.player.approach import coarse_pulse, fine_pulse, probe_timer, search_pulse
from coldfield.rescue.player.drawn_skill import drawn_skill
from coldfield.rescue.player.receiver import TodaysReceiver
from coldfield.rescue.player.world import SEARCHING, Buried, Mode, Person, Snow, Way, World, sources_of_run
from coldfield.rescue.settings import SETTINGS, Settings
from coldfield.search.lanes.pace import TRAVEL_FACTOR

MOST_EVENTS = 1_000_000

NOTES = (
    message("note.known_sets"),
    message("note.keying_at_random"),
    message("note.walk_on_even_slope"),
    message("note.nothing_breaks"),
)
"""Assumptions of the model; shown with its results."""


def play(
    drill: Drill,
    lanes: LanesLike,
    *,
    seed: int,
    run: int,
    second: LanesLike | None = None,
    settings: Settings = SETTINGS,
) -> Played:
    """Return one run of a drill: who heard, reached, struck and freed whom, and when.

    Parameters
    ----------
    drill : Drill
        One to ten burials (fewer or more work too), one to thirty searchers.
    lanes : LanePlan
        Lanes of the first pass. Searchers without one are free hands.
    seed, run : int
        Key of every random draw; the same pair gives the same run.
    second : LanePlan, optional
        Lanes of a second pass, walked if a set was not heard on the first.
    settings : Settings, optional
        Constants that belong to no single person.

    Raises
    ------
    BadInput
        If the drill has no searcher, or a skill, receiver or lane that nobody could use.
    OutOfModel
        If the run does not come to an end within a million events.

    Notes
    -----
    The approximations are listed in `NOTES` and in ``docs/rehearsal.md``.
    """
    world = _world(drill, lanes, second, settings, Draws(seed=seed, run=run))
    end = _run(world)
    return Played(
        run=run,
        seed=seed,
        burials=tuple(_times(world, b) for b in world.buried),
        traces=tuple(_trace(world, p, end) for p in world.people),
        end_s=end,
        events=world.events,
        strays=world.strays,
        notes=NOTES,
    )


# --- setting up -------------------------------------------------------------------------------------


def _world(
    drill: Drill, lanes: LanesLike, second: LanesLike | None, settings: Settings, draws: Draws
) -> World:
    if not drill.searchers:
        raise BadInput(message("fault.rehearsal_needs_one").at("searchers"))
    snow = Snow(drill)
    people = [_person(drill, snow, settings, draws, s) for s in range(len(drill.searchers))]
    buried = []
    for j, burial in enumerate(drill.burials):
        x, y = snow.lay(burial.position_m)
        u, v, _, _ = draws.four(Purpose.BODY, source=j)
        lean = tan(settings.body_tilt_rad * normal(u, v))
        buried.append(Buried(j, burial, x, y, lean=lean))
    areas, ground = ground_before_m2(drill.site, [b.position_m for b in drill.burials])
    world = World(
        drill=drill,
        settings=settings,
        draws=draws,
        snow=snow,
        travel_factor=TRAVEL_FACTOR[drill.conditions.travel],
        people=people,
        buried=buried,
        ways=_ways(drill, snow, lanes, second),
        sources=sources_of_run(drill, snow, settings, draws),
        line_area_m2=areas,
        ground_m2=ground,
        marks=[[_marks(draws, p, j) for j in range(len(buried))] for p in people],
        log=[[] for _ in people],
    )
    for index, way in enumerate(world.ways):
        if not way.second and way.walker >= 0:
            people[way.walker].lane = index
    for person in people:
        world.note(person, 0.0)
    return world


def _person(drill: Drill, snow: Snow, settings: Settings, draws: Draws, s: int) -> Person:
    noun = drill.searchers[s]
    check_skill(noun.skill)
    receiver = TodaysReceiver(noun.receiver, drill.conditions.noise_rise_db, definite=settings.definite)
    x, y = snow.lay(drill.site.entry_m)
    u, _, _, _ = draws.four(Purpose.START, searcher=s)
    noun = replace(noun, skill=drawn_skill(noun, settings, draws, s))
    person = Person(s, noun, receiver, x, y)
    person.timer_s = noun.skill.reaction_s
    person.gear_off = drill.conditions.travel == "on foot"
    person.left_on = u < noun.skill.left_on_fraction
    return person


def _marks(draws: Draws, person: Person, j: int) -> bool:
    u, v, _, _ = draws.four(Purpose.MARK, searcher=person.index, source=j)
    return u < person.noun.skill.marking_fraction and v < person.noun.receiver.marking


def _ways(drill: Drill, snow: Snow, lanes: LanesLike, second: LanesLike | None) -> list[Way]:
    index = {searcher.id: s for s, searcher in enumerate(drill.searchers)}
    ways = []
    for later, plan in ((False, lanes), (True, second)):
        taken: set[int] = set()
        for lane in plan.lanes if plan is not None else ():
            if lane.searcher not in index:
                raise BadInput(message("fault.lane_of_nobody", name=lane.searcher).at("lanes"))
            points = [snow.lay(point) for point in lane.line_m]
            if not points or not np.isfinite(points).all():
                raise BadInput(message("fault.lane_without_corners", name=lane.searcher).at("lanes"))
            way = Way(points, later, x=points[0][0], y=points[0][1])
            who = index[lane.searcher]
            if not later and who not in taken:
                way.walker = who
                taken.add(who)
            ways.append(way)
    return ways


# --- the clock --------------------------------------------------------------------------------------


def _run(world: World) -> float:
    t = 0.0
    while not all(b.clear for b in world.buried):
        when, kind, index = _next(world, t)
        if when > world.settings.horizon_s and not world.over:
            t = world.settings.horizon_s
            crew.end_search(world, t)
            continue
        if when == inf:
            break
        t = when
        world.events += 1
        if world.events > MOST_EVENTS:
            raise OutOfModel(message("fault.endless_run"))
        if kind == "person":
            _person_timer(world, world.people[index], t)
        elif kind == "dig":
            crew.dig_timer(world, world.buried[index], t)
        elif kind == "line":
            crew.line_timer(world, t)
        else:
            _pulse(world, index, t)
    return t


def _next(world: World, t: float) -> tuple[float, str, int]:
    """Return the next event; at equal times people come first, then digs, the probe line, and pulses."""
    when, kind, index = inf, "none", -1
    for person in world.people:
        if person.timer_s < when:
            when, kind, index = person.timer_s, "person", person.index
    for buried in world.buried:
        if buried.due_s < when:
            when, kind, index = buried.due_s, "dig", buried.index
    if world.line_due_s < when:
        when, kind, index = world.line_due_s, "line", 0
    for i, source in enumerate(world.sources):
        begin = _on_air_from(world, i, t)
        if begin == inf or not _somebody_listens(world, i):
            continue
        while source.next_s() < begin:
            source.k += 1
        if source.next_s() < when:
            when, kind, index = source.next_s(), "pulse", i
    return when, kind, index


def _somebody_listens(world: World, source: int) -> bool:
    """Return whether anybody follows a source, or walks a lane while nobody follows it yet."""
    new = source >= len(world.buried) or world.candidates(world.buried[source])
    following = (Mode.COARSE, Mode.FINE)
    return not world.over and any(
        (p.mode in SEARCHING and new) or (p.mode in following and p.target == source) for p in world.people
    )


def _on_air_from(world: World, source: int, t: float) -> float:
    """Return the time from which a source transmits, not before `t`; inf if it does not."""
    if source < len(world.buried):
        return t if world.transmits(source, t) else inf
    person = world.people[source - len(world.buried)]
    if person.mode is not Mode.DIG or not person.left_on or person.stray_solved:
        return inf
    return max(t, person.dig_began_s + world.settings.fallback_s)


def _pulse(world: World, i: int, t: float) -> None:
    source = world.sources[i]
    k = source.k
    source.k += 1
    for person in world.people:
        if person.mode in SEARCHING:
            search_pulse(world, person, i, k, t, crew.reassign)
        elif person.target == i and person.mode is Mode.COARSE:
            coarse_pulse(world, person, k, t, crew.reassign)
        elif person.target == i and person.mode is Mode.FINE:
            fine_pulse(world, person, k, t, crew.reassign)


def _person_timer(world: World, person: Person, t: float) -> None:
    if person.mode is Mode.READY:
        person.timer_s, person.mode, person.since_s = inf, Mode.IDLE, t
        crew.reassign(world, t)
    elif person.mode in (Mode.TO_LANE, Mode.LANE):
        crew.lane_timer(world, person, t)
    elif person.mode is Mode.CIRCLE:
        crew.next_circle_corner(world, person, t)
    elif person.mode is Mode.GO:
        crew.go_timer(world, person, t)
    elif person.mode is Mode.AT:
        crew.ready_timer(world, person, t)
    elif probe_timer(world, person, t, crew.reassign):
        crew.strike(world, person, world.buried[person.target], t)


# --- what is left -----------------------------------------------------------------------------------


def _times(world: World, b: Buried) -> BurialTimes:
    return BurialTimes(
        burial=b.noun.id,
        first_signal_s=b.first_signal_s,
        turn_s=b.turn_s,
        within_10_m_s=b.within_10_m_s,
        fine_start_s=b.fine_start_s,
        lowest_reading_s=b.lowest_s,
        probe_strike_s=b.strike_s,
        airway_s=b.airway_s,
        finder=world.people[b.finder].noun.id if b.finder >= 0 else None,
        failure=_failure(world, b),
    )


def _failure(world: World, b: Buried) -> int:
    longest = max((p.noun.probe_length_m or 0.0 for p in world.people), default=0.0)
    if b.struck:
        return -1
    if b.noun.transmitter is None:
        return 5
    if (b.probed or not isnan(b.first_signal_s)) and b.noun.depth_m > longest > 0.0:
        return 2
    if b.probed:
        return 3
    if longest == 0.0 and not isnan(b.lowest_s):
        return 4
    return 0 if isnan(b.first_signal_s) else 1


_WORD_OF_MODE = {"circle": "signal", "go": "walk", "idle": "wait"}


def _trace(world: World, person: Person, end: float) -> Trace:
    corners = list(world.log[person.index])
    x, y = person.place(max(end, corners[-1][0]))
    corners.append((max(end, corners[-1][0]), x, y, person.mode.value))
    plan = world.snow.plane.to_plan([(c[1], c[2]) for c in corners])
    return Trace(
        searcher=person.noun.id,
        t_s=np.maximum.accumulate([c[0] for c in corners]),
        east_m=plan[:, 0],
        north_m=plan[:, 1],
        phase=tuple(_WORD_OF_MODE.get(c[3], c[3]) for c in corners),
    )
