"""What the routes for strip widths and lanes answer."""

from __future__ import annotations

from coldfield.web.routes.computing import Answer


class LaneAnswer(Answer):
    """One searcher's lane; the length on the snow, the time with the way from the entry."""

    searcher: str
    line_m: list[list[float]]
    length_m: float
    seconds: float


class RasterAnswer(Answer):
    """Chances row by row from south-west, in thousandths; null off the ground."""

    west_m: float
    south_m: float
    step_m: float
    columns: int
    rows: int
    per_mille: list[int | None]


class SecondPassAnswer(Answer):
    """The chances after a second pass with strips half as wide."""

    strip_width_m: float
    seconds: float
    mean_probability: float
    least_probability: float
    least_heard_m: list[float]


class DetectionAnswer(Answer):
    """How likely a set anywhere is heard from the lanes, and where it would be heard least."""

    mean_probability: float
    least_probability: float
    least_heard_m: list[float]
    raster: RasterAnswer
    second_pass: SecondPassAnswer
    notes: list[str]


class StripsAnswer(Answer):
    """The ground shared among the searchers; `detection` where it was asked for."""

    strip_width_m: float
    heading_deg: float
    sharing: str
    strips: int
    lanes: list[LaneAnswer]
    free_hands: list[str]
    covered_fraction: float
    seconds: float
    seconds_lower_bound: float
    notes: list[str]
    detection: DetectionAnswer | None = None


class ByWidthAnswer(Answer):
    """Chances at one width."""

    width_m: float
    worst_point_probability: float
    mean_probability: float


class ChanceAnswer(ByWidthAnswer):
    """Chances at one width, and the coverage of search theory."""

    coverage: float


class SurvivalAtWidth(Answer):
    """Expected survival of the scenario at one width."""

    width_m: float
    expected_survival: float


class WidthUncertainty(Answer):
    """How far the edge width can be trusted; null: outside the model."""

    edge_width_standard_error_m: float
    sweep_width_standard_error_m: float
    range_doubt_m: float
    edge_width_at_shorter_range_m: float | None
    edge_width_at_longer_range_m: float | None


class DirectionAnswer(Answer):
    """How likely a set that lies one way is heard from half the edge width."""

    words: str
    azimuth_from_lane_deg: float
    tilt_deg: float
    probability: float


class GroundAnswer(Answer):
    """Shares of the free-space figures over one kind of ground; null: not known."""

    words: str
    in_line_range_share: float | None
    side_by_side_range_share: float | None
    upright_range_share: float | None
    edge_width_share: float | None
    timed_width_share: float | None
    sweep_width_share: float | None


class SetWidthAnswer(Answer):
    """What the edge width would be if one set decided; null: outside the model."""

    id: str
    edge_width_m: float | None
    weakest: bool


class ReasonsAnswer(Answer):
    """Edge widths by searcher, by burial, and without today's interference."""

    searchers: list[SetWidthAnswer]
    burials: list[SetWidthAnswer]
    quiet_edge_width_m: float | None


class ScenarioAnswer(Answer):
    """What the timed width is compared on, and the pair of sets that decides."""

    area_m2: float
    searchers: int
    lane_speed_m_per_s: float
    first_signal_to_airway_s: float
    burial_to_start_s: float
    survival_curve: str
    field_at_10m_ua_per_m: float
    threshold_na_per_m: float
    antennas: int


class StripWidthAnswer(Answer):
    """How wide to search today, by three methods, with reasons and doubts."""

    edge_width_m: float
    timed_width_m: float
    sweep_width_m: float
    coaxial_range_m: float
    coplanar_range_m: float
    upright_range_m: float | None
    quiet_coaxial_range_m: float
    noise_rise_db: float
    pod: float
    widths: list[ChanceAnswer]
    chances_by_width: list[ByWidthAnswer]
    reasons: ReasonsAnswer
    timed_width_within_1_percent_m: list[float]
    timed_curve: list[SurvivalAtWidth]
    meier_width_m: float | None
    uncertainty: WidthUncertainty
    directions_at_half_the_edge_width: list[DirectionAnswer]
    ground: list[GroundAnswer]
    scenario: ScenarioAnswer
    method: str
    assumptions: list[str]
    literature: str
    warnings: list[str]
