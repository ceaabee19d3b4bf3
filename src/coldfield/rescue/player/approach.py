"""From a first signal to the probe strike, for one searcher: the plain player."""

from __future__ import annotations

from collections.abc import Callable
from math import atan2, floor, hypot, inf, isnan, nan, pi, sqrt

from coldfield.rescue.draws import Purpose, normal
from coldfield.rescue.player.probe import ask_for_probe, begin_probe
from coldfield.rescue.player.receiver import Pulse, carry_height_m
from coldfield.rescue.player.world import FINE_HEIGHT_M, SEARCH_HEIGHT_M, Buried, Mode, Person, World

Reassign = Callable[[World, float], None]
"""Called when an approach begins or ends, because everyone else may then get another task."""

MISSES_IN_FINE = 20


def sense(world: World, person: Person, source: int, k: int, t: float) -> Pulse | None:
    """Return what the person's set gets from pulse `k` of a source at `t`, or None."""
    heading = world.snow.level(person.dx, person.dy)
    pulse = person.receiver.pulse(world.field(person, t, source), heading)
    if pulse.chance <= 0.0:
        return None
    u = world.draws.four(Purpose.PULSE, searcher=person.index, source=source, index=k)[0]
    if u >= pulse.chance or _hidden(world, person, source, t, pulse.amplitude_a_per_m, heading):
        return None
    return pulse


def _hidden(
    world: World, person: Person, source: int, t: float, amplitude: float, heading: tuple[float, float]
) -> bool:
    """True if a stronger set covers the pulse: its pulse overlaps, or it is found but unmarked."""
    for other in range(len(world.sources)):
        if other == source or not world.transmits(other, t):
            continue
        if not (_overlap(world, source, other, t) or _unmarked(world, person, other)):
            continue
        if person.receiver.amplitude(world.field(person, t, other), heading) > amplitude:
            return True
    return False


def _overlap(world: World, source: int, other: int, t: float) -> bool:
    theirs = world.sources[other]
    since = (t - theirs.phase_s) / theirs.period_s
    ago = (since - floor(since)) * theirs.period_s
    return ago < theirs.pulse_s or theirs.period_s - ago < world.sources[source].pulse_s


def _unmarked(world: World, person: Person, other: int) -> bool:
    if other >= len(world.buried):
        return False
    return world.buried[other].struck and not world.marks[person.index][other]


def _way(world: World, person: Person, source: int, k: int, pulse: Pulse) -> tuple[float, float] | None:
    """Return the noisy direction of the field on the snow, one of its two ways, or None."""
    if isnan(pulse.angle_rad):
        return None
    _, v, w, _ = world.draws.four(Purpose.PULSE, searcher=person.index, source=source, index=k)
    fade = 0.0 if world.settings.definite else person.receiver.noise_a_per_m / pulse.level_a_per_m
    skilled = person.noun.skill.direction_noise_rad
    error = normal(v, w) * sqrt(skilled * skilled + fade * fade)
    return world.snow.laid(pulse.angle_rad + error)


def search_pulse(world: World, person: Person, source: int, k: int, t: float, reassign: Reassign) -> None:
    """Test a pulse for somebody on a lane; with two of three heard and a direction they turn."""
    if source < len(world.buried) and not world.candidates(world.buried[source]):
        return
    rules = world.settings
    if person.losses.get(source, 0) >= rules.most_losses:
        return
    if k <= person.lost_k.get(source, -rules.lost_pause_pulses - 1) + rules.lost_pause_pulses:
        return
    last_k, bits = person.heard.get(source, (-9, 0))
    bits = bits if last_k == k - 1 else 0
    pulse = sense(world, person, source, k, t)
    bits = (bits << 1 | (pulse is not None)) & 7
    person.heard[source] = (k, bits)
    needed = 1 if rules.definite else 2
    if pulse is None or bits.bit_count() < needed:
        return
    if source < len(world.buried) and isnan(world.buried[source].first_signal_s):
        world.buried[source].first_signal_s = t
    if not isnan(pulse.angle_rad):
        _turn(world, person, source, k, t, pulse)
        reassign(world, t)


