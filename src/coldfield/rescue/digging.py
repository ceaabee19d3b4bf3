"""Minutes from a probe strike to a free airway, by depth and people: a wedge dug from downhill.

Published are rates in loose snow, a rule for the length of the trench and the people it needs, and
the cost of starting too far away. There is a collection of 391 timed excavations from five
countries (Genswein et al., ISSW 2023, item 3051, abstract), but its table of minutes by depth and
people is not public. Most constants are therefore settings, and every figure is shown with its band
at half and double the rate.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, exp, inf, radians

from coldfield.errors import OutOfModel
from coldfield.message import Message, message

NOTE = message("note.digging_table")

STEEP_RAD = radians(35.0)
"""From this slope on, the trench has its shortest length; on gentler slopes, in proportion. Setting."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Digging:
    """Constants of digging. SI.

    Attributes
    ----------
    width_m : float
        One arm span (Edgerly & Atkins, ISSW 2006; second-hand); the length of an arm span is a setting.
    length_flat, length_steep : float
        Length of the trench over depth: 1.5 (Edgerly & Atkins, ISSW 2006, second-hand; avalanche.org,
        seen), about 1 on steep ground (Genswein & Eide, ISSW 2008, from memory; 2 on the flat there).
    bulk : float
        Snow that is moved, relative to a clean wedge: walls fall in, and holes get wider than necessary.
        Setting, chosen with 1 to 1.5 t at about 1.3 m (a guides' text, practice).
    person_length_m : float
        One person per metre of trench (Genswein et al., ISSW 2023, abstract).
    least_places : float
        Two can always dig side by side in a trench an arm span wide. Setting.
    turns : float
        People without a place at the face clear away the snow and take turns. This is the most by
        which a crowd can be faster than full places, as a share. Setting.
    reach_m : float
        Distance over which one person throws or pulls the snow; beyond it, snow is moved again. Setting.
    block_s : float
        Diggers rotate every 4 min (Genswein & Eide, ISSW 2008; from memory).
    block_loss, sustained : float
        Share of the first rate that each 4 min of digging costs, and the lowest share. Settings.
    far_factor : float
        Snow moved if the hole is started too far from the probe, relative to the right place. Chosen
        with the average cost of 2 min 30 s (Rogora & Perelli Ercolini, ISSW 2023, item 3023,
        abstract; depth and people are not given there).
    blind_factor : float
        The same if no probe struck and people dig at the lowest reading. Setting.
    hand_factor : float
        Rate without a shovel. Setting.
    uncover_s : float
        The last part, by hand: from reaching the person to a free airway. Setting.
    snow_spread : float
        Standard deviation of the logarithm of the rate from run to run, because snow differs. Setting.
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
"""The default values."""

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
"""Uncertain constants of digging, each known to within this factor. The factors are settings."""


def trench_length_m(depth_m: float, slope_rad: float, by: Digging = DIGGING) -> float:
    """Return the length of the trench, measured downhill along the snow, m."""
    share = min(max(slope_rad / STEEP_RAD, 0.0), 1.0)
    return depth_m * (by.length_flat + (by.length_steep - by.length_flat) * share)


def places(depth_m: float, slope_rad: float, by: Digging = DIGGING) -> float:
    """Return how many people can work at the same time: one per metre of trench, at least two."""
    return max(by.least_places, trench_length_m(depth_m, slope_rad, by) / by.person_length_m)


def snow_to_move_kg(depth_m: float, slope_rad: float, density_kg_m3: float, by: Digging = DIGGING) -> float:
    """Return the mass to be moved; each kilogram counts as often as it is moved.

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
    """Return the equivalent number of fresh people at the face for a crew.

    Each person counts as one up to `room`. Further people add less, together at most `turns` times `room`.

    Examples
    --------
    >>> [round(hands(n, 2.0, 0.6), 2) for n in (1, 2, 3, 4, 6, 12)]
    [1, 2, 2.47, 2.76, 3.04, 3.19]
    """
    return people if people <= room else room * (1.0 + turns * (1.0 - exp(-(people - room) / room)))


def crew_rate_kg_s(rates_kg_s: Sequence[float], room: float, dug_s: float, by: Digging = DIGGING) -> float:
    """Return how fast a crew moves snow, kg/s, after the dig has gone on for `dug_s`.

    The fastest people work at the face. Those without a place clear snow and take turns (`hands`).
    This also keeps the others fresh: fatigue is reduced by the share of people who can rest.

    Examples
    --------
    Two fresh diggers; the same two after a quarter of an hour; and then with two more to take turns:

    >>> [round(crew_rate_kg_s([1.0] * n, 2.0, s), 2) for n, s in ((2, 0.0), (2, 900.0), (4, 900.0))]
    [2.0, 1.4, 2.34]
    """
    tired = max(by.sustained, 1.0 - by.block_loss * int(dug_s / by.block_s))
    return tired_rate_kg_s(rates_kg_s, room, tired, by)


def tired_rate_kg_s(rates_kg_s: Sequence[float], room: float, tired: float, by: Digging = DIGGING) -> float:
    """Return how fast a crew moves snow, kg/s, if people who cannot rest are down to the share `tired`."""
    total = 0.0
    for k, rate in enumerate(sorted(rates_kg_s, reverse=True)):
        total += rate * (hands(k + 1.0, room, by.turns) - hands(float(k), room, by.turns))
    working = min(1.0, room / len(rates_kg_s)) if rates_kg_s else 1.0
    return total * (1.0 - (1.0 - tired) * working)


@dataclass(frozen=True, slots=True, kw_only=True)
class DigTime:
    """Seconds from the strike to a free airway, with the band, and where to start.

    `low_s` and `high_s` are for double and half the rate. `start_below_probe_m`: start 1 m farther
    below the probe for each person too few for one per metre of trench (Genswein et al. 2023).
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
    """Return how long a crew needs to free the airway of a person `depth_m` under the snow.

    Parameters
    ----------
    depth_m : float
        Depth at right angles to the snow, m.
    rates_kg_s : sequence of float
        Rate of each digger over the first minutes, kg/s.
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
    The band at half and double the rate spans a factor of four or more, because little is known.
    Left out: ice, timber and rock in the debris, and two crews in each other's way.

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
