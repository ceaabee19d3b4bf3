"""What a rehearsal answers, and the route that plays one of its runs again."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter
from pydantic import Field

from coldfield.web.problems import documented
from coldfield.web.routes.computing import Answer, OnDrill, read


class BandAnswer(Answer):
    """How a time spreads over all runs, s; null: later than the horizon. Eight of ten: p10 to p90."""

    p10: float | None
    p50: float | None
    p90: float | None
    mean: float | None


class UnsureBandAnswer(Answer):
    """The same with the constants drawn too, s: as sure as the settings are."""

    p10: float | None
    p50: float | None
    p90: float | None


class MadeByAnswer(Answer):
    """One constant, and its share of what all of them together leave unsure."""

    constant: str
    share: float
    words: str


class UnsureAnswer(Answer):
    """Which constants make the wider band, most first."""

    runs: int
    made_by: list[MadeByAnswer]


class DigAnswer(Answer):
    """Digging with everybody there, s, and the band at double and half the rate."""

    seconds: float
    low_s: float
    high_s: float
    note: str


class BurialAnswer(Answer):
    """What a rehearsal says about one burial; bands by phase and of the airway since the alarm."""

    id: str
    found_fraction: float
    freed_fraction: float
    not_found: dict[str, float]
    seconds: dict[str, BandAnswer]
    airway_unsure: UnsureBandAnswer
    phase_shares: dict[str, float]
    airway_free_by_minute: list[float]
    survival: float
    survival_by_curve: dict[str, float]
    digging: DigAnswer


class AllClearAnswer(Answer):
    """When the last airway is free, over all runs; `freed_fraction` of them within the horizon."""

    seconds: BandAnswer
    unsure: UnsureBandAnswer
    fraction: float
    freed_fraction: float
    by_minute: list[float]


class WorthAnswer(Answer):
    """What one change brings per run, each with one standard error, and over draws of the constants."""

    change: str
    gain_survivors: float
    standard_error: float
    gain_minutes: float
    minutes_standard_error: float
    helps_share: float | None
    counts: bool


class TeamAnswer(Answer):
    """Who digs where, in which order."""

    people: int
    burials: list[str]


class DigOrderAnswer(Answer):
    """How the people with shovels share out the burials."""

    teams: list[TeamAnswer]
    survivors: float


class GapAnswer(Answer):
    """After less before, and its standard error."""

    mean: float
    standard_error: float


class BurialGapAnswer(Answer):
    """What a change did for one burial; minutes below 0 are sooner."""

    id: str
    minutes: GapAnswer
    found_fraction: GapAnswer
    survival: GapAnswer


class DifferenceAnswer(Answer):
    """What a change did, run by run with the same draws."""

    burials: list[BurialGapAnswer]
    last_minutes: GapAnswer
    survivors: GapAnswer
    only_before: list[str]
    only_after: list[str]


class OneRehearsal(Answer):
    """A drill played many times; shares from 0 to 1, times in s."""

    model_version: int
    runs: int
    seed: int
    strip_width_m: float | None
    anywhere: bool
    burials: list[BurialAnswer]
    all_clear: AllClearAnswer
    unsure: UnsureAnswer
    horizon_s: float
    telling_runs: dict[str, int]
    expected_survivors: float
    standard_error: float
    expected_survivors_by_curve: dict[str, float]
    survival_curve: str
    dig_order: DigOrderAnswer | None
    notes: list[str]
    cautions: list[str]


class RehearsalAnswer(OneRehearsal):
    """A rehearsal, with what was asked beside it: changes, and the drill as it was."""

    worth: list[WorthAnswer] | None = None
    before: OneRehearsal | None = None
    difference: DifferenceAnswer | None = None


class TraceRequest(OnDrill):
    """Which run of which rehearsal."""

    run: Annotated[int, Field(ge=0, lt=1_000_000)]
    seed: Annotated[int, Field(ge=0, lt=2**53)] = 1
    strip_width_m: Annotated[float, Field(ge=5, le=200)] | None = None
    anywhere: bool = False


class PhaseFrom(Answer):
    """What a person does from a moment on."""

    from_s: float
    phase: str


class PersonTrace(Answer):
    """Corners of a walked line with their times; straight and even between them."""

    searcher: str
    t_s: list[float]
    east_m: list[float]
    north_m: list[float]
    phases: list[PhaseFrom]


class BurialMoments(Answer):
    """Moments of one burial, s since the alarm; null where it did not come to that."""

    id: str
    position_m: list[float]
    first_signal_s: float | None
    turn_s: float | None
    within_10_m_s: float | None
    fine_start_s: float | None
    lowest_reading_s: float | None
    probe_strike_s: float | None
    airway_s: float | None
    finder: str | None
    not_found: str | None


class TraceAnswer(Answer):
    """One run: everybody's line and each burial's moments."""

    run: int
    seed: int
    end_s: float
    traces: list[PersonTrace]
    burials: list[BurialMoments]
    strays: int
    notes: list[str]


def router() -> APIRouter:
    """Return the routes."""
    api = APIRouter(prefix="/api", tags=["computing"])

    @api.post("/rehearsal-trace", response_model=TraceAnswer, responses=documented(413, 422))
    def rehearsal_trace(asked: TraceRequest) -> dict[str, Any]:
        """Play one run of a rehearsal again, with everybody's line."""
        from coldfield.app.rehearsals.trace import trace_document

        return trace_document(
            read(asked.drill),
            run=asked.run,
            seed=asked.seed,
            strip_width_m=asked.strip_width_m,
            anywhere=asked.anywhere,
        )

    return api
