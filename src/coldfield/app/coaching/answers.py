"""What the use cases of coaching answer. Field names are the keys of the JSON object; SI units."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from coldfield.coaching.exercises import Wish
from coldfield.message import Message


@dataclass(frozen=True, slots=True, kw_only=True)
class RunDot:
    """What one run alone would say of a constant, everything else as it is believed now."""

    run_id: str
    run: str
    value: float


@dataclass(frozen=True, slots=True, kw_only=True)
class LearnedConstant:
    """One constant of the group (`person` null) or of one person.

    Eight of ten chances lie from `low` to `high`; `prior_...` is what was believed before any run. Where the
    runs do not tell of it (`learned` false) it is the setting still. `runs` is how many tell of it.
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
    """What a group's runs tell; `told_enough` false: too little to tell, the settings stay."""

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
    """One run: it took `times` as long as rehearsals of its drill with the settings let expect.

    Eight of ten chances lie from `low` to `high`; so many `pieces` of it were timed.
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
    """By what factor runs change in 30 days; eight of ten chances from `low` to `high`."""

    times_in_30_days: float
    low: float
    high: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Progress:
    """How the group (`person` null) or a person does; `trend` null: none that exceeds its doubt."""

    person: str | None
    person_name: str | None
    runs: tuple[RunPaceAnswer, ...]
    runs_in_all: int
    last_held: str | None
    days_since: int | None
    trend: TrendAnswer | None


@dataclass(frozen=True, slots=True, kw_only=True)
class ProgressAnswer:
    """The group first, then each person in the order of names."""

    of: tuple[Progress, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class HeldAnswer:
    """How a person stands to a standard: met, due (again), not met, not tried.

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
    """A standard and how each person stands to it, in the order of names."""

    standard_id: str
    name: str
    people: tuple[HeldAnswer, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class GroupPractice:
    """What the group had best practise, with airways freed in time and minutes saved in a run.

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
    """The phase that takes a person longest against what is expected, s a run; nulls: too little to tell."""

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
    """What to practise next: of the group what helps most first, then each person in the order of names."""

    told_enough: bool
    group: tuple[GroupPractice, ...]
    people: tuple[PersonPractice, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class CoachAnswer:
    """Everything a group's runs tell, as of a day."""

    today: str
    learned: LearnedAnswer
    progress: ProgressAnswer
    standards: tuple[StandardAnswer, ...]
    practice: PracticeAnswer
