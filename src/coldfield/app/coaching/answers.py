"""What the use cases of coaching answer. Field names are the keys of the JSON object; SI units."""

from __future__ import annotations

from dataclasses import dataclass

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
