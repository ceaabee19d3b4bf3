"""The answers of the use cases on rehearsals. Field names are the keys of the JSON object.

Times are seconds since the alarm unless a field says otherwise, shares and chances from 0 to 1.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any

from coldfield.app.answers import IF_ASKED
from coldfield.drill.site import Point
from coldfield.message import Message
from coldfield.rescue.compare import Difference
from coldfield.rescue.digging import DigTime
from coldfield.rescue.order import DigOrder
from coldfield.rescue.outcome import Band
from coldfield.rescue.worth import Worth


@dataclass(frozen=True, slots=True, kw_only=True)
class UnsureBandAnswer:
    """The spread of a time with the constants also drawn. None: after the horizon."""

    p10: float | None
    p50: float | None
    p90: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class MadeByAnswer:
    """One constant, its name for people, and its share of the uncertainty from all constants together."""

    constant: str
    share: float
    words: Message


@dataclass(frozen=True, slots=True, kw_only=True)
class UnsureAnswer:
    """The constants that widen the band, largest share first, and the number of runs used."""

    runs: int
    made_by: tuple[MadeByAnswer, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class WhyNotFound:
    """A reason why a burial was not found, and its share of the runs."""

    reason: Message
    share: float


@dataclass(frozen=True, slots=True, kw_only=True)
class RehearsedBurial:
    """The results of a rehearsal for one burial.

    `seconds` holds bands of the duration of each phase, and of the airway since the alarm. A band's value is
    None if it is later than the horizon. `not_found` gives the share of runs by reason, `why_not_found` the
    same as text, `phase_shares` the share of each phase in the mean time, `airway_free_by_minute` the share
    of runs with a free airway by each whole minute from 0.
    """

    id: str
    found_fraction: float
    freed_fraction: float
    not_found: dict[str, float]
    why_not_found: tuple[WhyNotFound, ...]
    seconds: dict[str, Band]
    airway_unsure: UnsureBandAnswer
    phase_shares: dict[str, float]
    airway_free_by_minute: tuple[float, ...]
    survival: float
    survival_by_curve: dict[str, float]
    digging: DigTime


@dataclass(frozen=True, slots=True, kw_only=True)
class AllClearAnswer:
    """When the last airway is free, over all runs.

    `fraction` is the share of runs that find everybody, `freed_fraction` the share that free everybody within
    the horizon.
    """

    seconds: Band
    unsure: UnsureBandAnswer
    fraction: float
    freed_fraction: float
    by_minute: tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class LiveAnswer:
    """The minutes of a drill that is being changed; `settled` is true once they come from all runs."""

    runs: int
    settled: bool
    strip_width_m: float | None
    horizon_s: float
    all_clear: AllClearAnswer


@dataclass(frozen=True, slots=True, kw_only=True)
class OneRehearsal:
    """A drill played many times.

    `strip_width_m` is None without any set to search for, `dig_order` is None if there is no choice.
    `telling_runs` gives the numbers of a fast, a median, a slow and a failed run, as far as they exist.
    """

    model_version: int
    runs: int
    seed: int
    strip_width_m: float | None
    anywhere: bool
    burials: tuple[RehearsedBurial, ...]
    all_clear: AllClearAnswer
    unsure: UnsureAnswer
    horizon_s: float
    telling_runs: dict[str, int]
    expected_survivors: float
    standard_error: float
    expected_survivors_by_curve: dict[str, float]
    survival_curve: str
    dig_order: DigOrder | None
    notes: tuple[Message, ...]
    cautions: tuple[Message, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class RehearsalAnswer(OneRehearsal):
    """A rehearsal with what else was asked for: changes, whose figures were used, the drill before a change.

    `own_drill` is the drill file with the group's own figures, as it was played; it is needed to replay one
    of the runs.
    """

    worth: Annotated[tuple[Worth, ...] | None, IF_ASKED] = None
    own: Annotated[Message | None, IF_ASKED] = None
    own_drill: Annotated[dict[str, Any] | None, IF_ASKED] = None
    before: Annotated[OneRehearsal | None, IF_ASKED] = None
    difference: Annotated[Difference | None, IF_ASKED] = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PhaseFrom:
    """What a person does from a moment on, in s."""

    from_s: float
    phase: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PersonTrace:
    """Corners of a walked line with their times; straight and even between them."""

    searcher: str
    t_s: tuple[float, ...]
    east_m: tuple[float, ...]
    north_m: tuple[float, ...]
    phases: tuple[PhaseFrom, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class BurialMoments:
    """Moments of one burial; None for those that were not reached.

    `finder` is the id of the searcher with the strike, `not_found` the reason if nobody struck.
    """

    id: str
    position_m: Point
    first_signal_s: float | None
    turn_s: float | None
    within_10_m_s: float | None
    fine_start_s: float | None
    lowest_reading_s: float | None
    probe_strike_s: float | None
    airway_s: float | None
    finder: str | None
    not_found: Message | None


@dataclass(frozen=True, slots=True, kw_only=True)
class TraceAnswer:
    """One run of a rehearsal: everybody's line and each burial's moments."""

    run: int
    seed: int
    end_s: float
    traces: tuple[PersonTrace, ...]
    burials: tuple[BurialMoments, ...]
    strays: int
    notes: tuple[Message, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ConstantAnswer:
    """One constant of the skills, by its key in a drill file, with its median for each skill.

    The spreads between people and from run to run are standard deviations of its logarithm or, for a share,
    of its logit.
    """

    key: str
    words: Message
    share: bool
    middles: dict[str, float]
    between: float
    within: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SkillsAnswer:
    """The table of skills, and the meaning of `marking` true."""

    constants: tuple[ConstantAnswer, ...]
    shared: float
    most_spread: float
    typical_marking: float


@dataclass(frozen=True, slots=True, kw_only=True)
class StrikeAtDepth:
    """The chance that a probing line strikes a body at one depth."""

    burial_depth_m: float
    strike_probability: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PatternAnswer:
    """The chance and effort of one probing pattern.

    Chances are those of the model for a body in any direction, for one stretched out flat, and for an unknown
    depth; `published_probability` is added if a value has been published.
    """

    name: Message
    spacing_m: tuple[float, float]
    holes_a_step: int
    depth_m: float
    strike_probability: float
    flat_strike_probability: float
    any_depth_strike_probability: float
    area_over_cell: float
    by_depth: tuple[StrikeAtDepth, ...]
    published_probability: float | None
    published: Message | None
    holes: float
    seconds: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ProbingAnswer:
    """The chance and effort of probing lines; `people` in the line, ground in m2."""

    burial_depth_m: float
    area_m2: float
    people: int
    patterns: tuple[PatternAnswer, ...]
    notes: tuple[Message, ...]