def _turn(world: World, person: Person, source: int, k: int, t: float, pulse: Pulse) -> None:
    leave_lane(world, person, t, keep=True)
    world.stand(person, t)
    person.mode, person.target = Mode.COARSE, source
    person.heard.clear()
    person.turned_s = t
    person.height_m = SEARCH_HEIGHT_M
    person.misses = person.abouts = person.attempt = 0
    person.walked = person.best_walked = 0.0
    person.best, person.best_x, person.best_y = pulse.reading_m, person.x, person.y
    person.swings = []
    if source < len(world.buried):
        _claim(world.buried[source], person, t, pulse.reading_m, world.settings.near_reading_m)
    turn = person.turns.get(source, 0)
    person.turns[source] = turn + 1
    way = _way(world, person, source, k, pulse)
    if way is not None:
        _head(person, way)
    u = world.draws.four(Purpose.TURN, searcher=person.index, source=source, index=turn)[0]
    if u < person.noun.skill.wrong_way_fraction:
        person.dx, person.dy = -person.dx, -person.dy
    world.note(person, t)
    if pulse.reading_m <= world.settings.fine_reading_m:
        begin_fine(world, person, t)
    else:
        _go_on(world, person, t, person.noun.skill.turn_s, pulse.reading_m)


def _claim(buried: Buried, person: Person, t: float, reading_m: float, near_m: float) -> None:
    buried.claimed, buried.turn_s = person.index, t
    buried.within_10_m_s = t if reading_m < near_m else nan
    buried.fine_start_s = buried.lowest_s = nan


def _head(person: Person, way: tuple[float, float]) -> None:
    """Choose the one of the line's two ways that is nearer to the present heading."""
    ahead = person.dx * way[0] + person.dy * way[1]
    person.dx, person.dy = way if ahead >= 0.0 else (-way[0], -way[1])


def _go_on(world: World, person: Person, t: float, wait_s: float, reading_m: float) -> None:
    skill = person.noun.skill
    near = reading_m < world.settings.near_reading_m
    base = skill.near_speed_m_s if near else skill.coarse_speed_m_s
    person.speed = base * world.travel_factor * world.snow.pace(person.dx, person.dy)
    person.since_s = max(t + wait_s, person.since_s)
    person.height_m = carry_height_m(reading_m)
    if wait_s > 0.0:
        world.note(person, person.since_s)


def coarse_pulse(world: World, person: Person, k: int, t: float, reassign: Reassign) -> None:
    """Follow the line for one pulse of the followed set."""
    rules, source = world.settings, person.target
    x, y = person.place(t)
    person.walked += hypot(x - person.x, y - person.y)
    person.x, person.y = x, y
    person.since_s = max(t, person.since_s)
    pulse = sense(world, person, source, k, t)
    if pulse is None:
        _coarse_miss(world, person, k, t, reassign)
        return
    person.misses = 0
    reading = pulse.reading_m
    if source < len(world.buried) and reading < rules.near_reading_m:
        buried = world.buried[source]
        buried.within_10_m_s = t if isnan(buried.within_10_m_s) else buried.within_10_m_s
    if reading < person.best:
        person.best, person.best_x, person.best_y = reading, x, y
        person.best_walked = person.walked
    way = _way(world, person, source, k, pulse)
    swung = way is not None and reading < rules.near_reading_m and _swung(world, person, way)
    what = _what_next(world, person, t, reading, swung)
    if what == "lose":
        lose(world, person, k, t, reassign)
    elif what == "fine":
        begin_fine(world, person, t)
        reassign(world, t)
    elif what == "about":
        person.abouts += 1
        person.dx, person.dy = -person.dx, -person.dy
        person.best, person.best_x, person.best_y = reading, x, y
        person.best_walked = person.walked
        person.swings = []
        world.note(person, t)
        _go_on(world, person, t, person.noun.skill.turn_s, reading)
    else:
        if way is not None:
            _head(person, way)
        world.note(person, t)
        _go_on(world, person, t, 0.0, reading)


