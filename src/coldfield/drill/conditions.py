"""The day: interference, snow, how people move."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Travel = Literal["on foot", "on ski", "on snowshoe"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Conditions:
    """The conditions of the day.

    If `strip_width_m` is None, the edge width of the group is used; if `lane_heading_rad` is None,
    the fastest heading. A heading is clockwise from true north, and lanes are walked both ways
    along it.
    """

    noise_rise_db: float = 0.0
    snow_density_kg_m3: float = 400.0
    travel: Travel = "on foot"
    strip_width_m: float | None = None
    burial_to_alarm_s: float = 60.0
    lane_heading_rad: float | None = None
