"""One performance of a drill: its split times, its observations and what was really buried."""

from __future__ import annotations

from dataclasses import dataclass

from coldfield.drill.burial import Burial
from coldfield.message import Message

SPLIT_KINDS: tuple[str, ...] = (
    "alarm",
    "first_signal",
    "within_10_m",
    "lowest_reading",
    "probe_strike",
    "airway_clear",
    "set_out",
)
"""The splits with a fixed meaning; any other word is the instructor's own."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Split:
    """A timed moment of a run, or an observation (`split` is 'observation', its words in `note`).

    Exactly one of `time_unix_s` (seconds since 1970, UTC) and `since_alarm_s` is given; an
    observation may have neither if nobody wrote down the time. `said` is the content of an
    observation, if it is known as a message.
    """

    split: str
    searcher: str | None = None
    burial: str | None = None
    time_unix_s: float | None = None
    since_alarm_s: float | None = None
    note: str = ""
    said: Message | None = None

    @property
    def timed(self) -> bool:
        """Whether it has a time."""
        return self.time_unix_s is not None or self.since_alarm_s is not None


@dataclass(frozen=True, slots=True, kw_only=True)
class Splits:
    """All splits and observations of one run, in order of time."""

    rows: tuple[Split, ...] = ()

    def alarm_unix_s(self) -> float | None:
        """Return the moment of the alarm, seconds since 1970 UTC, or None if no row gives it."""
        for row in self.rows:
            if row.split == "alarm" and row.time_unix_s is not None:
                return row.time_unix_s
        return None

    def moment_s(self, row: Split) -> float:
        """Return the moment of a row on the clock that these splits share, s.

        If any row has a time, that clock is seconds since 1970 UTC, otherwise seconds from the alarm.
        """
        if row.time_unix_s is not None:
            return row.time_unix_s
        return (row.since_alarm_s or 0.0) + (self.alarm_unix_s() or 0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class AsBuried:
    """The burials as they were really hidden and dug out; replaces the plan's in a debrief."""

    burials: tuple[Burial, ...]