def _coarse_miss(world: World, person: Person, k: int, t: float, reassign: Reassign) -> None:
    """Count a missed pulse: walk on, turn back to where the signal was better, or call it lost."""
    rules = world.settings
    person.misses += 1
    if person.misses >= rules.lost_after_pulses:
        lose(world, person, k, t, reassign)
    elif (
        person.misses == rules.back_after_pulses
        and person.abouts < rules.most_turn_abouts
        and person.walked > person.best_walked
    ):
        person.abouts += 1
        person.dx, person.dy = -person.dx, -person.dy
        person.best_walked = person.walked
        person.swings = []
        world.note(person, t)
        _go_on(world, person, t, person.noun.skill.turn_s, person.best)


def _what_next(world: World, person: Person, t: float, reading: float, swung: bool) -> str:
    """Decide: walk on, turn round, begin the fine search, or call it lost."""
    rules = world.settings
    if reading <= rules.fine_reading_m or swung:
        return "fine"
    if t - person.turned_s > rules.coarse_limit_s:
        return "fine" if reading < rules.near_reading_m else "lose"
    past = person.walked - person.best_walked
    if person.best > rules.turn_about_above_m:
        rise = max(rules.turn_about_m, rules.turn_about_share * person.best)
        if past > 0.0 and reading >= person.best + rise:
            if person.abouts < rules.most_turn_abouts:
                return "about"
            return "fine" if reading < rules.near_reading_m else "lose"
    elif past >= rules.past_lowest_m and reading > person.best:
        return "fine"
    return "on"


def _swung(world: World, person: Person, way: tuple[float, float]) -> bool:
    """True if the line has turned by more than 60 degrees within the last metre walked."""
    angle = atan2(way[1], way[0])
    swung = False
    for walked, before in person.swings:
        apart = abs(angle - before) % pi
        apart = min(apart, pi - apart)
        if 0.0 < person.walked - walked <= world.settings.swing_within_m:
            swung = swung or apart > world.settings.swing_rad
    person.swings = [*person.swings[-1:], (person.walked, angle)]
    return swung


def leave_lane(world: World, person: Person, t: float, *, keep: bool) -> None:
    """Remember how far the lane has been walked; without `keep` somebody else may take it over."""
    if person.lane < 0:
        return
    way = world.ways[person.lane]
    if person.mode is Mode.LANE:
        way.x, way.y = person.place(t)
    if not keep:
        way.walker, person.lane = -1, -1


def lose(world: World, person: Person, k: int, t: float, reassign: Reassign) -> None:
    """End an approach without a strike; anybody may follow the set again."""
    source = person.target
    person.losses[source] = person.losses.get(source, 0) + 1
    person.lost_k[source] = k
    if source < len(world.buried):
        world.buried[source].claimed = -1
    world.stand(person, t)
    person.mode, person.target = Mode.IDLE, -1
    person.height_m = SEARCH_HEIGHT_M
    world.note(person, t)
    reassign(world, t)


def begin_fine(world: World, person: Person, t: float) -> None:
    """Go down to the snow at the place of the lowest reading and begin the cross."""
    if person.target >= len(world.buried):
        _solve_stray(world, person, t)
        return
    buried = world.buried[person.target]
    if isnan(buried.fine_start_s):
        buried.fine_start_s = t
    world.stand(person, t)
    world.note(person, t)
    person.mode, person.height_m = Mode.FINE, FINE_HEIGHT_M
    cross = person.attempt % 2 == 1
    slant = sqrt(0.5)
    person.axis_x, person.axis_y = person.dx, person.dy
    if cross:
        person.axis_x, person.axis_y = slant * (person.dx - person.dy), slant * (person.dx + person.dy)
    person.best, person.best_leg, person.leg, person.misses = inf, -1, 0, 0
    person.best2_x, person.best2_y = person.best_x, person.best_y
    off_s = 0.0 if person.gear_off else world.settings.gear_off_s
    person.gear_off = True
    _begin_leg(world, person, t, off_s)


