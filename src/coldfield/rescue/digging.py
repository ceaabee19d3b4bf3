"""Minutes from a probe strike to a free airway, by depth and people: a wedge dug from downhill.

What has been published: rates in loose snow, a rule for the length of the trench and for the people it
takes, what starting too far away costs. A collection of 391 timed excavations from five countries exists
(Genswein et al., ISSW 2023, item 3051, abstract); its table of minutes by depth and people is not open.
So most constants are settings, and every figure is shown with its band at half and double the rate.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, exp, inf, radians

from coldfield.errors import OutOfModel
from coldfield.message import Message, message

NOTE = message("note.digging_table")

STEEP_RAD = radians(35.0)
"""From this slope on the trench is as short as it gets; between, in proportion. Setting."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Digging:
    """Constants of digging. SI.

    Attributes
    ----------
    width_m : float
        Arm-span wide (Edgerly & Atkins, ISSW 2006; second-hand); the value of an arm span: setting.
    length_flat, length_steep : float
        Length of the trench over depth: 1.5 (Edgerly & Atkins, ISSW 2006, second-hand; avalanche.org,
        seen), about 1 on steep ground (Genswein & Eide, ISSW 2008, from memory; 2 on the flat there).
    bulk : float
        Snow that is moved over that of a clean wedge: walls fall in, holes grow wider than need be.
        Setting, with 1 to 1.5 t at about 1.3 m in view (a guides' text, practice).
    person_length_m : float
        One person per metre of trench (Genswein et al., ISSW 2023, abstract).
    least_places : float
        Two can always dig side by side in a trench an arm span wide. Setting.
    turns : float
        Who has no place at the face clears away what the others throw and takes turns with them; at
        most, a crowd is so much quicker than full places. Setting.
    reach_m : float
        One person throws or pulls the snow so far; beyond it is moved again. Setting.
    block_s : float
        Diggers rotate every 4 min (Genswein & Eide, ISSW 2008; from memory).
    block_loss, sustained : float
        Each 4 min of digging cost so much of the first rate, down to this share. Settings.
    far_factor : float
        Snow moved where the hole is started too far from the probe, over that started right. Set with a
        cost of 2 min 30 s on average in view (Rogora & Perelli Ercolini, ISSW 2023, item 3023,
        abstract; depth and people not told there).
    blind_factor : float
        Snow moved where no probe struck and people dig at the lowest reading. Setting.
    hand_factor : float
        Rate without a shovel. Setting.
    uncover_s : float
        The last part, by hand: from reaching the person to a free airway. Setting.
    snow_spread : float
        Deviation of the logarithm of the rate from run to run: snow differs. Setting.
    """

    width_m: float = 1.7
    length_flat: float = 1.5
    length_steep: float = 1.0
    bulk: float = 1.4
    person_length_m: float = 1.0
    least_places: float = 2.0
    turns: float = 0.6
    reach_m: float = 1.5
    block_s: float = 240.0
    block_loss: float = 0.1
    sustained: float = 0.6
    far_factor: float = 1.45
    blind_factor: float = 2.0
    hand_factor: float = 0.25
    uncover_s: float = 20.0
    snow_spread: float = 0.25


DIGGING = Digging()
"""The values used where nothing else is said."""

UNSURE_DIGGING: dict[str, float] = {
    "width_m": 1.25,
    "length_flat": 1.3,
    "length_steep": 1.3,
    "bulk": 1.4,
    "turns": 1.7,
    "reach_m": 1.3,
    "block_loss": 1.5,
    "far_factor": 1.3,
    "blind_factor": 1.5,
    "hand_factor": 1.5,
    "uncover_s": 2.0,
    "snow_spread": 1.5,
}
"""Constants of digging that are unsure, each to within this factor. The factors are settings."""


def trench_length_m(depth_m: float, slope_rad: float, by: Digging = DIGGING) -> float:
    """Return the length of the trench, measured downhill along the snow, m."""
    share = min(max(slope_rad / STEEP_RAD, 0.0), 1.0)
    return depth_m * (by.length_flat + (by.length_steep - by.length_flat) * share)


def places(depth_m: float, slope_rad: float, by: Digging = DIGGING) -> float:
    """Return how many people can work at the same time: one per metre of trench, at least two."""
    return max(by.least_places, trench_length_m(depth_m, slope_rad, by) / by.person_length_m)


def snow_to_move_kg(depth_m: float, slope_rad: float, density_kg_m3: float, by: Digging = DIGGING) -> float:
    """Return the mass to be moved, each kilogram counted as often as it is moved.

    The wedge V = 1/2 (k D) W D; snow from the middle of a trench travels half its length.

    Examples
    --------
    >>> round(snow_to_move_kg(1.0, 0.0, 400.0))
    714
    """
    length = trench_length_m(depth_m, slope_rad, by)
    volume = 0.5 * length * by.width_m * depth_m
    return by.bulk * density_kg_m3 * volume * max(1.0, 0.5 * length / by.reach_m)


