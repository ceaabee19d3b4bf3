"""The answers of the use cases on hearing. Field names are the keys of the JSON object.

Places are metres east and north in the site frame, lengths metres on the snow, shares from 0 to 1.
"""

from __future__ import annotations

from dataclasses import dataclass

from coldfield.beacon.fluxline import Ended
from coldfield.beacon.interference import NearbySource
from coldfield.drill.site import Point
from coldfield.message import Message


@dataclass(frozen=True, slots=True, kw_only=True)
class BurialHeard:
    """What is heard of one burial; every value None for a burial without a set.

    `field_a_per_m` holds the real and imaginary parts of the peak field east, north and up, A/m, for the time
    factor exp(-i w t); `magnitude_a_per_m` is the root of the sum of their squares. `reading_m` and
    `direction_deg` are also None if the set is not heard. The direction is also None if the horizontal part
    of the field is too weak, and with one antenna, which gives no direction.
    """

    id: str
    distance_m: float | None = None
    field_a_per_m: tuple[tuple[float, float], ...] | None = None
    magnitude_a_per_m: float | None = None
    reading_m: float | None = None
    direction_deg: float | None = None
    audible: bool | None = None
    audible_probability: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SignalAnswer:
    """What one searcher's receiver hears of every burial at one place."""

    searcher: str
    at_m: Point
    height_m: float
    heading_deg: float
    burials: tuple[BurialHeard, ...]
    notes: tuple[Message, ...]


@dataclass(frozen=True, kw_only=True)
class MapAnswer:
    """The file of a hearing map, None if none was written, and warnings about another drill nearby."""

    map: str | None
    warnings: tuple[Message, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SignalAndMapAnswer(SignalAnswer, MapAnswer):
    """What is heard at one place, with a map."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FluxLineAnswer:
    """One walk along the direction to a burial.

    `reading_m` has a value for each corner of `line_m`, None if nothing is heard. `length_m` and the
    `straight_m` distance to the end are on the snow; `ratio` is the first divided by the second, None if the
    walk ends where it began. `seconds` is at the searcher's own speeds.
    """

    burial: str
    line_m: tuple[Point, ...]
    reading_m: tuple[float | None, ...]
    length_m: float
    straight_m: float
    ratio: float | None
    seconds: float
    ended: Ended


@dataclass(frozen=True, slots=True, kw_only=True)
class FluxLinesAnswer:
    """The walks from one place, one for each burial."""

    searcher: str
    from_m: Point
    lines: tuple[FluxLineAnswer, ...]
    notes: tuple[Message, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class NeighbourSet:
    """A set of another drill on this plan.

    `heard_by` holds ids of searchers, `ground_share` the share of the ground where any of them hears it,
    `lowest_reading_m` its lowest reading there, None if it is not heard.
    """

    id: str
    position_m: Point
    heard_by: tuple[str, ...]
    ground_share: float
    lowest_reading_m: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class NeighbourHides:
    """The share of the pulses of one of this drill's sets that others hide in the long run.

    `alone_share`: hidden by this drill's other sets; `with_share`: also by the neighbour's audible sets.
    """

    id: str
    alone_share: float
    with_share: float


@dataclass(frozen=True, slots=True, kw_only=True)
class NeighbourAnswer:
    """The effect of another drill on record on this one."""

    id: str
    name: str
    sets: tuple[NeighbourSet, ...]
    burials: tuple[NeighbourHides, ...]
    notes: tuple[Message, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class KeyingAnswer:
    """The keying of a set, s."""

    period_s: float
    pulse_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PulseAnswer:
    """One pulse, s, and the ids of the sets that hide it."""

    from_s: float
    to_s: float
    hidden_by: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SetHidden:
    """How other sets hide one set: shares of its pulses that are hidden, and the longest spell, s.

    For the phases of the drill, for random phases (the spell is a 90th percentile), and in the long run.
    """

    id: str
    masked_share: float
    longest_masked_s: float
    random_phases_masked_share: float
    random_phases_longest_p90_s: float
    long_run_masked_share: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SetHiddenInTime(SetHidden):
    """The same, pulse by pulse and in spells, s; `spells_left_out` further spells are left out."""

    keying: KeyingAnswer
    pulses: tuple[PulseAnswer, ...]
    hidden_spells_s: tuple[tuple[float, float], ...]
    spells_left_out: int


@dataclass(frozen=True, slots=True, kw_only=True)
class OverlapOfTwo:
    """How long two sets overlap and after what time they do again, s; None if their periods are equal."""

    ids: tuple[str, str]
    episode_s: float | None
    comes_back_after_s: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class OverlapAnswer:
    """How the sets of a drill hide each other's pulses."""

    duration_s: float
    burials: tuple[SetHidden, ...]
    pairs: tuple[OverlapOfTwo, ...]
    notes: tuple[Message, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class OverlapInTimeAnswer:
    """The same, with single pulses up to `window_s`."""

    duration_s: float
    window_s: float
    burials: tuple[SetHiddenInTime, ...]
    pairs: tuple[OverlapOfTwo, ...]
    notes: tuple[Message, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class FineRow:
    """Where the lowest reading over a set lies, for receivers with one number of antennas.

    `offset_m` is measured from straight above, also as a share of the depth; `hole_rings` is the number of
    rings of a probe spiral needed to reach the set from there.
    """

    antennas: int
    offset_m: float
    offset_share_of_depth: float
    lowest_reading_m: float
    hole_rings: int
    words: Message


@dataclass(frozen=True, slots=True, kw_only=True)
class FineAnswer:
    """Where the lowest reading lies over a set, for three, two and one antennas."""

    depth_m: float
    tilt_deg: float
    receivers: tuple[FineRow, ...]
    notes: tuple[Message, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class NoiseAnswer:
    """The effect of noise near a receiver; `noise_rise_db` is today's, None if no ranges were given."""

    noise_rise_db: float | None
    source_rise_at_50_cm_db: float
    rows: tuple[NearbySource, ...]
    searching_side: Message
    transmitting_side: Message


@dataclass(frozen=True, slots=True, kw_only=True)
class ReceiverFigures:
    """A receiver as a drill file gives it."""

    threshold_na_per_m: float
    reference_field_at_10m_ua_per_m: float
    antennas: int
    antenna_factors: tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class RangeTestAnswer:
    """A receiver's figures from measured ranges, each with one standard error."""

    receiver: ReceiverFigures
    coaxial_range_m: float
    coaxial_range_error_m: float
    threshold_error_na_per_m: float
    upright_factor: float | None
    upright_factor_error: float | None
    agreement_in_standard_errors: float | None
    notes: tuple[Message, ...]
