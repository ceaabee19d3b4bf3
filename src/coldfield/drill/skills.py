"""How well people do each part of a search: one table, each constant with its source or 'setting'.

People differ, and nobody is the same in every run. Each constant is therefore a distribution: a median, a
spread between people and a spread from run to run. The rehearsal draws from it, the debrief uses it as
prior knowledge, and the documents print it. `TABLE` is the only place; a group's own figures override it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import isfinite, radians
from typing import Literal

from coldfield.errors import BadInput
from coldfield.message import Message, message, number

Kind = Literal["positive", "share", "count"]
"""How a constant is distributed: log-normally, normally on the logit, or without spread."""

SHARED = 0.5
"""People who are quick in one phase are quick in others. This share of the variance between people
is one quickness common to all constants; the rest belongs to each constant alone. Setting."""

MOST_SPREAD = 2.0
"""A spread above this is refused: two standard deviations would be a factor of 50."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """Standard deviations of the natural logarithm of a constant (of the logit of a share).

    `between` is for people of one skill, `within` for one person from run to run.
    """

    between: float
    within: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Constant:
    """One line of the table.

    Attributes
    ----------
    name : str
        Attribute of `Skill`.
    kind : str
        'positive': times, speeds, rates and angles; 'share': from 0 to 1; 'count'.
    novice, practised, expert : float
        Medians.
    spread : Spread
        Between people and from run to run.
    unsure : float
        The median itself is known to within this factor (for a share: its odds); 1 if it is certain.
    quick : int
        1 if a quick person has more of it, -1 if less.
    source : str
        Source of the medians; 'setting' is our choice.
    spread_source : str
        Source of spread and factor.
    """

    name: str
    kind: Kind
    novice: float
    practised: float
    expert: float
    spread: Spread
    unsure: float
    quick: int
    source: str = "setting"
    spread_source: str = "setting"


def _line(
    name: str,
    middles: tuple[float, float, float],
    spreads: tuple[float, float, float],
    quick: int,
    *,
    kind: Kind = "positive",
    source: str = "setting",
    spread_source: str = "setting",
) -> Constant:
    """Return a line; `middles` are novice, practised, expert; `spreads` are between, within, unsure."""
    return Constant(
        name=name,
        kind=kind,
        novice=middles[0],
        practised=middles[1],
        expert=middles[2],
        spread=Spread(between=spreads[0], within=spreads[1]),
        unsure=spreads[2],
        quick=quick,
        source=source,
        spread_source=spread_source,
    )


_DEGREES = (radians(15.0), radians(10.0), radians(6.0))

TABLE: tuple[Constant, ...] = (
    _line("reaction_s", (20.0, 10.0, 5.0), (0.4, 0.4, 1.5), -1),
    _line("signal_speed_m_s", (1.0, 1.2, 1.5), (0.15, 0.1, 1.25), 1),
    _line(
        "coarse_speed_m_s",
        (1.1, 1.4, 1.8),
        (0.25, 0.25, 1.3),
        1,
        source="'fast from the first signal to about 10 m' is common practice; the values are settings",
    ),
    _line(
        "near_speed_m_s",
        (0.4, 0.5, 0.7),
        (0.3, 0.3, 1.4),
        1,
        source="'slower and exact below 10 m' is common practice; the values are settings",
    ),
    _line(
        "fine_speed_m_s",
        (0.1, 0.15, 0.2),
        (0.35, 0.35, 1.5),
        1,
        source="'slow, at the snow surface' is common practice; the values are settings",
    ),
    _line("direction_noise_rad", _DEGREES, (0.3, 0.2, 1.5), -1),
    _line("wrong_way_fraction", (0.3, 0.15, 0.05), (0.5, 0.3, 2.0), -1, kind="share"),
    _line("turn_s", (5.0, 3.0, 1.5), (0.4, 0.4, 1.5), -1),
    _line("place_error_m", (0.25, 0.15, 0.1), (0.3, 0.3, 1.5), -1),
    _line("probe_ready_s", (30.0, 15.0, 8.0), (0.35, 0.3, 1.5), -1),
    _line("probe_hole_s", (5.0, 4.0, 3.0), (0.3, 0.2, 1.4), -1),
    _line("strike_felt_fraction", (0.9, 0.95, 0.98), (0.5, 0.3, 2.0), 1, kind="share"),
    _line(
        "marking_fraction",
        (0.93, 0.98, 0.99),
        (0.8, 0.3, 2.0),
        1,
        kind="share",
        source="setting, with `Receiver.marking` so that novices leave the third of three unfound in about "
        "30 % of tests, advanced users far less often (Schweizer, Genswein, Jarry & Letang 2012, The "
        "Avalanche Review 31(2), abstract)",
    ),
    _line("left_on_fraction", (0.5, 0.25, 0.1), (0.8, 0.3, 2.0), -1, kind="share"),
    _line("shovel_ready_s", (30.0, 20.0, 12.0), (0.35, 0.3, 1.5), -1),
    _line(
        "dig_rate_kg_s",
        (0.9, 1.1, 1.3),
        (0.25, 0.15, 1.6),
        1,
        source="setting below the 1.50 to 1.79 kg/s of loose snow and short effort, a ceiling (Schindelwig "
        "et al. 2017, Sports 5(2):31, abstract)",
        spread_source="men moved 44 % more than women (same abstract): 0.18 of the spread between people; "
        "the rest is a setting",
    ),
    _line("start_far_fraction", (0.4, 0.15, 0.05), (0.5, 0.3, 2.0), -1, kind="share"),
    _line("fine_rounds", (2, 1, 1), (0.0, 0.0, 1.0), -1, kind="count"),
)
"""Every constant of a skill, in the order of `Skill`: medians, spreads, uncertainty, source."""

CONSTANTS: tuple[str, ...] = tuple(line.name for line in TABLE)
"""The names of all constants of a skill."""

SPREADS: dict[str, Spread] = {line.name: line.spread for line in TABLE}
"""The spreads of the table; do not change in place."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Skill:
    """Constants of one searcher, as medians. Times in s, speeds in m/s on level snow, angles in rad.

    Attributes
    ----------
    reaction_s : float
        Time from the alarm until the person walks with the set switched to search.
    signal_speed_m_s, coarse_speed_m_s : float
        Walking speed along a lane, and along the direction down to a reading of 10 m.
    near_speed_m_s : float
        Walking speed below a reading of 10 m.
    fine_speed_m_s : float
        Speed of the set over the snow in the fine search.
    direction_noise_rad : float
        Standard deviation of the walked from the shown direction, in a strong signal.
    wrong_way_fraction : float
        Share of first turns that take the wrong one of the line's two ways.
    turn_s : float
        Time standing still to understand a first signal, or to turn round.
    fine_rounds : int
        How often the cross is walked before probing.
    place_error_m : float
        Standard deviation, each way, of the first probe hole from the place of the lowest reading.
    probe_ready_s, shovel_ready_s : float
        Time to assemble the probe, and the shovel.
    probe_hole_s : float
        Time for one hole with a probe of 2.4 m, down and up.
    strike_felt_fraction : float
        Share of hits that are recognised as hits.
    marking_fraction : float
        Share of found sets that the person marks successfully if the function works.
    left_on_fraction : float
        Share of people who start to dig without switching their set off or back by hand.
    dig_rate_kg_s : float
        Snow moved in the first minutes.
    start_far_fraction : float
        Share of finds where the hole is started too far from the probe.
    spread : mapping of str to Spread
        By the name of the constant; a missing one does not spread. Do not change in place.
    shared : float
        Share, 0 to 1, of the variance between people that is one quickness common to all constants.
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
    start_far_fraction: float
    spread: Mapping[str, Spread] = field(default_factory=lambda: SPREADS, hash=False)
    shared: float = SHARED


def _skill(name: Literal["novice", "practised", "expert"]) -> Skill:
    middles = {line.name: getattr(line, name) for line in TABLE}
    return Skill(name=name, **middles)


SKILLS: dict[str, Skill] = {
    "novice": _skill("novice"),
    "practised": _skill("practised"),
    "expert": _skill("expert"),
}
"""The three named skills, from `TABLE`."""


def table_rows() -> list[dict[str, str | float]]:
    """Return the table as plain rows, for documents and the debrief: one per constant.

    Keys: name, kind, novice, practised, expert, between, within, unsure, source, spread_source.

    Examples
    --------
    >>> table_rows()[0]["name"], table_rows()[0]["practised"], table_rows()[0]["between"]
    ('reaction_s', 10.0, 0.4)
    """
    return [
        {
            "name": line.name,
            "kind": line.kind,
            "novice": line.novice,
            "practised": line.practised,
            "expert": line.expert,
            "between": line.spread.between,
            "within": line.spread.within,
            "unsure": line.unsure,
            "source": line.source,
            "spread_source": line.spread_source,
        }
        for line in TABLE
    ]


_AT_MOST_ONE = tuple(line.name for line in TABLE if line.kind == "share")
ABOVE_ZERO = (
    "signal_speed_m_s",
    "coarse_speed_m_s",
    "near_speed_m_s",
    "fine_speed_m_s",
    "probe_hole_s",
    "dig_rate_kg_s",
)
"""Speeds, rates and times that must be above 0 for anybody to search."""


def check_skill(skill: Skill) -> None:
    """Raise an error for figures with which nobody could search.

    Raises
    ------
    BadInput
        With one line per fault: not finite or below 0, a share above 1, a speed or rate of 0, no
        round of fine search, a spread that is not from 0 to 2 or belongs to no constant.

    Examples
    --------
    >>> from dataclasses import replace
    >>> check_skill(replace(SKILLS["expert"], fine_speed_m_s=0.0))
    Traceback (most recent call last):
    ...
    coldfield.errors.BadInput: fine_speed_m_s: must be above 0
    """
    faults: list[Message] = []
    for name in CONSTANTS:
        value = float(getattr(skill, name))
        if not isfinite(value) or value < 0.0:
            faults.append(message("fault.finite_at_least", low=number(0.0)).at(name))
        elif name in ABOVE_ZERO and value == 0.0:
            faults.append(message("fault.above", low=number(0.0)).at(name))
        elif name in _AT_MOST_ONE and value > 1.0:
            faults.append(message("fault.at_most", high=number(1.0)).at(name))
    if not 1 <= skill.fine_rounds <= 10:
        faults.append(message("fault.bounds", low=number(1), high=number(10)).at("fine_rounds"))
    for name, spread in skill.spread.items():
        if name not in CONSTANTS:
            faults.append(message("fault.no_constant").at(f"spread.{name}"))
        faults += [
            message("fault.bounds", low=number(0.0), high=number(MOST_SPREAD)).at(f"spread.{name}.{part}")
            for part in ("between", "within")
            if not 0.0 <= getattr(spread, part) <= MOST_SPREAD
        ]
    if not 0.0 <= skill.shared <= 1.0:
        faults.append(message("fault.bounds", low=number(0.0), high=number(1.0)).at("shared"))
    if faults:
        raise BadInput(faults)
