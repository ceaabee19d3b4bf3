"""The answers of the use cases on signal search. Field names are the keys of the JSON object.

Lengths and widths are metres on the snow, places metres east and north, chances from 0 to 1.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from coldfield.app.answers import IF_ASKED
from coldfield.app.strips.reasons import WidthReasons
from coldfield.drill.site import Point
from coldfield.message import Message
from coldfield.search.width.choice import WidthChoice
from coldfield.search.width.strip_width import WidthChance


@dataclass(frozen=True, slots=True, kw_only=True)
class LaneAnswer:
    """One searcher's lane; its length excludes the way from the entry, its time includes it."""

    searcher: str
    line_m: tuple[Point, ...]
    length_m: float
    seconds: float


@dataclass(frozen=True, slots=True, kw_only=True)
class RasterAnswer:
    """Chances in thousandths, row by row from the south-west; None off the ground."""

    west_m: float
    south_m: float
    step_m: float
    columns: int
    rows: int
    per_mille: tuple[int | None, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SecondPassAnswer:
    """The chances after a second pass with strips half as wide."""

    strip_width_m: float
    seconds: float
    mean_probability: float
    least_probability: float
    least_heard_m: Point


@dataclass(frozen=True, slots=True, kw_only=True)
class DetectionAnswer:
    """The chance that a set anywhere is heard from the lanes, and the place where it is lowest."""

    mean_probability: float
    least_probability: float
    least_heard_m: Point
    raster: RasterAnswer
    second_pass: SecondPassAnswer
    notes: tuple[Message, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class StripsAnswer:
    """The ground divided among the searchers; chances and other widths if they were asked for."""

    strip_width_m: float
    heading_deg: float
    sharing: str
    strips: int
    lanes: tuple[LaneAnswer, ...]
    free_hands: tuple[str, ...]
    covered_fraction: float
    seconds: float
    seconds_lower_bound: float
    notes: tuple[Message, ...]
    detection: Annotated[DetectionAnswer | None, IF_ASKED] = None
    widths: Annotated[tuple[WidthChoice, ...] | None, IF_ASKED] = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ChanceAnswer(WidthChance):
    """Chances at one width, and the coverage of search theory: sweep width over width."""

    coverage: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SurvivalAtWidth:
    """Expected survival of the scenario at one width."""

    width_m: float
    expected_survival: float


@dataclass(frozen=True, slots=True, kw_only=True)
class WidthUncertainty:
    """The uncertainty of the edge width; None: outside the model."""

    edge_width_standard_error_m: float
    sweep_width_standard_error_m: float
    range_doubt_m: float
    edge_width_at_shorter_range_m: float | None
    edge_width_at_longer_range_m: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class DirectionAnswer:
    """The chance that a set in one direction is heard from half the edge width."""

    words: Message
    azimuth_from_lane_deg: float
    tilt_deg: float
    probability: float


@dataclass(frozen=True, slots=True, kw_only=True)
class GroundEffectAnswer:
    """Ranges and widths over one kind of ground as shares of those in free space; None: not known."""

    words: Message
    in_line_range_share: float | None
    side_by_side_range_share: float | None
    upright_range_share: float | None
    edge_width_share: float | None
    timed_width_share: float | None
    sweep_width_share: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class ScenarioAnswer:
    """The scenario for the timed width, and the pair of sets that decides."""

    ground: Message
    area_m2: float
    searchers: int
    lane_speed_m_per_s: float
    first_signal_to_airway_s: float
    burial_to_start_s: float
    survival_curve: str
    survival_curve_label: Message
    missed_once: Message
    missed_twice: Message
    median_depth_m: float
    depth_sigma: float
    receiver_height_m: float
    transmitter_directions: Message
    field_at_10m_ua_per_m: float
    period_s: float
    threshold_na_per_m: float
    antennas: int
    antenna_factors: tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class StripWidthAnswer:
    """Today's strip width by three methods, with reasons and uncertainties; ranges are today's.

    `upright_range_m` is None if the receiver does not hear an upright set, `meier_width_m` if the formula is
    not valid.
    """

    edge_width_m: float
    timed_width_m: float
    sweep_width_m: float
    coaxial_range_m: float
    coplanar_range_m: float
    upright_range_m: float | None
    quiet_coaxial_range_m: float
    noise_rise_db: float
    pod: float
    widths: tuple[ChanceAnswer, ...]
    chances_by_width: tuple[WidthChance, ...]
    reasons: WidthReasons
    timed_width_within_1_percent_m: tuple[float, float]
    timed_curve: tuple[SurvivalAtWidth, ...]
    meier_width_m: float | None
    uncertainty: WidthUncertainty
    directions_at_half_the_edge_width: tuple[DirectionAnswer, ...]
    ground: tuple[GroundEffectAnswer, ...]
    scenario: ScenarioAnswer
    method: Message
    assumptions: tuple[Message, ...]
    literature: Message
    warnings: tuple[Message, ...]
