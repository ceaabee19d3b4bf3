"""How long people take from a reading to the next moment, from the table that the rehearsal draws from.

The debrief needs this where a track alone leaves the border of a phase uncertain. It does not know how
skilled the person is, so these times cover novices and experts, and the uncertainty of the table.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import exp, hypot, log, sqrt

from coldfield.drill.skills import SKILLS, TABLE, Skill

ROUND_M = 4.5
"""Length of one round of the cross at the speed of the fine search, on average over rehearsals; a
test checks that it agrees with them."""

OTHER = 0.25
"""Standard deviation of the logarithm of a time from other causes: depth, place, chance. Setting."""

HOLES = 2.5
"""Mean number of holes to a strike in rehearsals with the set 1 m deep. Setting."""

TEN_M = 8.0
"""Distance walked from a reading of 10 m to one of 3 m: a metre more than from 8 m away. Setting."""

NEAR_M = 7.0
"""Distance walked from 8 m away to a reading of 3 m; the way is not straight. Setting."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Belief:
    """A time: its median, s, and the standard deviation of its logarithm."""

    middle_s: float
    spread: float


def fine_search(skill: Skill | None = None) -> Belief:
    """Return the time from a reading of 3 m to the lowest reading, for anybody or for one skill.

    Examples
    --------
    >>> round(fine_search(SKILLS["practised"]).middle_s), round(fine_search().middle_s)
    (30, 39)
    """
    return _belief(_fine_s, skill)


def fine_search_and_probing(skill: Skill | None = None) -> Belief:
    """Return the time from a reading of 3 m to the strike, including assembling the probe."""
    return _belief(lambda s: _fine_s(s) + _probe_s(s), skill)


def from_8_m(split: str) -> Belief:
    """Return the time from 8 m away from a burial to `lowest_reading` or `probe_strike`, for anybody."""
    if split == "lowest_reading":
        return _belief(lambda s: _near_s(s) + _fine_s(s), None)
    return _belief(lambda s: _near_s(s) + _fine_s(s) + _probe_s(s), None)


def from_10_m() -> Belief:
    """Return the time from a reading of 10 m to one of 3 m, for anybody."""
    return _belief(lambda s: TEN_M / s.near_speed_m_s, None)


def _near_s(skill: Skill) -> float:
    return NEAR_M / skill.near_speed_m_s


def _fine_s(skill: Skill) -> float:
    return ROUND_M * skill.fine_rounds / skill.fine_speed_m_s


def _probe_s(skill: Skill) -> float:
    return skill.probe_ready_s + HOLES * skill.probe_hole_s


def _belief(seconds: Callable[[Skill], float], skill: Skill | None) -> Belief:
    """Median and spread: of a person around the skill, of the skill's median, and between skills.

    All parts are assumed to spread like the speed of the fine search, which takes most of the time.
    """
    line = next(line for line in TABLE if line.name == "fine_speed_m_s")
    unsure = log(line.unsure) / sqrt(3.0)  # even on the log scale, from -log to log
    people = (SKILLS if skill is None else {skill.name: skill}).values()
    spread = next(iter(people)).spread.get(line.name, line.spread)
    logs = [log(seconds(s)) for s in people]
    middle = sum(logs) / len(logs)
    apart = sqrt(sum((x - middle) ** 2 for x in logs) / len(logs))
    own = hypot(hypot(spread.between, spread.within), hypot(unsure, OTHER))
    return Belief(middle_s=exp(middle), spread=hypot(own, apart))
