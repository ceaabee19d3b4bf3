"""Who does what next: searching on, gathering, digging, the probe line; the plain player."""

from __future__ import annotations

from math import ceil, cos, exp, inf, isnan, nan, pi, sin

from coldfield.rescue import digging
from coldfield.rescue.draws import Purpose, normal
from coldfield.rescue.player.approach import leave_lane
from coldfield.rescue.player.probe import begin_probe, top_m
from coldfield.rescue.player.world import CHASING, SEARCHING, Buried, Mode, Person, Way, World


def reassign(world: World, t: float, finder: int = -1) -> None:
    """Give everybody who is free their next task. `finder` has just struck.

    A burial that no probe struck comes first; people dig as if whoever searched last had struck it.
    """
    for buried in world.buried:
        if buried.blind >= 0 and not buried.struck and not world.over:
            strike(world, world.people[buried.blind], buried, t)
            return
    pool = [p for p in world.people if _free(world, p)]
    searching_left = not world.over and world.open_sets() > 0 and _ways_left(world)
    _send_probers(world, pool, t)
    keep = 0
    if searching_left:
        keep = min(len(pool), world.settings.searchers_per_missing_set * world.open_sets())
    _send_diggers(world, pool, t, keep=keep, finder=finder, searching_left=searching_left)
    for person in list(pool):
        if not (searching_left and _search_on(world, person, t)):
            _stand_by(world, person, t, searching_left=searching_left)
    update_line(world, t)


def _free(world: World, person: Person) -> bool:
    if person.mode in SEARCHING or person.mode in (Mode.LINE, Mode.IDLE):
        return True
    if person.mode in (Mode.GO, Mode.AT) and not person.probe_job:
        return not world.buried[person.target].struck
    return False


def _ways_left(world: World) -> bool:
    return any(not way.done for way in world.ways)


def _distance2(person: Person, t: float, x: float, y: float) -> float:
    px, py = person.place(t)
    return (px - x) * (px - x) + (py - y) * (py - y)


def _nearest(pool: list[Person], t: float, x: float, y: float, last: int = -1) -> Person:
    return min(pool, key=lambda p: (p.index == last, _distance2(p, t, x, y), p.index))


def _send_probers(world: World, pool: list[Person], t: float) -> None:
    for buried in world.buried:
        if not buried.needs_probe or world.over:
            continue
        if any(p.probe_job and p.target == buried.index for p in world.people):
            continue
        able = [p for p in pool if (p.noun.probe_length_m or 0.0) > buried.tried_m]
        if able:
            person = _nearest(able, t, buried.place_x, buried.place_y)
            pool.remove(person)
            person.attempt = 0
            _go(world, person, buried, t)
            person.probe_job = True


def _crew(world: World, buried: Buried) -> int:
    modes = (Mode.GO, Mode.AT, Mode.DIG)
    return sum(1 for p in world.people if p.target == buried.index and p.mode in modes)


def _places(world: World, buried: Buried) -> float:
    return digging.places(buried.noun.depth_m, world.snow.slope_rad, world.settings.digging)


def _least_manned(world: World, among: list[Buried]) -> Buried:
    return min(among, key=lambda b: (_crew(world, b) / _places(world, b), b.index))


def _send_diggers(
    world: World, pool: list[Person], t: float, *, keep: int, finder: int, searching_left: bool
) -> None:
    spare = len(pool) - keep
    last = finder if keep > 0 else -1
    if finder >= 0 and world.settings.finder_digs:
        person = world.people[finder]
        dug = next(b for b in world.buried if b.finder == finder and b.strike_s == t)
        pool.remove(person)
        spare -= 1
        _go(world, person, dug, t)
    others = any(world.candidates(b) for b in world.buried) and not world.over
    while pool:
        digs = []
        for b in world.buried:
            room = ceil(_places(world, b)) * (2 if searching_left else 4)
            if b.struck and not b.clear and (_crew(world, b) < room or not (searching_left or others)):
                digs.append(b)
        if not digs:
            return
        dig = _least_manned(world, digs)
        if spare <= 0 and _crew(world, dig) > 0:
            return
        person = _nearest(pool, t, dig.place_x, dig.place_y, last)
        pool.remove(person)
        spare -= 1
        _go(world, person, dig, t)


