"""What the use cases of coaching answer. Field names are the keys of the JSON object; SI units."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from coldfield.coaching.exercises import Wish
from coldfield.message import Message


@dataclass(frozen=True, slots=True, kw_only=True)
class RunDot:
    """What one run alone would say about a constant, with everything else as now estimated."""

    run_id: str
    run: str
    value: float


@dataclass(frozen=True, slots=True, kw_only=True)
class LearnedConstant:
    """One constant of the group (`person` null) or of one person.

    The 80 % interval is `low` to `high`; `prior_...` is the estimate before any run. Where the
    runs say nothing about it (`learned` false), it is still the setting. `runs` is how many say something.
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
    """What a group's runs show; with `told_enough` false they show too little and the settings stay."""

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
    """One run: it took `times` as long as rehearsals of its drill with the settings predict.

    The 80 % interval is `low` to `high`; `pieces` is how many parts of the run were timed.
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
    """How the group (`person` null) or a person is doing; `trend` is null if within its uncertainty."""

    person: str | None
    person_name: str | None
    runs: tuple[RunPaceAnswer, ...]
    runs_in_all: int
    last_held: str | None
    days_since: int | None
    trend: TrendAnswer | None


@dataclass(frozen=True, slots=True, kw_only=True)
class ProgressAnswer:
    """The group first, then each person in order of name."""

    of: tuple[Progress, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class HeldAnswer:
    """Whether a person meets a standard: met, due (again), not met, not tried.

    `seconds`, `run` and `held` are of the newest run that met it, else of the newest try.
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
    """What the group should practise, with airways freed in time and minutes saved per run.

    Gains are for the phase done a fifth faster, with the group's own figures; `wish` is for the next drill.
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
    """What to practise next: for the group, what helps most first; then each person in order of name."""

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
