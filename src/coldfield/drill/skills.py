"""How well people do each part of a search: one table, each constant with its source or 'setting'.

No published table of these constants was found. All values are settings of this project unless a
source stands beside them; a group's own figures override them. ``docs/rehearsal.md`` shows which of
them move the minutes to the airway most.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from math import isfinite, radians

from coldfield.errors import BadInput


@dataclass(frozen=True, slots=True, kw_only=True)
class Skill:
    """Constants of one searcher. Times in s, speeds in m/s on level snow, angles in rad.

    Attributes
    ----------
    reaction_s : float
        From the alarm until the person walks, set switched to search. Median. Setting.
    signal_speed_m_s, coarse_speed_m_s : float
        Walking along a lane, and along the direction down to a reading of 10 m: 'fast from the
        first signal to about 10 m' is common practice; the values are settings.
    near_speed_m_s : float
        Walking below a reading of 10 m: 'slower and exact' is common practice; the value a setting.
    fine_speed_m_s : float
        Moving the set over the snow in fine search: 'slow' is common practice; the value a setting.
    direction_noise_rad : float
        Deviation of the walked from the shown direction, in a strong signal. Setting.
    wrong_way_fraction : float
        Share of first turns that take the wrong one of the two ways of the line. Setting.
    turn_s : float
        Standing still to take in a first signal, or to turn about. Setting.
    fine_rounds : int
        How often the cross is walked before probing. Setting.
    place_error_m : float
        Deviation, each way, of the first probe hole from the place of the lowest reading. Setting.
    probe_ready_s, shovel_ready_s : float
        To put the probe, the shovel together. Settings.
    probe_hole_s : float
        One hole with a probe of 2.4 m, down and up. Setting.
    strike_felt_fraction : float
        Share of hits that are felt as hits. Setting.
    marking_fraction : float
        Share of found sets that are marked with success, with a set that can. Setting; for novices
        from: a third person was not found in about 30 % of runs, mostly for failed marking
        (Schweizer, Genswein, Jarry & Letang 2012, The Avalanche Review 31(2)): 0.84 for each of two.
    left_on_fraction : float
        Share of people who start to dig without switching their set off or back by hand. Setting.
    dig_rate_kg_s : float
        Snow moved over the first minutes. Setting, below the 1.50-1.79 kg/s measured in loose snow
        and short effort (Schindelwig et al. 2017, Sports 5(2):31), which is a ceiling.
    """

    name: str
    reaction_s: float
    signal_speed_m_s: float
    coarse_speed_m_s: float
    near_speed_m_s: float
    fine_speed_m_s: float
    direction_noise_rad: float
    wrong_way_fraction: float
    turn_s: float
    fine_rounds: int
    place_error_m: float
    probe_ready_s: float
    probe_hole_s: float
    strike_felt_fraction: float
    marking_fraction: float
    left_on_fraction: float
    shovel_ready_s: float
    dig_rate_kg_s: float


SKILLS: dict[str, Skill] = {
    "novice": Skill(
        name="novice",
        reaction_s=20.0,
        signal_speed_m_s=1.0,
        coarse_speed_m_s=1.1,
        near_speed_m_s=0.4,
        fine_speed_m_s=0.1,
        direction_noise_rad=radians(15.0),
        wrong_way_fraction=0.3,
        turn_s=5.0,
        fine_rounds=2,
        place_error_m=0.25,
        probe_ready_s=30.0,
        probe_hole_s=5.0,
        strike_felt_fraction=0.9,
        marking_fraction=0.84,
        left_on_fraction=0.5,
        shovel_ready_s=30.0,
        dig_rate_kg_s=0.9,
    ),
    "practised": Skill(
        name="practised",
        reaction_s=10.0,
        signal_speed_m_s=1.2,
        coarse_speed_m_s=1.4,
        near_speed_m_s=0.5,
        fine_speed_m_s=0.15,
        direction_noise_rad=radians(10.0),
        wrong_way_fraction=0.15,
        turn_s=3.0,
        fine_rounds=1,
        place_error_m=0.15,
        probe_ready_s=15.0,
        probe_hole_s=4.0,
        strike_felt_fraction=0.95,
        marking_fraction=0.93,
        left_on_fraction=0.25,
        shovel_ready_s=20.0,
        dig_rate_kg_s=1.1,
    ),
    "expert": Skill(
        name="expert",
        reaction_s=5.0,
        signal_speed_m_s=1.5,
        coarse_speed_m_s=1.8,
        near_speed_m_s=0.7,
        fine_speed_m_s=0.2,
        direction_noise_rad=radians(6.0),
        wrong_way_fraction=0.05,
        turn_s=1.5,
        fine_rounds=1,
        place_error_m=0.1,
        probe_ready_s=8.0,
        probe_hole_s=3.0,
        strike_felt_fraction=0.98,
        marking_fraction=0.98,
        left_on_fraction=0.1,
        shovel_ready_s=12.0,
        dig_rate_kg_s=1.3,
    ),
}
"""The three named skills. Every value is a setting unless `Skill` names a source for it."""

_AT_MOST_ONE = ("wrong_way_fraction", "strike_felt_fraction", "marking_fraction", "left_on_fraction")
_ABOVE_ZERO = (
    "signal_speed_m_s",
    "coarse_speed_m_s",
    "near_speed_m_s",
    "fine_speed_m_s",
    "probe_hole_s",
    "dig_rate_kg_s",
)


def check_skill(skill: Skill) -> None:
    """Refuse figures with which nobody could search.

    Raises
    ------
    BadInput
        One line per fault: not finite or below 0, a share above 1, a speed or rate of 0, no round
        of fine search.

    Examples
    --------
    >>> from dataclasses import replace
    >>> check_skill(replace(SKILLS["expert"], fine_speed_m_s=0.0))
    Traceback (most recent call last):
    ...
    coldfield.errors.BadInput: fine_speed_m_s: must be above 0
    """
    faults = []
    for field in fields(Skill):
        if field.name == "name":
            continue
        value = float(getattr(skill, field.name))
        if not isfinite(value) or value < 0.0:
            faults.append(f"{field.name}: must be finite and at least 0")
        elif field.name in _ABOVE_ZERO and value == 0.0:
            faults.append(f"{field.name}: must be above 0")
        elif field.name in _AT_MOST_ONE and value > 1.0:
            faults.append(f"{field.name}: must be at most 1")
    if not 1 <= skill.fine_rounds <= 10:
        faults.append("fine_rounds: must be from 1 to 10")
    if faults:
        raise BadInput(faults)
