"""How well people do each part of a search: one table, each constant with its source or 'setting'.

No published table of these constants was found. All values are settings of this project unless a
source stands beside them; a group's own figures override them.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import radians


@dataclass(frozen=True, slots=True, kw_only=True)
class Skill:
    """Constants of one searcher. Times in s, speeds in m/s on level snow, angles in rad."""

    name: str
    reaction_s: float
    signal_speed_m_s: float
    coarse_speed_m_s: float
    near_speed_m_s: float
    fine_speed_m_s: float
    direction_noise_rad: float
    probe_hole_s: float


SKILLS: dict[str, Skill] = {
    "novice": Skill(
        name="novice",
        reaction_s=8.0,
        signal_speed_m_s=1.0,
        coarse_speed_m_s=0.9,
        near_speed_m_s=0.4,
        fine_speed_m_s=0.1,
        direction_noise_rad=radians(15.0),
        probe_hole_s=5.0,
    ),
    "practised": Skill(
        name="practised",
        reaction_s=4.0,
        signal_speed_m_s=1.2,
        coarse_speed_m_s=1.1,
        near_speed_m_s=0.5,
        fine_speed_m_s=0.15,
        direction_noise_rad=radians(10.0),
        probe_hole_s=4.0,
    ),
    "expert": Skill(
        name="expert",
        reaction_s=2.0,
        signal_speed_m_s=1.5,
        coarse_speed_m_s=1.5,
        near_speed_m_s=0.7,
        fine_speed_m_s=0.2,
        direction_noise_rad=radians(6.0),
        probe_hole_s=3.0,
    ),
}
"""The three named skills. Every value: setting."""
