"""The people who search, and their gear."""

from __future__ import annotations

from dataclasses import dataclass

from coldfield.drill.skills import Skill

DEFAULT_ANTENNAS = 3
DEFAULT_REFERENCE_A_PER_M = 1.0e-6

DEFAULT_ANTENNA_FACTORS: dict[int, tuple[float, ...]] = {1: (1.0,), 2: (1.0, 1.0), 3: (1.0, 1.0, 3.0)}
"""Antenna factors if a drill gives none: the third antenna is usually the worst. Setting."""


TYPICAL_MARKING = 0.9
"""How often the marking function of a typical set works, as a share: the meaning of 'true' in a
drill file. Setting, chosen together with `Skill.marking_fraction`: novices do not find the third of
three in about 30 % of tests, mainly because the marking function failed (Schweizer, Genswein, Jarry
& Letang 2012, The Avalanche Review 31(2), abstract)."""


def marking_share(told: bool | float) -> float:
    """Return how often a marking function works, as a share, from the value in a drill file.

    Examples
    --------
    >>> [marking_share(told) for told in (True, False, 0.7, 1.0)]
    [0.9, 0.0, 0.7, 1.0]
    """
    if isinstance(told, bool):
        return TYPICAL_MARKING if told else 0.0
    return float(told)


def told_marking(share: float) -> bool | float:
    """Return the value in a drill file for a share: true for a typical function, false for none.

    Examples
    --------
    >>> [told_marking(share) for share in (0.9, 0.0, 0.7)]
    [True, False, 0.7]
    """
    if share in (0.0, TYPICAL_MARKING):
        return share > 0.0
    return share


@dataclass(frozen=True, slots=True, kw_only=True)
class Receiver:
    """A set that searches. Exactly one of `coaxial_range_m` and `threshold_a_per_m` is given.

    `coaxial_range_m` was measured on the axis, in quiet conditions, against a set of
    `reference_field_at_10m_a_per_m`. `vertical_range_m`, if given, was measured against an upright
    set. An antenna factor of 3 means three times less sensitive than the best one. `marking` is how
    often its marking function works, as a share; 0 if it has none.
    """

    coaxial_range_m: float | None = None
    threshold_a_per_m: float | None = None
    vertical_range_m: float | None = None
    reference_field_at_10m_a_per_m: float = DEFAULT_REFERENCE_A_PER_M
    antennas: int = DEFAULT_ANTENNAS
    antenna_factors: tuple[float, ...] = DEFAULT_ANTENNA_FACTORS[DEFAULT_ANTENNAS]
    turning: bool = False
    marking: float = TYPICAL_MARKING


@dataclass(frozen=True, slots=True, kw_only=True)
class Searcher:
    """One person of the searching party; `probe_length_m` is None for a searcher without a probe.

    `set_label` is the stock number of the set that they search with, if it is known.
    """

    id: str
    name: str
    skill: Skill
    receiver: Receiver
    probe_length_m: float | None = 2.4
    shovel: bool = True
    set_label: str | None = None
