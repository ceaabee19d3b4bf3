"""The constants of a searcher in one run, drawn around their medians; the plain player."""

from __future__ import annotations

from dataclasses import replace
from math import exp, hypot, sqrt
from typing import Any

from coldfield.drill import Searcher, Skill
from coldfield.drill.skills import TABLE, Constant, Spread
from coldfield.rescue.draws import Draws, Purpose, normal
from coldfield.rescue.settings import Settings

_NONE = Spread(between=0.0, within=0.0)


def drawn_skill(noun: Searcher, settings: Settings, draws: Draws, s: int) -> Skill:
    """Return the constants of a searcher in this run.

    One quickness is shared by all constants; the rest of a constant's spread is its own.
    """
    skill = _with_one_antenna(noun, settings)
    u, v, _, _ = draws.four(Purpose.PERSON, searcher=s)
    quick = normal(u, v)
    drawn: dict[str, Any] = {}
    for c, line in enumerate(TABLE):
        a, b, g, d = draws.four(Purpose.PERSON, searcher=s, index=1 + c // 2)
        own = normal(a, b) if c % 2 == 0 else normal(g, d)
        value = float(getattr(skill, line.name))
        drawn[line.name] = value if line.kind == "count" else _moved(skill, line, value, quick, own)
    drawn["fine_rounds"] = skill.fine_rounds
    return replace(skill, **drawn)


def _moved(skill: Skill, line: Constant, value: float, quick: float, own: float) -> float:
    spread = skill.spread.get(line.name, _NONE)
    shared = line.quick * spread.between * sqrt(skill.shared) * quick
    by = exp(shared + hypot(spread.between * sqrt(1.0 - skill.shared), spread.within) * own)
    return value * by / (1.0 - value + value * by) if line.kind == "share" else value * by


def _with_one_antenna(noun: Searcher, settings: Settings) -> Skill:
    """Adapt a skill to a single antenna, which is turned at each stop to find the direction."""
    skill = noun.skill
    if noun.receiver.antennas > 1:
        return skill
    return replace(
        skill,
        turn_s=skill.turn_s + settings.look_s,
        coarse_speed_m_s=skill.coarse_speed_m_s * settings.look_pace,
        near_speed_m_s=skill.near_speed_m_s * settings.look_pace,
    )
