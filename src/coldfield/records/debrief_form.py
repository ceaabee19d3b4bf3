"""The parts of a kept debrief: what must have which type, so that every page and table can read it.

The page that shows a debrief reads the same parts (`frontend/src/debrief/document.ts`). Parts may be missing,
as in debriefs of earlier versions; further ones are kept as they are. Times in s of the run, places
[east, north] in m.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, ValidationError, model_validator

from coldfield.files.faults import fault_lines
from coldfield.records.moments import real_moment
from coldfield.records.plain_json import plain_object
from coldfield.words import say


def _a_moment(text: str) -> str:
    real_moment(text)
    return text


Number = Annotated[float, Field(ge=-1e12, le=1e12)]
"""Far beyond any second, metre or count of a run. Setting."""

Second = Annotated[float, Field(ge=-1e9, le=1e9)]
"""Within 31 years of the run's zero: every such moment can be written as a date. Setting."""

Maybe = Number | None
Words = str | None
MomentTold = Annotated[str, AfterValidator(_a_moment)]
Point = Annotated[list[Number], Field(min_length=2, max_length=2)]
Line = list[Point]


class Told(BaseModel):
    """One object of a debrief; keys that are not named here are left alone."""

    model_config = ConfigDict(extra="ignore", strict=True, allow_inf_nan=False)


class Piece(Told):
    """A stretch of a track without a gap: a time and a place for each second that is known."""

    t_s: list[Second]
    position_m: Line

    @model_validator(mode="after")
    def _as_long(self) -> Piece:
        if len(self.t_s) != len(self.position_m):
            raise ValueError("must have as many times as positions")
        return self


class Track(Told):
    """A cleaned track."""

    points: Maybe = None
    seconds: Maybe = None
    length_m: Maybe = None
    raw_length_m: Maybe = None
    accuracy_m: Maybe = None
    file: Words = None
    clock_shift_s: Maybe = None
    notes: list[str] | None = None
    pieces: list[Piece] | None = None


class Readings(Told):
    """What a person's receiver showed of one set, second by second."""

    burial: str
    t_s: list[Number]
    reading_m: list[Maybe]

    @model_validator(mode="after")
    def _as_long(self) -> Readings:
        if len(self.t_s) != len(self.reading_m):
            raise ValueError("must have as many times as readings")
        return self


class Heard(Told):
    """For how long one set was heard."""

    burial: str
    seconds: Maybe = None


class Phase(Told):
    """One phase of a person's search."""

    burial: Words = None
    phase: str
    start_s: Number
    end_s: Number
    border_uncertainty_s: Maybe = None
    length_m: Maybe = None
    speed_m_s: Maybe = None
    flux_line_ratio: Maybe = None


class UnknownPhase(Told):
    """A phase that no split tells."""

    burial: str
    phase: str


class Approach(Told):
    """One person's way to one burial."""

    burial: str
    audible_s: Maybe = None
    audible_uncertainty_s: Maybe = None
    turn_s: Maybe = None
    turn_uncertainty_s: Maybe = None
    reading_3_m_s: Maybe = None
    reading_3_m_uncertainty_s: Maybe = None
    side_distance_m: Maybe = None
    speed_above_10_m_s: Maybe = None
    speed_below_10_m_s: Maybe = None


class Span(Told):
    """From a second to a second."""

    start_s: Number
    end_s: Number


class Searcher(Told):
    """What one person did."""

    id: str
    name: Words = None
    track: Track | None = None
    readings: list[Readings] | None = None
    audible: list[Heard] | None = None
    phases: list[Phase] | None = None
    approaches: list[Approach] | None = None
    idle: list[Span] | None = None


class Burial(Told):
    """One burial as it was found."""

    id: str
    position_m: Point
    depth_m: Maybe = None
    azimuth_deg: Maybe = None
    tilt_deg: Maybe = None
    has_set: bool | None = None
    outline: Words = None
    struck_s: Maybe = None
    clear_s: Maybe = None
    found_by: Words = None


class Anchor(Told):
    """A marked place."""

    name: Words = None
    position_m: Point


class Site(Told):
    """The ground."""

    boundary_m: Annotated[Line, Field(min_length=3)]
    holes_m: list[Line] | None = None
    entry_m: Point | None = None
    last_seen_m: Point | None = None
    anchors: list[Anchor] | None = None
    slope_deg: Maybe = None
    aspect_deg: Maybe = None
    declination_deg: Maybe = None


class Contour(Told):
    """Where a set is read as so far off."""

    burial: str
    reading_m: Number
    lines_m: list[Line]


class Edge(Told):
    """Where a set is just heard."""

    burial: str
    lines_m: list[Line]


class Hearing(Told):
    """What is drawn of the hearing."""

    searcher: Words = None
    words: Words = None
    contours: list[Contour] | None = None
    audible: list[Edge] | None = None


