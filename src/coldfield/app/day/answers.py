"""Answers about a day in the snow: what phones brought back of a run, and what was done with a file."""

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
    """A burial as the phone calls it, and as the drill does; null: the drill does not have it."""

    phone: str
    drill: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class SamePerson:
    """A person added on the phone, and the searcher of the drill; null: the drill does not have them."""

    phone: str
    name: str
    drill: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class DayJoined:
    """Which burials and searchers of a drill correspond to those of a phone, and which ones the drill has."""

    burials: tuple[SameBurial, ...]
    searchers: tuple[SamePerson, ...]
    drill_burials: tuple[str, ...]
    drill_searchers: tuple[DaySearcher, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class DayTaken:
    """What was done with one run or group check of a day file.

    `id` is its record, null where nothing was kept. `waits`: a drill or run has to be chosen, it was only
    looked at what is `joined`, or its record is deleted. `kept` items are new here, `there` are not.
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
    """What was done with a day file, and its faults, one line each."""

    runs: tuple[DayTaken, ...]
    checks: tuple[DayTaken, ...]
    faults: tuple[Message, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class DayPhone:
    """A phone of a run: how many items are here and missing, and what was added to its clock.

    `tracks` came from it by a code. `left_out`: what it brought was taken back.
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
    """Words at a moment."""

    words: str
    burial: str | None
    since_alarm_s: float | None
    time_unix_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class DayDigs:
    """Who digs at a burial, the leading digger first."""

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
    """Where a hidden set was in the end."""

    burial: str
    set: str | None
    state: Literal["in", "missing", "switched off", "reported"]
    by: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DayClosed:
    """The run was closed; `missing` are burials whose set was not back."""

    missing: tuple[str, ...]
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class RunDay:
    """What phones brought back of a run, beside its splits and observations.

    `left` are splits that do not count; `checks` are the records of the group checks made before the run.
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
    """A run for the clock's camera: `codes` to be shown in turn, or as a `fragment` of the clock's address.

    They hold names and burial places.
    """

    run: str
    fragment: str
    codes: tuple[CodePicture, ...]
