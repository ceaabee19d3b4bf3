"""Minutes from a probe strike to a free airway, by depth and people: a wedge dug from downhill.

No published table of minutes by depth and number of shovels was found. The constants below are
settings, and every figure is shown with its band at half and double the rate of work.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, inf, radians

from coldfield.errors import OutOfModel

NOTE = (
    "no published table of minutes by depth and shovels was found; the constants are settings, "
    "the band is at half and double the rate of work"
)

WIDTH_M = 1.7
"""Arm-span wide (Edgerly & Atkins, ISSW 2006; second-hand); the value of an arm span: setting."""

LENGTH_FLAT, LENGTH_STEEP = 1.5, 1.0
"""Length of the trench over depth: 1.5 (Edgerly & Atkins, ISSW 2006, second-hand; avalanche.org, seen),
about 1 on steep ground (Genswein & Eide, ISSW 2008, from memory; they give 2 on the flat)."""

STEEP_RAD = radians(35.0)
"""From this slope on the trench is as short as it gets; between, in proportion. Setting."""

PERSON_LENGTH_M = 1.0
"""One person per metre of trench (Genswein et al., ISSW 2023, seen)."""

LEAST_PLACES = 2.0
"""Two can always dig side by side in a trench an arm span wide. Setting."""

REACH_M = 1.5
"""One person throws or pulls the snow so far; beyond it is moved again. Setting."""

BLOCK_S = 240.0
"""Diggers rotate every 4 min (Genswein & Eide, ISSW 2008; from memory)."""

BLOCK_LOSS, SUSTAINED = 0.1, 0.6
"""Each 4 min of digging cost so much of the first rate, down to this share. Settings."""

HAND_FACTOR = 0.25
"""Rate without a shovel. Setting."""

UNCOVER_S = 20.0
"""The last part, by hand: from reaching the person to a free airway. Setting."""

SNOW_SPREAD = 0.25
"""Deviation of the logarithm of the rate from run to run: snow differs from place to place. Setting."""


def trench_length_m(depth_m: float, slope_rad: float) -> float:
    """Return the length of the trench, measured downhill along the snow, m."""
    share = min(max(slope_rad / STEEP_RAD, 0.0), 1.0)
    return depth_m * (LENGTH_FLAT + (LENGTH_STEEP - LENGTH_FLAT) * share)


def places(depth_m: float, slope_rad: float) -> float:
    """Return how many people can work at the same time: one per metre of trench, at least two."""
    return max(LEAST_PLACES, trench_length_m(depth_m, slope_rad) / PERSON_LENGTH_M)


def snow_to_move_kg(depth_m: float, slope_rad: float, density_kg_m3: float) -> float:
    """Return the mass to be moved, each kilogram counted as often as it is moved.

    The wedge V = 1/2 (k D) W D; snow from the middle of a trench travels half its length.

    Examples
    --------
    >>> round(snow_to_move_kg(1.0, 0.0, 400.0))
    510
    """
    length = trench_length_m(depth_m, slope_rad)
    volume = 0.5 * length * WIDTH_M * depth_m
    return density_kg_m3 * volume * max(1.0, 0.5 * length / REACH_M)


def crew_rate_kg_s(rates_kg_s: Sequence[float], room: float, dug_s: float) -> float:
    """Return how fast a crew moves snow, kg/s, after the dig has gone on for `dug_s`.

    The fastest work at the face; whoever has no place rests and takes turns, which keeps the others
    fresh: fatigue weighs less by the share of people who can rest.

    Examples
    --------
    Two fresh diggers; the same after a quarter of an hour; with two more to take turns:

    >>> [round(crew_rate_kg_s([1.0] * n, 2.0, s), 2) for n, s in ((2, 0.0), (2, 900.0), (4, 900.0))]
    [2.0, 1.4, 1.7]
    """
    left, total = room, 0.0
    for rate in sorted(rates_kg_s, reverse=True):
        total += rate * min(1.0, max(0.0, left))
        left -= 1.0
    tired = max(SUSTAINED, 1.0 - BLOCK_LOSS * int(dug_s / BLOCK_S))
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
    note: str = NOTE


def seconds_to_airway(
    *, depth_m: float, rates_kg_s: Sequence[float], slope_rad: float = 0.0, density_kg_m3: float = 400.0
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
    >>> round(seconds_to_airway(depth_m=1.0, rates_kg_s=[1.1, 1.1]).seconds)
    252
    """
    if not rates_kg_s or min(rates_kg_s) <= 0.0:
        raise OutOfModel("digging needs at least one person, each with a rate above 0")
    if not (depth_m > 0.0 and density_kg_m3 > 0.0 and 0.0 <= slope_rad < radians(80.0)):
        raise OutOfModel("depth_m and density_kg_m3 must be above 0, slope_rad from 0 to below 80 degrees")
    snow = snow_to_move_kg(depth_m, slope_rad, density_kg_m3)
    room = places(depth_m, slope_rad)
    length = trench_length_m(depth_m, slope_rad)
    times = [_dig_s(snow, [r * by for r in rates_kg_s], room) for by in (1.0, 2.0, 0.5)]
    return DigTime(
        seconds=times[0] + UNCOVER_S,
        low_s=times[1] + UNCOVER_S,
        high_s=times[2] + UNCOVER_S,
        snow_kg=snow,
        trench_m=length,
        places=room,
        start_below_probe_m=float(max(0, ceil(length / PERSON_LENGTH_M) - len(rates_kg_s))),
    )


def _dig_s(snow_kg: float, rates_kg_s: Sequence[float], room: float) -> float:
    left, t = snow_kg, 0.0
    while left > 0.0:
        rate = crew_rate_kg_s(rates_kg_s, room, t)
        lasts = inf if 1.0 - BLOCK_LOSS * int(t / BLOCK_S) <= SUSTAINED else BLOCK_S
        step = min(lasts, left / rate)
        left = left - rate * step if step == BLOCK_S else 0.0
        t += step
    return t
