"""Answers about a day in the snow: what phones recorded of a run, and what was done with a file."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from coldfield.files.code_picture import CodePicture
from coldfield.message import Message
from coldfield.records.store import Record


@dataclass(frozen=True, slots=True, kw_only=True)
class DaySearcher:
    """A person added on a phone."""

    id: str
    name: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SameBurial:
    """A burial's name on the phone and in the drill; null if the drill does not have it."""

    phone: str
    drill: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class SamePerson:
    """A person added on the phone, and the searcher in the drill; null if the drill does not have them."""

    phone: str
    name: str
    drill: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class DayJoined:
    """How a phone's burials and searchers match those of a drill, and all that the drill has."""

    burials: tuple[SameBurial, ...]
    searchers: tuple[SamePerson, ...]
    drill_burials: tuple[str, ...]
    drill_searchers: tuple[DaySearcher, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class DayTaken:
    """What was done with one run or group check of a day file.

    `id` is its record, null if nothing was kept. `waits` means that nothing was kept yet: a drill or run has
    to be chosen, this was only a look at what would be `joined`, or its record is deleted. `kept` counts
    items that are new here, `there` those that were here already.
    """

    of: str
    name: str
    id: str | None
    created: bool
    waits: Literal["drill", "same", "deleted"] | None
    joined: DayJoined | None
    begun_utc: str
    kept: int
    there: int


@dataclass(frozen=True, slots=True, kw_only=True)
class DayFileTaken:
    """What was done with a day file, and its faults, one message each."""

    runs: tuple[DayTaken, ...]
    checks: tuple[DayTaken, ...]
    faults: tuple[Message, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class DayPhone:
    """A phone of a run: how many items are here, how many are missing, and the correction of its clock.

    `tracks` counts the tracks that it sent with a code. `left_out`: everything it sent was taken back.
    """

    id: str
    name: str
    keeper: str
    items: int
    missing: int
    shift_s: float | None
    by: Literal["this clock", "alarm", "mark"] | None
    tracks: int
    left_out: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class DayMoment:
    """A text at a moment."""

    words: str
    burial: str | None
    since_alarm_s: float | None
    time_unix_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class DayDigs:
    """The diggers at a burial, the leading one first."""

    burial: str
    searchers: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class DayBurial:
    """A burial that was not as planned."""

    burial: str
    state: Literal["as planned", "moved", "dropped", "added"]
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DaySet:
    """Where a hidden set ended up."""

    burial: str
    set: str | None
    state: Literal["in", "missing", "switched off", "reported"]
    by: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DayClosed:
    """The end of a run; `missing` are the burials whose set had not come back."""

    missing: tuple[str, ...]
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class RunDay:
    """What phones recorded of a run, apart from its splits and observations.

    `left` holds splits that do not count; `checks` holds the records of group checks made before the run.
    """

    phones: tuple[DayPhone, ...]
    notes: tuple[DayMoment, ...]
    left: tuple[DayMoment, ...]
    digs: tuple[DayDigs, ...]
    burials: tuple[DayBurial, ...]
    searchers: tuple[DaySearcher, ...]
    sets: tuple[DaySet, ...]
    ticks: tuple[Literal["pits_filled", "transmit_again", "full_check"], ...]
    closed: DayClosed | None
    stopped: bool
    checks: tuple[Record, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class RunCodes:
    """A run for the clock's camera: `codes` to show in turn, or a `fragment` for the clock's address.

    Both contain names and burial places.
    """

    run: str
    fragment: str
    codes: tuple[CodePicture, ...]
