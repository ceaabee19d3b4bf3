"""Burials: bodies and sets under the snow."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from coldfield.drill.site import Point

Outline = Literal["person", "sack"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Antenna:
    """The direction of a transmitting antenna: azimuth clockwise from true north, tilt up from horizontal."""

    azimuth_rad: float
    tilt_rad: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Transmitter:
    """A 457 kHz set that transmits: its strength on the axis at 10 m and its keying."""

    field_at_10m_a_per_m: float = 1.0e-6
    period_s: float = 1.0
    pulse_s: float = 0.09
    phase_s: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Burial:
    """One buried person or sack; `transmitter` is None for a burial without a set.

    `position_m` is a point of the snow surface in plan; `depth_m` is measured at right angles to
    the surface there, down to the set. `set_label` is the set's stock number, if it is known.
    """

    id: str
    position_m: Point
    depth_m: float
    antenna: Antenna
    transmitter: Transmitter | None
    body_azimuth_rad: float
    outline: Outline = "person"
    set_label: str | None = None