def hands(people: float, room: float, turns: float) -> float:
    """Return how many fresh people at the face a crew is worth.

    One each up to `room`; beyond it each further one adds less, up to `turns` times `room` in all.

    Examples
    --------
    >>> [round(hands(n, 2.0, 0.6), 2) for n in (1, 2, 3, 4, 6, 12)]
    [1, 2, 2.47, 2.76, 3.04, 3.19]
    """
    return people if people <= room else room * (1.0 + turns * (1.0 - exp(-(people - room) / room)))


def crew_rate_kg_s(rates_kg_s: Sequence[float], room: float, dug_s: float, by: Digging = DIGGING) -> float:
    """Return how fast a crew moves snow, kg/s, after the dig has gone on for `dug_s`.

    The fastest work at the face; whoever has no place clears snow and takes turns (`hands`), which also
    keeps the others fresh: fatigue weighs less by the share of people who can rest.

    Examples
    --------
    Two fresh diggers; the same after a quarter of an hour; with two more to take turns:

    >>> [round(crew_rate_kg_s([1.0] * n, 2.0, s), 2) for n, s in ((2, 0.0), (2, 900.0), (4, 900.0))]
    [2.0, 1.4, 2.34]
    """
    tired = max(by.sustained, 1.0 - by.block_loss * int(dug_s / by.block_s))
    return tired_rate_kg_s(rates_kg_s, room, tired, by)


def tired_rate_kg_s(rates_kg_s: Sequence[float], room: float, tired: float, by: Digging = DIGGING) -> float:
    """Return how fast a crew moves snow, kg/s, whose people without a rest are down to the share `tired`."""
    total = 0.0
    for k, rate in enumerate(sorted(rates_kg_s, reverse=True)):
        total += rate * (hands(k + 1.0, room, by.turns) - hands(float(k), room, by.turns))
    working = min(1.0, room / len(rates_kg_s)) if rates_kg_s else 1.0
    return total * (1.0 - (1.0 - tired) * working)


@dataclass(frozen=True, slots=True, kw_only=True)
class DigTime:
    """Seconds from the strike to a free airway, with the band, and where to start.

    `low_s` and `high_s` are at double and at half the rate. `start_below_probe_m`: for each person
    missing from one per metre of trench, start 1 m further below the probe (Genswein et al. 2023).
    """

    seconds: float
    low_s: float
    high_s: float
    snow_kg: float
    trench_m: float
    places: float
    start_below_probe_m: float
    note: Message = NOTE


def seconds_to_airway(
    *,
    depth_m: float,
    rates_kg_s: Sequence[float],
    slope_rad: float = 0.0,
    density_kg_m3: float = 400.0,
    too_far: bool = False,
    by: Digging = DIGGING,
) -> DigTime:
    """Return how long a crew takes to the airway of a person `depth_m` under the snow.

    Parameters
    ----------
    depth_m : float
        Depth at right angles to the snow, m.
    rates_kg_s : sequence of float
        Rate of each person who digs, over the first minutes, kg/s.
    slope_rad : float
        Slope of the snow.
    density_kg_m3 : float
        Debris: 300 to 500 (from memory).
    too_far : bool
        True: the hole is started too far from the probe.

    Raises
    ------
    OutOfModel
        If nobody digs, or a figure is not above 0 (the slope: below 0 or 80 degrees and more).

    Notes
    -----
    The band at half and double the rate spans a factor of four and more: that is how little is
    known. Left out: ice, timber and rock in the debris, two crews in each other's way.

    Examples
    --------
    >>> [round(seconds_to_airway(depth_m=1.0, rates_kg_s=[1.1] * n).seconds) for n in (2, 4, 12)]
    [354, 255, 223]
    """
    if not rates_kg_s or min(rates_kg_s) <= 0.0:
        raise OutOfModel(message("fault.diggers"))
    if not (depth_m > 0.0 and density_kg_m3 > 0.0 and 0.0 <= slope_rad < radians(80.0)):
        raise OutOfModel(message("fault.dig_figures"))
    snow = snow_to_move_kg(depth_m, slope_rad, density_kg_m3, by) * (by.far_factor if too_far else 1.0)
    room = places(depth_m, slope_rad, by)
    length = trench_length_m(depth_m, slope_rad, by)
    times = [_dig_s(snow, [r * rate for r in rates_kg_s], room, by) for rate in (1.0, 2.0, 0.5)]
    return DigTime(
        seconds=times[0] + by.uncover_s,
        low_s=times[1] + by.uncover_s,
        high_s=times[2] + by.uncover_s,
        snow_kg=snow,
        trench_m=length,
        places=room,
        start_below_probe_m=float(max(0, ceil(length / by.person_length_m) - len(rates_kg_s))),
    )


def _dig_s(snow_kg: float, rates_kg_s: Sequence[float], room: float, by: Digging) -> float:
    left, t = snow_kg, 0.0
    while left > 0.0:
        rate = crew_rate_kg_s(rates_kg_s, room, t, by)
        lasts = inf if 1.0 - by.block_loss * int(t / by.block_s) <= by.sustained else by.block_s
        step = min(lasts, left / rate)
        left = left - rate * step if step == by.block_s else 0.0
        t += step
    return t