class Walked(Told):
    """A line that was planned for a person, or along which a set leads."""

    searcher: str
    line_m: Line


class FluxLine(Walked):
    """The line along which a set leads."""

    burial: str
    length_m: Maybe = None


class Swept(Told):
    """The ground that was searched, as cells in runs."""

    cell_m: Number
    origin_m: Point
    columns: Number
    rows: Number
    runs: list[Number]


class Share(Told):
    """How much of the ground one person searched."""

    searcher: str
    fraction: Number


class Gap(Told):
    """Ground that nobody searched."""

    position_m: Point
    area_m2: Maybe = None
    width_m: Maybe = None
    exceeds_accuracy: bool | None = None
    ring_m: Line | None = None


class Band(Told):
    """How long a phase takes in rehearsals."""

    phase: str
    p10: Maybe = None
    p50: Maybe = None
    p90: Maybe = None
    burial: Words = None


class Standard(Told):
    """A time people are held to."""

    what: str
    most_s: Number


class Earlier(Told):
    """How long a phase took in earlier runs."""

    phase: str
    times: Number
    best_s: Number
    p50_s: Number


class Curve(Told):
    """A survival curve read at one moment."""

    name: str
    at_airway: Maybe = None


class SurvivalOfBurial(Told):
    """What the curves say of one burial."""

    burial: str
    curves: list[Curve] | None = None
    low: Maybe = None
    high: Maybe = None


class Survival(Told):
    """What the minutes mean."""

    burial_to_alarm_s: Maybe = None
    burials: list[SurvivalOfBurial] | None = None
    note: Words = None


class SplitTold(Told):
    """One split."""

    t_s: Maybe = None
    searcher: Words = None
    burial: Words = None
    split: str
    note: Words = None


class Finding(Told):
    """One finding in words."""

    kind: Words = None
    text: str
    searcher: Words = None
    burial: Words = None
    at_s: Maybe = None
    position_m: Point | None = None
    minutes: Maybe = None
    confidence: Words = None
    praise: bool | None = None


class RunTold(Told):
    """The clock of the run, and what is noted of it."""

    alarm_utc: MomentTold | None = None
    zero_utc: MomentTold | None = None
    time_zero: Words = None
    end_s: Maybe = None
    strip_width_m: Maybe = None
    splits_shift_s: Maybe = None
    notes: list[str] | None = None
    files: list[str] | None = None


class DebriefParts(Told):
    """A debrief, as far as pages and tables read it."""

    format: Literal["coldfield-debrief/1"] | None = None
    made_by: Words = None
    title: Words = None
    simulated: bool | None = None
    run: RunTold | None = None
    site: Site | None = None
    burials: list[Burial] | None = None
    searchers: list[Searcher] | None = None
    nobodys_phases: list[Phase] | None = None
    unknown_phases: list[UnknownPhase] | None = None
    lanes: list[Walked] | None = None
    hearing: Hearing | None = None
    flux_lines: list[FluxLine] | None = None
    swept: Swept | None = None
    swept_fraction: Maybe = None
    overlap_fraction: Maybe = None
    swept_by: list[Share] | None = None
    gaps: list[Gap] | None = None
    bands: list[Band] | None = None
    standards: list[Standard] | None = None
    earlier: list[Earlier] | None = None
    survival: Survival | None = None
    splits: list[SplitTold] | None = None
    findings: list[Finding] | None = None
    cautions: list[str] | None = None

    @model_validator(mode="after")
    def _told_apart(self) -> DebriefParts:
        for where, ids in (("searchers", self.searchers), ("burials", self.burials)):
            seen = [one.id for one in ids or ()]
            twice = next((one for i, one in enumerate(seen) if one in seen[:i]), None)
            if twice is not None:
                raise ValueError(f"{where}: '{twice[:40]}' stands there twice")
        return self


class MakingParts(Told):
    """What made a debrief, and sums of what it rests on."""

    coldfield: Words = None
    models_sha256: dict[str, str] | None = None
    libraries: dict[str, str] | None = None
    constants: dict[str, Any] | None = None
    rests_on: dict[str, str] | None = None


def a_debrief(value: dict[str, Any]) -> dict[str, Any]:
    """Return a debrief, or raise `ValueError` with what in it has the wrong type."""
    return _as_it_is(value, DebriefParts)


def a_making(value: dict[str, Any]) -> dict[str, Any]:
    """Return what made a debrief as it is, or raise `ValueError` with what in it has the wrong type."""
    return _as_it_is(value, MakingParts)


def _as_it_is(value: dict[str, Any], parts: type[Told]) -> dict[str, Any]:
    plain_object(value)
    try:
        parts.model_validate(value)
    except ValidationError as error:
        faults = [say(fault) for fault in fault_lines(error, parts)]
        more = [f"and {len(faults) - 5} more"] * (len(faults) > 5)
        raise ValueError("; ".join(faults[:5] + more)) from None
    return value
