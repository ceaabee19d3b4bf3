"""The debrief as one document, which `--json` prints, the records keep and the page shows.

Times are in s of the run, positions [east, north] in m in plan, lengths on the snow; all numbers are finite.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Literal

from pydantic import Field

from coldfield.debrief.clocks.run_splits import TimedSplit
from coldfield.debrief.findings.counted import ObservedCount
from coldfield.debrief.findings.finding import Finding
from coldfield.debrief.findings.order_found import Reached, UsualOrder
from coldfield.debrief.findings.yardsticks import EarlierPhase, Standard
from coldfield.debrief.ground.gaps import GroundGap
from coldfield.debrief.ground.lanes_walked import LaneWalked
from coldfield.debrief.phases.digs import Dig
from coldfield.debrief.phases.from_splits import UnknownPhase
from coldfield.debrief.phases.phase import Phase
from coldfield.debrief.written import (
    OURS,
    Code,
    Count,
    Line,
    Many,
    Number,
    OrFalse,
    OrTrue,
    OrZero,
    Point,
    Said,
    Second,
    Word,
    Words,
    Written,
    or_else,
)

FORMAT: Literal["coldfield-debrief/1"] = "coldfield-debrief/1"


@dataclass(frozen=True, slots=True, kw_only=True)
class TrackPiece(Written):
    """A part of a track without a gap: a time and a place for each known second."""

    t_s: tuple[Second, ...]
    position_m: Line


@dataclass(frozen=True, slots=True, kw_only=True)
class DebriefedTrack(Written):
    """A cleaned track; `length_m` is on the snow without standing, `raw_length_m` of the recorded points.

    `length_m` counts within the run, including gaps; its uncertainty is a 95 % limit.
    """

    points: Annotated[Count, Field(ge=0)] = 0
    seconds: OrZero = 0.0
    length_m: Number | None = None
    length_uncertainty_m: Number | None = None
    raw_length_m: Number | None = None
    accuracy_m: Number | None = None
    white_m: Number | None = None
    bias_m: Number | None = None
    file: Words = ""
    clock_shift_s: OrZero = 0.0
    notes: Many[Said] = ()
    pieces: Many[TrackPiece] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Readings(Written):
    """What a person's receiver showed of one set, second by second; null: nothing."""

    burial: Word
    t_s: tuple[Number, ...]
    reading_m: tuple[Number | None, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class HeardFor(Written):
    """The total time that a person could hear one set, since when, and both uncertainties.

    `seconds` is a duration: from the alarm, or the start of the track, to its end, across dropouts and
    without the seconds in which the set could not be heard. `from_s` is the first second of the run at which
    it could be heard, null if it could not.
    """

    burial: Word
    seconds: Count | None = None
    uncertainty_s: Number | None = None
    from_s: Number | None = None
    from_uncertainty_s: Number | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class WayToBurial(Written):
    """One person's approach to one burial: its moments with their uncertainties, and how it was walked."""

    burial: Word
    audible_s: Number | None = None
    audible_uncertainty_s: Number | None = None
    turn_s: Number | None = None
    turn_uncertainty_s: Number | None = None
    reading_3_m_s: Number | None = None
    reading_3_m_uncertainty_s: Number | None = None
    side_distance_m: Number | None = None
    flux_line_ratio_uncertainty: Number | None = None
    speed_above_10_m_s: Number | None = None
    speed_below_10_m_s: Number | None = None
    accuracy_m: Number | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Span(Written):
    """From a second to a second."""

    start_s: Number
    end_s: Number


@dataclass(frozen=True, slots=True, kw_only=True)
class DebriefedSearcher(Written):
    """The part of one person in the run."""

    id: Word
    name: Words = ""
    track: DebriefedTrack | None = None
    readings: Many[Readings] = ()
    audible: Many[HeardFor] = ()
    phases: Many[Phase] = ()
    approaches: Many[WayToBurial] = ()
    idle: Many[Span] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class DebriefedBurial(Written):
    """One burial as it was found; azimuth and tilt are those of its antenna, null without a set."""

    id: Word
    position_m: Point
    depth_m: Number | None = None
    azimuth_deg: Number | None = None
    tilt_deg: Number | None = None
    has_set: OrTrue = True
    outline: Words = ""
    struck_s: Number | None = None
    clear_s: Number | None = None
    found_by: Word | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class MarkedPlace(Written):
    """A marked place of known position."""

    name: Words = ""
    position_m: Point


@dataclass(frozen=True, slots=True, kw_only=True)
class HeightLines(Written):
    """Contour lines of one elevation, m, around the site, in plan."""

    elevation_m: Number
    lines_m: tuple[Line, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class DebriefedSite(Written):
    """The ground; `contours` come from the elevation grid, and are empty on an even slope."""

    boundary_m: Annotated[Line, Field(min_length=3)]
    holes_m: Many[Line] = ()
    entry_m: Point | None = None
    last_seen_m: Point | None = None
    anchors: Many[MarkedPlace] = ()
    slope_deg: OrZero = 0.0
    aspect_deg: OrZero = 0.0
    declination_deg: Number | None = None
    contours: Many[HeightLines] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingLines(Written):
    """Lines of one reading of a set."""

    burial: Word
    reading_m: Number
    lines_m: tuple[Line, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class HearingEdge(Written):
    """Lines where a set is just heard."""

    burial: Word
    lines_m: tuple[Line, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class DebriefedHearing(Written):
    """The lines of hearing to draw, for the receiver of `searcher`."""

    searcher: Word | None = None
    words: Said | None = None
    contours: Many[ReadingLines] = ()
    audible: Many[HearingEdge] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedLane(Written):
    """The planned lane of a person."""

    searcher: Word
    line_m: Line


@dataclass(frozen=True, slots=True, kw_only=True)
class FluxLine(Written):
    """The flux line from a person's turn to a set."""

    burial: Word
    searcher: Word
    line_m: Line
    length_m: Number | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SweptCells(Written):
    """The swept ground as cells: lengths of runs, row by row from the south-west, unswept ones first."""

    cell_m: Number
    origin_m: Point
    columns: Count
    rows: Count
    runs: tuple[Count, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SweptShare(Written):
    """The share of the ground that one person swept."""

    searcher: Word
    fraction: Number


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderFound(Written):
    """The order in which the burials were reached, and the usual order in rehearsals."""

    found: Many[Reached] = ()
    rehearsed: UsualOrder | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Scatter(Written):
    """The narrower band: the scatter of runs with the constants at their medians, s."""

    p10: Number | None = None
    p90: Number | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PhaseBand(Written):
    """The duration of a phase at a burial in rehearsals, s; a percentile among failed runs is null."""

    phase: Code
    burial: Word | None = None
    p10: Number | None = None
    p50: Number | None = None
    p90: Number | None = None
    runs: Count | None = None
    scatter: Scatter | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class CurveRead(Written):
    """A survival curve at one moment; `label` is its name."""

    name: Code
    label: Said | None = None
    at_airway: Number | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class BurialSurvival(Written):
    """Survival of one burial by the curves, and the range over them."""

    burial: Word
    curves: Many[CurveRead] = ()
    low: Number | None = None
    high: Number | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Survival(Written):
    """Survival by published curves at the recorded times."""

    burial_to_alarm_s: Number | None = None
    burials: Many[BurialSurvival] = ()
    note: Said | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class AnchorVisit(Written):
    """A person's stand at an anchor, and the distance of their track from it."""

    searcher: Word
    anchor: Word
    start_s: Number
    end_s: Number
    offset_m: Point


@dataclass(frozen=True, slots=True, kw_only=True)
class TrackShift(Written):
    """The shift of a person's track onto the plan."""

    searcher: Word
    shift_m: Point


@dataclass(frozen=True, slots=True, kw_only=True)
class Alignment(Written):
    """How the tracks were aligned with the plan by visited anchors."""

    visits: Many[AnchorVisit] = ()
    shifts: Many[TrackShift] = ()
    rotation_deg: Number | None = None
    rotation_uncertainty_deg: Number | None = None
    rotation_removed: OrFalse = False
    residual_m: Number | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class DebriefedRun(Written):
    """The clock of the run, and the notes on it.

    `time_zero` says what second 0 is; `alarm_utc` and `zero_utc` are ISO 8601 with a zone. `zone` is the time
    zone of the ground by its name in the tz database, null if the ground has no map position. `alarm_from` is
    the source of the alarm's time: 'split', or 'run' for the time entered for the run. A note about one of
    the `files`, used or left out, has its name as the place.
    """

    alarm_utc: Word | None = None
    time_zero: Annotated[Words, OURS] = ""
    zero_utc: Word | None = None
    end_s: OrZero = 0.0
    strip_width_m: Number | None = None
    zone: Word | None = None
    alarm_from: Word | None = None
    splits_shift_s: OrZero = 0.0
    splits_shift_from: Word | None = None
    splits_shift_uncertainty_s: Number | None = None
    splits_clock_checked: OrTrue = True
    notes: Many[Said] = ()
    files: Many[Word] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class DebriefDocument(Written):
    """A whole debrief.

    `digs` says who dug where; the phases of a person say how long they were there. `observed` counts
    observations. `nobodys_phases` holds phases whose splits name nobody, `unknown_phases` those without
    splits; both are for runs without a track. `swept` and the fractions are null if no strip width was in
    use.
    """

    format: Literal["coldfield-debrief/1"] | None = FORMAT
    made_by: Words = ""
    model_version: Count | None = None
    title: Words = ""
    simulated: OrFalse = False
    run: Annotated[DebriefedRun, or_else(DebriefedRun())] = DebriefedRun()
    alignment: Alignment | None = None
    site: DebriefedSite | None = None
    burials: Many[DebriefedBurial] = ()
    searchers: Many[DebriefedSearcher] = ()
    digs: Many[Dig] = ()
    nobodys_phases: Many[Phase] = ()
    unknown_phases: Many[UnknownPhase] = ()
    lanes: Many[PlannedLane] = ()
    lanes_walked: Many[LaneWalked] = ()
    hearing: DebriefedHearing | None = None
    flux_lines: Many[FluxLine] = ()
    swept: SweptCells | None = None
    swept_fraction: Number | None = None
    swept_fraction_uncertainty: Number | None = None
    overlap_fraction: Number | None = None
    swept_by: Many[SweptShare] = ()
    gaps: Many[GroundGap] = ()
    order: OrderFound | None = None
    bands: Many[PhaseBand] = ()
    standards: Many[Standard] = ()
    earlier: Many[EarlierPhase] = ()
    survival: Survival | None = None
    splits: Many[TimedSplit] = ()
    findings: Many[Finding] = ()
    observed: Many[ObservedCount] = ()
    cautions: Many[Said] = ()