def _go(
    world: World, person: Person, buried: Buried, t: float, to: tuple[float, float] | None = None
) -> None:
    leave_lane(world, person, t, keep=False)
    world.stand(person, t)
    person.mode, person.target, person.probe_job = Mode.GO, buried.index, False
    person.heard.clear()
    place = (buried.place_x, buried.place_y) if to is None else to
    world.walk(person, t, place, person.noun.skill.signal_speed_m_s)
    world.note(person, t)


def _search_on(world: World, person: Person, t: float) -> bool:
    """Put a free person on a lane; return False if there is no lane left."""
    if person.mode in SEARCHING:
        return True
    way = _own_or_free_way(world, person)
    if way < 0:
        return False
    world.stand(person, t)
    person.lane = way
    world.ways[way].walker = person.index
    person.mode, person.target = Mode.TO_LANE, -1
    person.heard.clear()
    lane = world.ways[way]
    world.walk(person, t, (lane.x, lane.y), person.noun.skill.signal_speed_m_s)
    world.note(person, t)
    return True


def _own_or_free_way(world: World, person: Person) -> int:
    if person.lane >= 0 and not world.ways[person.lane].done:
        return person.lane
    first = any(not way.done for way in world.ways if not way.second)
    for index, way in enumerate(world.ways):
        if not way.done and way.walker < 0 and way.second != first:
            return index
    return -1


def _stand_by(world: World, person: Person, t: float, *, searching_left: bool) -> None:
    """Without a lane: gather where a colleague works, probe in line, or wait."""
    near = [
        b
        for b in world.buried
        if b.needs_probe or (b.claimed >= 0 and world.people[b.claimed].mode in (Mode.FINE, Mode.PROBE))
    ]
    if world.over:
        near = []
    if near:
        if person.mode in (Mode.GO, Mode.AT) and any(b.index == person.target for b in near):
            return
        buried = _least_manned(world, near)
        to = None if buried.needs_probe else world.people[buried.claimed].place(t)
        _go(world, person, buried, t, to)
        return
    claimed = any(b.claimed >= 0 for b in world.buried)
    left = any(world.candidates(b) for b in world.buried)
    to_line = left and not claimed and not searching_left and not world.over and world.ground_m2 > 0.0
    mode = Mode.LINE if to_line and person.noun.probe_length_m is not None else Mode.IDLE
    if person.mode is mode:
        return
    leave_lane(world, person, t, keep=False)
    world.stand(person, t)
    person.mode, person.target = mode, -1
    person.heard.clear()
    world.note(person, t)


# --- lanes ------------------------------------------------------------------------------------------


def lane_timer(world: World, person: Person, t: float) -> None:
    """Handle reaching a corner of the lane, or the place where it was left."""
    way: Way = world.ways[person.lane]
    if person.mode is Mode.TO_LANE:
        person.x, person.y = way.x, way.y
        person.mode = Mode.LANE
    else:
        person.x, person.y = way.points[way.leg]
        way.x, way.y = person.x, person.y
        way.leg += 1
    person.since_s, person.speed = t, 0.0
    if way.leg < len(way.points):
        world.walk(person, t, way.points[way.leg], person.noun.skill.signal_speed_m_s)
        world.note(person, t)
        return
    way.done, way.walker, person.lane = True, -1, -1
    person.mode, person.timer_s = Mode.IDLE, inf
    world.note(person, t)
    reassign(world, t)


# --- digging ----------------------------------------------------------------------------------------


