"""The answers of the coaching use cases. Field names are the keys of the JSON object; SI units."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from coldfield.coaching.exercises import Wish
from coldfield.message import Message


@dataclass(frozen=True, slots=True, kw_only=True)
class RunDot:
    """The value of a constant from one run alone, with everything else at its current estimate."""

    run_id: str
    run: str
    value: float


@dataclass(frozen=True, slots=True, kw_only=True)
class LearnedConstant:
    """One constant of the group (`person` null) or of one person.

    The 80 % interval is `low` to `high`; `prior_...` is the estimate before any run. If the runs say nothing
    about the constant (`learned` is false), the value is still the setting. `runs` is the number of runs that
    say something about it.
    """

    name: str
    words: Message
    person: str | None
    person_name: str | None
    middle: float
    low: float
    high: float
    prior_middle: float
    prior_low: float
    prior_high: float
    runs: int
    learned: bool
    dots: tuple[RunDot, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class LearnedAnswer:
    """What a group's runs show; if `told_enough` is false, they show too little and the settings stay."""

    model_version: int
    group: str
    course_id: str | None
    runs: int
    simulated: bool
    told_enough: bool
    headlines: tuple[Message, ...]
    constants: tuple[LearnedConstant, ...]
    outliers: tuple[Message, ...]
    left_out: tuple[Message, ...]
    notes: tuple[Message, ...]
    cautions: tuple[Message, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class RunPaceAnswer:
    """One run: it took `times` as long as rehearsals of its drill predict with the settings.

    The 80 % interval is `low` to `high`; `pieces` is the number of timed parts of the run.
    """

    run_id: str
    run: str
    held_utc: str
    times: float
    low: float
    high: float
    pieces: int


@dataclass(frozen=True, slots=True, kw_only=True)
class TrendAnswer:
    """The factor by which runs change in 30 days; the 80 % interval is `low` to `high`."""

    times_in_30_days: float
    low: float
    high: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Progress:
    """Progress of the group (`person` null) or a person; `trend` is null if it is within its uncertainty."""

    person: str | None
    person_name: str | None
    runs: tuple[RunPaceAnswer, ...]
    runs_in_all: int
    last_held: str | None
    days_since: int | None
    trend: TrendAnswer | None


@dataclass(frozen=True, slots=True, kw_only=True)
class ProgressAnswer:
    """The progress of the group, then of each person in order of name."""

    of: tuple[Progress, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class HeldAnswer:
    """Whether a person meets a standard: met, due (again), not met, not tried.

    `seconds`, `run` and `held` are those of the newest run that met it, otherwise of the newest attempt.
    """

    person: str
    person_name: str
    state: Literal["met", "due", "not met", "not tried"]
    seconds: float | None
    run_id: str | None
    run: str | None
    held: str | None
    due: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class StandardAnswer:
    """A standard and whether each person meets it, in order of name."""

    standard_id: str
    name: str
    people: tuple[HeldAnswer, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class GroupPractice:
    """What the group should practise, with the gain in airways freed in time and the minutes saved per run.

    The gains assume that the phase is done a fifth faster, with the group's own figures. `wish` is for the
    next drill.
    """

    phase: str
    words: Message
    gain_survivors: float
    gain_minutes: float
    exercise: Message
    source: Message
    wish: Wish | None


@dataclass(frozen=True, slots=True, kw_only=True)
class PersonPractice:
    """The phase in which a person loses most against what is expected, s per run; null where unknown."""

    person: str
    person_name: str
    phase: str | None
    words: Message
    seconds: float
    doubt_s: float
    runs: int
    exercise: Message | None
    source: Message | None
    wish: Wish | None


@dataclass(frozen=True, slots=True, kw_only=True)
class PracticeAnswer:
    """What to practise next: for the group, most useful first; then each person in order of name."""

    told_enough: bool
    group: tuple[GroupPractice, ...]
    people: tuple[PersonPractice, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class CoachAnswer:
    """Everything a group's runs show, as of a given day."""

    today: str
    learned: LearnedAnswer
    progress: ProgressAnswer
    standards: tuple[StandardAnswer, ...]
    practice: PracticeAnswer
