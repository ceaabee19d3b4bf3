"""The table of skills for people: by the keys of a drill file, angles in degrees."""

from __future__ import annotations

from math import degrees

from coldfield.app.rehearsals.answers import ConstantAnswer, SkillsAnswer
from coldfield.app.rehearsals.constants import constant_words
from coldfield.drill.searcher import TYPICAL_MARKING
from coldfield.drill.skills import MOST_SPREAD, SHARED, TABLE, Constant
from coldfield.files.drill_model import skill_key


def skill_table() -> SkillsAnswer:
    """Return every constant with a spread: key, name, medians by skill, spreads between people and runs.

    Examples
    --------
    >>> row = next(row for row in skill_table().constants if row.key == "direction_noise_deg")
    >>> row.middles["practised"], row.words.code
    (10.0, 'term.constant.direction_noise_rad')
    """
    return SkillsAnswer(
        constants=tuple(_row(line) for line in TABLE if line.kind != "count"),
        shared=SHARED,
        most_spread=MOST_SPREAD,
        typical_marking=TYPICAL_MARKING,
    )


def _row(line: Constant) -> ConstantAnswer:
    angle = line.name.endswith("_rad")
    middles = {"novice": line.novice, "practised": line.practised, "expert": line.expert}
    return ConstantAnswer(
        key=skill_key(line.name),
        words=constant_words(line.name),
        share=line.kind == "share",
        middles={name: round(degrees(value) if angle else value, 6) for name, value in middles.items()},
        between=line.spread.between,
        within=line.spread.within,
    )