def _solve_stray(world: World, person: Person, t: float) -> None:
    """Handle a colleague's set that has fallen back to transmit: its owner switches it off."""
    world.people[person.target - len(world.buried)].stray_solved = True
    world.strays += 1
    world.stand(person, t)
    person.mode, person.target = Mode.IDLE, -1
    person.height_m = SEARCH_HEIGHT_M
    world.note(person, t)


def _begin_leg(world: World, person: Person, t: float, wait_s: float = 0.0) -> None:
    """Go back to the middle of the lowest readings, then out along the next arm of the cross."""
    x, y = 0.5 * (person.best_x + person.best2_x), 0.5 * (person.best_y + person.best2_y)
    here = person.place(t)
    back_s = hypot(here[0] - x, here[1] - y) / (2.0 * person.noun.skill.fine_speed_m_s)
    sign = 1.0 if person.leg % 2 == 0 else -1.0
    ax, ay = person.axis_x, person.axis_y
    if (person.leg // 2) % 2 == 1:
        ax, ay = -ay, ax
    world.note_at(person, t, here)
    person.x, person.y, person.since_s = x, y, t + wait_s + back_s
    person.dx, person.dy = sign * ax, sign * ay
    person.speed = person.noun.skill.fine_speed_m_s
    person.leg_improved = False
    world.note(person, person.since_s)


def fine_pulse(world: World, person: Person, k: int, t: float, reassign: Reassign) -> None:
    """Handle one pulse in the cross: keep the lowest readings, and end the arm when they rise."""
    if t < person.since_s:
        return
    rules = world.settings
    pulse = sense(world, person, person.target, k, t)
    if pulse is None:
        person.misses += 1
        if person.misses >= MISSES_IN_FINE:
            lose(world, person, k, t, reassign)
        return
    person.misses = 0
    x, y = person.place(t)
    reading = pulse.reading_m
    if reading < person.best - 0.05:
        person.leg_improved = person.best < inf
        person.best, person.best_leg = reading, person.leg
        person.best_x = person.best2_x = x
        person.best_y = person.best2_y = y
    elif reading < person.best + 0.05 and person.best_leg == person.leg:
        person.best2_x, person.best2_y = x, y
    out = person.speed * (t - person.since_s)
    if reading > person.best + rules.fine_rise_m or out >= rules.fine_leg_m:
        even = person.leg % 2 == 0
        person.leg += 2 if even and person.leg_improved else 1
        if person.leg < 4 * person.noun.skill.fine_rounds:
            _begin_leg(world, person, t)
        else:
            _end_fine(world, person, t, reassign)


def _end_fine(world: World, person: Person, t: float, reassign: Reassign) -> None:
    buried = world.buried[person.target]
    if isnan(buried.lowest_s):
        buried.lowest_s = t
    buried.place_x = 0.5 * (person.best_x + person.best2_x)
    buried.place_y = 0.5 * (person.best_y + person.best2_y)
    world.note(person, t)
    length = person.noun.probe_length_m
    if length is not None and length > buried.tried_m:
        begin_probe(world, person, buried, t)
    else:
        ask_for_probe(world, person, buried, t)
        reassign(world, t)


def probe_timer(world: World, person: Person, t: float, reassign: Reassign) -> bool:
    """End the spiral; return True for a strike, otherwise search again, hand over, or give up."""
    buried = world.buried[person.target]
    person.timer_s = inf
    if person.probe_hits:
        return True
    buried.attempts += 1
    person.attempt += 1
    if person.attempt < world.settings.fine_attempts:
        person.best_x = person.best2_x = buried.place_x
        person.best_y = person.best2_y = buried.place_y
        begin_fine(world, person, t)
    else:
        buried.tried_m = max(buried.tried_m, person.noun.probe_length_m or 0.0)
        ask_for_probe(world, person, buried, t)
        reassign(world, t)
    return False
