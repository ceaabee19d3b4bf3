"""The splits of a run in seconds on its clock, and the uncertainty of that clock."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from coldfield.debrief.ensemble import WAYS
from coldfield.debrief.written import Code, Number, Said, Word, Words, Written
from coldfield.drill.run import Split, Splits
from coldfield.message import Message, message

Floats = NDArray[np.float64]

SURELY = 0.97
"""Share of the variants that must agree before one clock is related to the other. Setting."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TimedSplit(Written):
    """A split in seconds of the run; person and burial are ids, None if not given.

    `said` is the content of an observation.
    """

    t_s: Number
    searcher: Word | None = None
    burial: Word | None = None
    split: Code
    note: Words = ""
    said: Said | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class RunSplits:
    """All splits of a run on its clock, in order of time.

    `uncertainty_s` is the 95 % uncertainty of the split-keeper's clock relative to that of the tracks;
    `checked` is False if the tracks do not show whether that clock was right. `off_s` holds, for each
    variant, the reading of the tracks' clock at second 0 of the splits; it is empty if there is no other
    clock. `untimed` are observations without a time.
    """

    rows: tuple[TimedSplit, ...] = ()
    untimed: tuple[Split, ...] = ()
    uncertainty_s: float = 0.0
    checked: bool = True
    off_s: tuple[float, ...] = ()

    def clock_off_s(self) -> Floats:
        """Return `off_s` as an array, (WAYS,), 0 if there is no other clock."""
        return np.array(self.off_s) if self.off_s else np.zeros(WAYS)

    def known_within(self, seconds: float) -> bool:
        """Return whether nearly all variants relate the two clocks to within some seconds."""
        return bool(np.mean(np.abs(self.clock_off_s()) <= seconds) >= SURELY)

    def times(self, kind: str, *, burial: str | None = None, searcher: str | None = None) -> list[float]:
        """Return the moments of one kind of split, of one burial and one searcher if given."""
        return [
            row.t_s
            for row in self.rows
            if row.split == kind
            and (burial is None or row.burial == burial)
            and (searcher is None or row.searcher == searcher)
        ]

    def first(self, kind: str, *, burial: str | None = None, searcher: str | None = None) -> float | None:
        """Return the first such moment, or None."""
        return min(self.times(kind, burial=burial, searcher=searcher), default=None)

    def each(self, kind: str) -> dict[str, float]:
        """Return the first such moment at each burial that has one."""
        return {row.burial: row.t_s for row in reversed(self.rows) if row.split == kind and row.burial}

    def who(self, kind: str, burial: str) -> str | None:
        """Return the person named with the first such split of a burial."""
        rows = [row for row in self.rows if row.split == kind and row.burial == burial and row.searcher]
        return rows[0].searcher if rows else None


def timed(
    splits: Splits, *, alarm_unix_s: float | None, zero_unix_s: float, shift_s: float = 0.0
) -> tuple[TimedSplit, ...]:
    """Return splits in seconds from `zero_unix_s`, with their own clock shifted by `shift_s`."""
    rows = []
    for row in splits.rows:
        if not row.timed:
            continue
        if row.time_unix_s is not None:
            t = row.time_unix_s + shift_s - zero_unix_s
        else:
            start = zero_unix_s if alarm_unix_s is None else alarm_unix_s + shift_s
            t = (row.since_alarm_s or 0.0) + start - zero_unix_s
        rows.append(
            TimedSplit(
                t_s=t,
                split=row.split,
                searcher=row.searcher,
                burial=row.burial,
                note=row.note,
                said=row.said,
            )
        )
    return tuple(sorted(rows, key=lambda row: row.t_s))


def named(
    splits: Splits, *, searchers: Sequence[tuple[str, str]], burials: Sequence[str]
) -> tuple[Splits, list[Message]]:
    """Return splits with ids of searchers and burials, and one message per unknown name.

    Parameters
    ----------
    splits : Splits
        With ids or names, in upper or lower case.
    searchers : sequence of (id, name)
        The searchers of the drill.
    burials : sequence of str
        Ids of the drill's burials.
    """
    people = {name.casefold(): who for who, name in searchers} | {who.casefold(): who for who, _ in searchers}
    places = {burial.casefold(): burial for burial in burials}
    rows: list[Split] = []
    faults: list[Message] = []
    for row in splits.rows:
        searcher = people.get(row.searcher.casefold()) if row.searcher else None
        burial = places.get(row.burial.casefold()) if row.burial else None
        if row.searcher and searcher is None:
            faults.append(message("fault.split_of_nobody", name=row.searcher).at(_split(row)))
        if row.burial and burial is None:
            faults.append(message("fault.split_at_nothing", name=row.burial).at(_split(row)))
            continue
        rows.append(replace(row, searcher=searcher, burial=burial))
    return Splits(rows=tuple(rows)), faults


def _split(row: Split) -> Message:
    return message("place.split", split=row.split)
