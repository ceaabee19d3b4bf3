"""How long people take from a reading to the next moment, by the same table the rehearsal draws from.

The debrief needs it where a track alone leaves a border unsure. Whom it sees it does not know, so these
hold novices and experts alike, and how unsure the table is.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import exp, hypot, log, sqrt

from coldfield.drill.skills import SKILLS, TABLE, Skill

ROUND_M = 4.5
"""One round of the cross is walked at the speed of fine search over so much, on average of the rehearsals;
a test holds the two together."""

OTHER = 0.25
"""Deviation of the logarithm of a time by what is no constant of a person: depth, place, chance. Setting."""

HOLES = 2.5
"""Holes to a strike, on average of the rehearsals where the set lies 1 m deep. Setting."""

TEN_M = 8.0
"""Walked from a reading of 10 m to one of 3 m: a metre more than from 8 m off a burial. Setting."""

NEAR_M = 7.0
"""Walked from 8 m off a burial to a reading of 3 m: the way is no straight line. Setting."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Belief:
    """A time: median, s, and deviation of its logarithm."""

    middle_s: float
    spread: float


def fine_search(skill: Skill | None = None) -> Belief:
    """Return how long it takes from a reading of 3 m to the lowest reading, by anybody or one skill.

    Examples
    --------
    >>> round(fine_search(SKILLS["practised"]).middle_s), round(fine_search().middle_s)
    (30, 39)
    """
    return _belief(_fine_s, skill)


def fine_search_and_probing(skill: Skill | None = None) -> Belief:
    """Return how long it takes from a reading of 3 m to the strike, with putting the probe together."""
    return _belief(lambda s: _fine_s(s) + _probe_s(s), skill)


def from_8_m(split: str) -> Belief:
    """Return how long anybody takes from 8 m off a burial to `lowest_reading` or `probe_strike`."""
    if split == "lowest_reading":
        return _belief(lambda s: _near_s(s) + _fine_s(s), None)
    return _belief(lambda s: _near_s(s) + _fine_s(s) + _probe_s(s), None)


def from_10_m() -> Belief:
    """Return how long anybody takes from a reading of 10 m to one of 3 m."""
    return _belief(lambda s: TEN_M / s.near_speed_m_s, None)


def _near_s(skill: Skill) -> float:
    return NEAR_M / skill.near_speed_m_s


def _fine_s(skill: Skill) -> float:
    return ROUND_M * skill.fine_rounds / skill.fine_speed_m_s


def _probe_s(skill: Skill) -> float:
    return skill.probe_ready_s + HOLES * skill.probe_hole_s


def _belief(seconds: Callable[[Skill], float], skill: Skill | None) -> Belief:
    """Median and spread: of a person round the skill, of the skill's middle, and of skills themselves.

    All parts are taken to spread like the speed of fine search, which is most of the time.
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