def strike(world: World, person: Person, buried: Buried, t: float) -> None:
    """Handle a probe strike: people come to dig, and the finder marks the set and goes on."""
    by, blind = world.settings.digging, buried.blind >= 0
    u, v, w, _ = world.draws.four(Purpose.SNOW, source=buried.index)
    buried.strike_s, buried.finder, buried.claimed, buried.needs_probe = t, person.index, -1, False
    if not blind:
        buried.place_x, buried.place_y = person.x, person.y
    buried.luck = exp(by.snow_spread * normal(u, v))
    density = world.drill.conditions.snow_density_kg_m3
    buried.snow_kg = digging.snow_to_move_kg(buried.noun.depth_m, world.snow.slope_rad, density, by)
    if w < person.noun.skill.start_far_fraction:
        buried.snow_kg *= by.far_factor
    if blind:
        buried.snow_kg *= by.blind_factor
    person.since_s, person.speed, person.timer_s = t, 0.0, inf
    person.mode, person.target = Mode.IDLE, -1
    person.height_m = 1.0
    world.note(person, t)
    for other in world.people:
        if other.mode is Mode.AT and other.target == buried.index and other.at_ready:
            join(world, other, t)
    reassign(world, t, finder=person.index)
    if person.mode is Mode.TO_LANE and not world.marks[person.index][buried.index]:
        person.mode, person.circle = Mode.CIRCLE, 0
        person.circle_x, person.circle_y = buried.place_x, buried.place_y
        next_circle_corner(world, person, t)


def join(world: World, person: Person, t: float) -> None:
    """Begin to dig."""
    person.mode, person.timer_s, person.dig_began_s = Mode.DIG, inf, t
    person.since_s, person.speed = t, 0.0
    world.note(person, t)
    update_dig(world, world.buried[person.target], t)


def update_dig(world: World, buried: Buried, t: float) -> None:
    """Subtract what was dug since the last change, and work out when the dig ends at this rate."""
    buried.snow_kg -= buried.rate * (t - buried.updated_s)
    buried.updated_s = t
    if buried.uncovering:
        return
    if not buried.dug:
        buried.dug, buried.dug_since_s = True, t
    crew = [p for p in world.people if p.mode is Mode.DIG and p.target == buried.index]
    by = world.settings.digging
    rates = [p.noun.skill.dig_rate_kg_s * (1.0 if p.noun.shovel else by.hand_factor) for p in crew]
    # Use the number of the block: dividing time by length could lose a block to rounding.
    tired = max(by.sustained, 1.0 - by.block_loss * buried.block)
    buried.rate = digging.tired_rate_kg_s(rates, _places(world, buried), tired, by) * buried.luck
    end = t + buried.snow_kg / buried.rate
    tired_out = 1.0 - by.block_loss * buried.block <= by.sustained
    boundary = inf if tired_out else buried.dug_since_s + by.block_s * (buried.block + 1)
    buried.ends = end <= boundary
    buried.due_s = min(end, boundary)


def dig_timer(world: World, buried: Buried, t: float) -> None:
    """Handle the end of a stage: the face is reached, the crew is more tired, or the airway is free."""
    if buried.uncovering:
        _clear(world, buried, t)
    elif buried.ends:
        buried.uncovering, buried.due_s = True, t + world.settings.digging.uncover_s
    else:
        buried.block += 1
        update_dig(world, buried, t)


def _clear(world: World, buried: Buried, t: float) -> None:
    buried.airway_s, buried.due_s = t, inf
    for person in world.people:
        if person.target == buried.index and person.mode in (Mode.GO, Mode.AT, Mode.DIG):
            world.stand(person, t)
            person.mode, person.target = Mode.IDLE, -1
            world.note(person, t)
    reassign(world, t)


def go_timer(world: World, person: Person, t: float) -> None:
    """Handle somebody's arrival at a burial: to probe, to assemble the shovel, or to dig."""
    buried = world.buried[person.target]
    world.arrive(person, t)
    person.mode = Mode.AT
    world.note(person, t)
    if person.probe_job:
        begin_probe(world, person, buried, t)
        reassign(world, t)
        return
    person.at_ready = person.shovel_ready
    if person.shovel_ready:
        if buried.struck:
            join(world, person, t)
    else:
        person.timer_s = t + person.noun.skill.shovel_ready_s


