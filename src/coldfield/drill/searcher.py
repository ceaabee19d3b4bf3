"""Who searches, and with what."""

from __future__ import annotations

from dataclasses import dataclass

from coldfield.drill.skills import Skill

DEFAULT_ANTENNA_FACTORS: dict[int, tuple[float, ...]] = {1: (1.0,), 2: (1.0, 1.0), 3: (1.0, 1.0, 3.0)}
"""Antenna factors where a drill gives none: the third antenna is usually the worst. Setting."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Receiver:
    """A set that searches. Exactly one of `coaxial_range_m` and `threshold_a_per_m` is given.

    `coaxial_range_m` was measured on the axis, in quiet conditions, against a set of
    `reference_field_at_10m_a_per_m`. `vertical_range_m`, where given, was measured against an
    upright set. An antenna factor of 3 means: three times less sensitive than the best one.
    """

    coaxial_range_m: float | None = None
    threshold_a_per_m: float | None = None
    vertical_range_m: float | None = None
    reference_field_at_10m_a_per_m: float = 1.0e-6
    antennas: int = 3
    antenna_factors: tuple[float, ...] = (1.0, 1.0, 3.0)
    turning: bool = False
    marking: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Searcher:
    """One person of the searching party; `probe_length_m` is None for a searcher without a probe."""

    id: str
    name: str
    skill: Skill
    receiver: Receiver
    probe_length_m: float | None = 2.4
    shovel: bool = True
