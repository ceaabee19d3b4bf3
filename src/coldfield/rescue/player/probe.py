"""Probing: the spiral, and people with a longer probe; the plain player."""

from __future__ import annotations

from math import cos, hypot, inf, pi, sin, sqrt

from coldfield.rescue.draws import Purpose, normal
from coldfield.rescue.player.world import SEARCH_HEIGHT_M, Buried, Mode, Person, World

HOLE_LENGTH_M = 2.4


def ask_for_probe(world: World, person: Person, buried: Buried, t: float) -> None:
    """Wait for somebody with a (longer) probe; if there is none, people dig at the lowest reading."""
    longest = max((p.noun.probe_length_m or 0.0 for p in world.people), default=0.0)
    world.stand(person, t)
    person.height_m = SEARCH_HEIGHT_M
    buried.claimed = -1
    if longest > buried.tried_m:
        buried.needs_probe = True
        person.mode, person.at_ready = Mode.AT, person.shovel_ready
        person.timer_s = inf if person.shovel_ready else t + person.noun.skill.shovel_ready_s
    else:
        buried.blind = person.index
        person.mode, person.target = Mode.IDLE, -1
    world.note(person, t)


def begin_probe(world: World, person: Person, buried: Buried, t: float) -> None:
    """Start the spiral; the timer ends at the strike, or after 1.5 m without one."""
    skill, length = person.noun.skill, person.noun.probe_length_m
    assert length is not None
    u, v, _, _ = world.draws.four(
        Purpose.PLACE, searcher=person.index, source=buried.index, index=2 * buried.attempts
    )
    w, z, _, _ = world.draws.four(
        Purpose.PLACE, searcher=person.index, source=buried.index, index=2 * buried.attempts + 1
    )
    here = person.place(t)
    person.x = buried.place_x + skill.place_error_m * normal(u, v)
    person.y = buried.place_y + skill.place_error_m * normal(w, z)
    begin = t + hypot(person.x - here[0], person.y - here[1]) / skill.near_speed_m_s
    person.since_s, person.speed = begin, 0.0
    person.mode, person.target, person.probe_job = Mode.PROBE, buried.index, False
    buried.claimed, buried.needs_probe, buried.probed = person.index, False, True
    helped = any(p.mode is Mode.AT and p.target == buried.index for p in world.people if p is not person)
    wait = 0.0 if person.probe_ready or helped else skill.probe_ready_s
    person.probe_ready = True
    hole_s = skill.probe_hole_s * (0.5 + 0.5 * length / HOLE_LENGTH_M)
    holes, person.probe_hits = _holes(world, person, buried, length)
    person.timer_s = begin + wait + holes * hole_s
    world.note_at(person, t, here)
    world.note(person, begin)


def _holes(world: World, person: Person, buried: Buried, length_m: float) -> tuple[int, bool]:
    """Return the number of holes and whether the last one is a strike."""
    rules = world.settings
    ux, uy = world.snow.laid(0.5 * pi - buried.noun.body_azimuth_rad)
    i = 0
    while True:
        turn = sqrt(4.0 * pi * i)
        radius = rules.spiral_step_m * turn / (2.0 * pi)
        if radius > rules.spiral_radius_m:
            return i, False
        x = person.x + radius * cos(turn) - buried.x
        y = person.y + radius * sin(turn) - buried.y
        top = top_m(world, buried)
        if buried.noun.outline == "sack":
            inside = hypot(x, y) <= rules.sack_radius_m
        else:
            along = x * ux + y * uy
            lengthwise = abs(along) <= 0.5 * rules.person_length_m
            inside = lengthwise and abs(y * ux - x * uy) <= 0.5 * rules.person_width_m
            top -= along * buried.lean
        if inside and top <= length_m:
            u = world.draws.four(
                Purpose.HOLE,
                searcher=person.index,
                source=buried.index,
                index=1000 * buried.attempts + i,
            )[0]
            if u < person.noun.skill.strike_felt_fraction:
                return i + 1, True
        i += 1


def top_m(world: World, buried: Buried) -> float:
    """Return the height of the upper side of a body or sack above the set, m."""
    rules = world.settings
    sack = buried.noun.outline == "sack"
    return buried.noun.depth_m - 0.5 * (rules.sack_radius_m if sack else rules.person_thickness_m)