def ready_timer(world: World, person: Person, t: float) -> None:
    """Handle the moment at which the shovel is assembled."""
    person.shovel_ready = person.at_ready = True
    person.timer_s = inf
    if world.buried[person.target].struck:
        join(world, person, t)


# --- circles round a set that could not be marked ---------------------------------------------------

CIRCLE_CORNERS = 12


def next_circle_corner(world: World, person: Person, t: float) -> None:
    """Walk to the next corner of the circles, and after the last one back to the lane."""
    radii = world.settings.circles_m
    ring, corner = divmod(person.circle, CIRCLE_CORNERS + 1)
    if person.circle > 0:
        world.arrive(person, t)
    if ring >= len(radii):
        person.mode = Mode.TO_LANE
        way = world.ways[person.lane]
        world.walk(person, t, (way.x, way.y), person.noun.skill.signal_speed_m_s)
    else:
        angle = 2.0 * pi * corner / CIRCLE_CORNERS
        to = (person.circle_x + radii[ring] * cos(angle), person.circle_y + radii[ring] * sin(angle))
        person.circle += 1
        world.walk(person, t, to, person.noun.skill.near_speed_m_s)
    world.note(person, t)


# --- the probe line ---------------------------------------------------------------------------------


def update_line(world: World, t: float) -> None:
    """Update the probe line: the ground done so far, and when it reaches the next burial."""
    line = [p for p in world.people if p.mode is Mode.LINE]
    rules = world.settings
    if not isnan(world.line_since_s):
        world.line_done_m2 += world.line_rate * (t - world.line_since_s)
    world.line_since_s = t if line else nan
    world.line_rate = rules.line_rate_m2_s * len(line)
    world.line_due_s, world.line_next = inf, -1
    if not line:
        return
    if isnan(world.line_began_s):
        world.line_began_s = t
    passes = int(world.line_done_m2 / world.ground_m2)
    best = inf
    for b in world.buried:
        if not world.candidates(b):
            continue
        for number in (passes, passes + 1):
            at = number * world.ground_m2 + world.line_area_m2[b.index]
            if at > world.line_done_m2 + 1e-6 and at < best:
                best, world.line_next = at, b.index
                world.line_pass = number
    if world.line_next >= 0:
        world.line_at_m2 = best
        world.line_due_s = t + (best - world.line_done_m2) / world.line_rate


def line_timer(world: World, t: float) -> None:
    """Handle the line reaching a burial, which it strikes or misses."""
    rules = world.settings
    line = [p for p in world.people if p.mode is Mode.LINE]
    buried = world.buried[world.line_next]
    world.line_done_m2, world.line_since_s = world.line_at_m2, t
    reach = max(p.noun.probe_length_m or 0.0 for p in line)
    if world.line_pass == 0:
        reach = min(reach, rules.line_first_depth_m)
    u = world.draws.four(Purpose.LINE, source=buried.index, index=world.line_pass)[0]
    buried.probed = buried.probed or buried.noun.transmitter is not None
    if top_m(world, buried) <= reach and u < rules.line_pod:
        for person in line:
            person.x, person.y = buried.x, buried.y
        buried.turn_s = world.line_began_s
        buried.fine_start_s = buried.lowest_s = nan
        strike(world, line[0], buried, t)
    else:
        update_line(world, t)


def end_search(world: World, t: float) -> None:
    """End the search at the horizon; whoever is free helps to dig."""
    world.over = True
    for person in world.people:
        if person.mode in (*CHASING, *SEARCHING, Mode.LINE, Mode.READY) or person.probe_job:
            world.stand(person, t)
            person.mode, person.target, person.probe_job = Mode.IDLE, -1, False
            world.note(person, t)
    for buried in world.buried:
        buried.claimed, buried.needs_probe = -1, False
    reassign(world, t)
